"""What to keep so that a build can be promised: parts, and assemblies that are built ahead."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, replace
from datetime import date
from functools import cache
from math import ceil, inf
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
import pandas as pd

from kitting.sourcing.guaranteed import Link, Step, Tree
from kitting.sourcing.market import read_market
from kitting.sourcing.reorder_levels import YEAR, days_by_offer, finished, read_holding, to_spare
from kitting.sourcing.service import demand_shares, least_enough
from kitting.tables.plan import Ready
from kitting.tables.sourcing import READY
from kitting.terms.findings import Finding
from kitting.terms.words import LENT_ROLES, Level

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from kitting.sourcing.market import Deal
    from kitting.tables.plan import Plan

OUTWORK = "outwork"
"""Family of parts that are jobs."""


@dataclass(frozen=True)
class Bill:
    """One build of an assembly, exploded and placed.

    Parameters
    ----------
    assembly
        What is built.
    required, built_in
        Tables of those names, of this one build.
    late_starts
        Table ``late_starts``.
    jobs
        Table ``outwork_days``: the jobs of the build that go out between its stages.
    """

    assembly: str
    required: pd.DataFrame
    built_in: pd.DataFrame
    late_starts: pd.DataFrame
    jobs: pd.DataFrame


class _Bought(NamedTuple):
    """The quickest way to buy a part: until it can be used, and the price of a base unit."""

    days: int
    price: float
    supplier: str


class _Leaf(NamedTuple):
    """A part for one stage of one place in the tree, and how much of it a build takes there."""

    part: str
    each: int


def ready(
    plan: Plan, bill: Bill, days: int, spread: pd.DataFrame, confidence: float, *, exchange: bool
) -> Ready:
    """Return what must be kept to promise a build within some days, at least holding cost.

    The assembly, what is built into it, and the parts of each stage make a tree (``guaranteed``). A
    part that two stages or two assemblies take stands once in each, so that its stock is the sum.
    An assembly takes the least time of its own stages and jobs, a part the days of its quickest
    offer, by the shop's confidence. Whoever asks takes a build from the shelf, and so does
    everybody who asked in the days that stock bridges: builds come at random as often as they did,
    so that one for him and as many as the confidence asks for the others are kept. Holding is paid
    for all that is kept. Deferred stages, and what is built in at them, are left out.

    What a customer brings is there at once; an assembly that holds such a part is built for him and
    cannot be kept, unless it is an ``exchange`` unit.

    Parameters
    ----------
    plan
        The plan; its shop gives ``parts``, ``offers``, ``suppliers``, ``builds`` and the setting
        ``holding_rate``.
    bill
        What one build takes.
    days
        Within which a build is to be promised [working days].
    spread
        Table ``lead_spread`` of the parts' offers.
    confidence
        How sure each thing is to be there [share].
    exchange
        The customer gets a unit of the shop's, which keeps his.
    """
    holding, findings = read_holding(plan.shop)
    done, span = finished(plan.shop, plan.day)
    rate = float((done["assembly"] == bill.assembly).sum()) / span
    if not rate:
        text = f"no build of {bill.assembly} is finished: kept as if one customer asks at a time"
        findings.append(Finding(Level.NOTE, text, "builds"))
    bought = _quickest(plan, bill, spread, confidence)
    tree = _Tree(plan, bill, bought, exchange)
    if tree.unknown:
        named = ", ".join(tree.unknown)
        text = f"no offer tells the days of {named}: left out here; keep them, or ask for an offer"
        findings.append(Finding(Level.WARN, text, "offers"))

    @cache
    def builds(bridged: int) -> int:
        if bridged <= 0:
            return 0
        return 1 + least_enough(demand_shares(rate, {1: 1.0}, {bridged: 1.0}), confidence)

    steps = {
        name: replace(step, cost=_kept(builds, tree.value[name] * holding, tree.keeps[name]))
        for name, step in tree.steps.items()
    }
    best = Tree(steps, tree.links, bill.assembly)
    choices, cheapest = [], inf
    for n, cost in enumerate(best.least.tolist()):
        if cost < cheapest - 0.5:
            choices.append((n, round(cost)))
            cheapest = cost
    found = READY.empty()
    if days >= best.soonest:
        served = {name: s.bridges for name, s in best.within(days).items()}
        found = _frame(tree, served, builds, (holding, to_spare(plan), bought))
    return Ready(found, rate * YEAR, best.soonest, tuple(choices), tuple(findings))


def _kept(builds: Callable[[int], int], each: float, keeps: bool) -> Callable[[int], float]:
    """Return the cost of bridging some days: of the builds' worth to keep, or none at all."""
    return lambda bridged: builds(bridged) * each if keeps or not bridged else inf


def _quickest(
    plan: Plan, bill: Bill, spread: pd.DataFrame, confidence: float
) -> dict[str, _Bought]:
    """Return the quickest offer of each part, of two the cheaper."""
    totals = _own_rows(bill.required).groupby("part")["quantity"].sum()
    names = [str(p) for p in totals.index]
    market = read_market(plan.shop, names, plan.offer_days, (plan.day - date(1970, 1, 1)).days)
    chance = days_by_offer(spread)
    found = {}
    for part, each in zip(names, totals.tolist(), strict=True):
        ways = [
            _bought(deal, int(each), chance[deal.steps[0].offer], confidence)
            for deal in market.deals.get(part, ())
            if deal.seller.rate is not None and chance.get(deal.steps[0].offer)
        ]
        if ways:
            found[part] = min(ways)
    return found


def _bought(deal: Deal, each: int, chance: Mapping[int, float], confidence: float) -> _Bought:
    quote = deal.quote(max(each, 1))
    shares = [chance.get(n, 0.0) for n in range(max(chance) + 1)]
    price = deal.paid(quote) / (quote.packs * deal.pack)
    return _Bought(least_enough(shares, confidence), price, deal.seller.name)


class _Tree:
    """Steps and links of a build, what each is worth, and which can be kept."""

    def __init__(
        self, plan: Plan, bill: Bill, bought: Mapping[str, _Bought], exchange: bool
    ) -> None:
        self.steps: dict[str, Step] = {}
        self.links: list[Link] = []
        self.value: dict[str, float] = defaultdict(float)
        self.keeps: dict[str, bool] = {}
        self.leaves: dict[str, _Leaf] = {}
        self.assemblies: dict[str, _Leaf] = {}
        self.unknown: dict[str, None] = {}
        self._bought = bought
        parts = plan.shop["parts"].set_index("part")
        self.names, self.units = parts["name"].to_dict(), parts["unit"].to_dict()
        self._theirs = set(parts.index[parts["customer_supplied"]])
        self._exchange = exchange
        jobs = parts.index[parts["family"].str.strip().str.casefold() == OUTWORK]
        self._jobs = {*jobs, *plan.shop["outwork"]["job"]}
        columns = (bill.late_starts[c].tolist() for c in ("assembly", "stage", "start"))
        self._start = {(a, s): int(n) for a, s, n in zip(*columns, strict=True)}
        back = bill.jobs[bill.jobs["usable"].notna()]
        columns = (back[c].tolist() for c in ("assembly", "job"))
        self._away = set(zip(*columns, strict=True))
        self._rows: dict[str, dict[tuple[str, str], int]] = defaultdict(dict)
        rows = _own_rows(bill.required).groupby(["assembly", "stage", "part"], sort=False)
        for (assembly, stage, part), quantity in rows["quantity"].sum().items():
            self._rows[assembly][stage, part] = int(quantity)
        self._inside: dict[str, list[tuple[str, str, int]]] = defaultdict(list)
        stages = plan.shop["stages"]
        stages = stages[stages["deferred"]]
        later = set(zip(stages["assembly"], stages["stage"], strict=True))
        columns = (bill.built_in[c].tolist() for c in ("assembly", "stage", "child", "quantity"))
        for assembly, stage, child, quantity in zip(*columns, strict=True):
            if (assembly, stage) not in later:
                self._inside[assembly].append((stage, child, int(quantity)))
        self._count: dict[str, int] = defaultdict(int)
        self._number(bill.assembly, 1)
        self._add(bill.assembly, bill.assembly, 1)

    def _number(self, assembly: str, times: int) -> None:
        """Count how often a build holds each assembly."""
        self._count[assembly] += times
        for _, child, quantity in self._inside[assembly]:
            self._number(child, times * quantity)

    def _add(self, assembly: str, place: str, times: int) -> bool:
        """Add an assembly at a place in the tree and all below it; tell whether it can be kept."""
        self.steps[place] = Step(self._start.get((assembly, ""), 0), _nothing)
        self.assemblies[place] = _Leaf(assembly, times)
        keeps = True
        for (stage, part), quantity in self._rows[assembly].items():
            each = ceil(quantity * times / self._count[assembly])
            if part in self._theirs and not self._exchange:
                keeps = False
            elif (assembly, part) not in self._away:
                self._add_part(place, (assembly, stage), _Leaf(part, each))
        for stage, child, quantity in self._inside[assembly]:
            below = f"{place} / {stage} / {child}"
            self.links.append(Link(below, place, self._start.get((assembly, stage), 0)))
            keeps = self._add(child, below, times * quantity) and keeps
            self.value[place] += self.value[below]
        self.keeps[place] = keeps
        return keeps

    def _add_part(self, place: str, at: tuple[str, str], leaf: _Leaf) -> None:
        """Add the part of a stage; a job cannot be kept."""
        if leaf.part not in self._bought:
            self.unknown[leaf.part] = None
            return
        way = self._bought[leaf.part]
        name = f"{place} / {at[1]} / part {leaf.part}"
        self.steps[name] = Step(0, _nothing, waits=way.days)
        self.links.append(Link(name, place, self._start.get(at, 0)))
        self.value[name] = way.price * leaf.each
        self.value[place] += self.value[name]
        self.keeps[name] = leaf.part not in self._jobs
        if self.keeps[name]:
            self.leaves[name] = leaf


def _nothing(_bridged: int) -> float:
    return 0.0


def _own_rows(required: pd.DataFrame) -> pd.DataFrame:
    """Return what is used up before the build is handed over and comes in no set."""
    lent = required["role"].isin([str(r) for r in LENT_ROLES])
    wanted = (required["part"] != "") & (required["quantity"] > 0) & (required["from_set"] == "")
    return required[wanted & ~lent & ~required["deferred"]]


def _frame(
    tree: _Tree,
    bridged: Mapping[str, int],
    builds: Callable[[int], int],
    terms: tuple[float, Mapping[str, int], Mapping[str, _Bought]],
) -> pd.DataFrame:
    """Write table ``ready``: assemblies that are kept, then parts, what costs most first."""
    holding, have, bought = terms
    rows = []
    for name, leaf in (*tree.assemblies.items(), *tree.leaves.items()):
        number = builds(bridged[name])
        way = bought[leaf.part] if name in tree.leaves else None
        if way is not None or number:
            lead = way.days if way else tree.steps[name].days
            rows.append({
                "item": leaf.part, "each": leaf.each, "keep": number * leaf.each,
                "bridges": bridged[name], "lead": lead, "supplier": way.supplier if way else "",
                "cost": number * tree.value[name] * holding, "part": way is not None,
            })  # fmt: skip
    if not rows:
        return READY.empty()
    by_item = pd.DataFrame(rows).groupby(["item", "part"], as_index=False).agg(
        {"each": "sum", "keep": "sum", "bridges": "max", "lead": "max", "supplier": "first",
         "cost": "sum"}
    )  # fmt: skip
    by_item["kept"] = by_item["keep"] > 0
    by_item = by_item.sort_values(
        ["kept", "part", "cost", "item"], ascending=[False, True, False, True]
    )
    items = by_item["item"]
    frame = by_item.assign(
        name=items.map(tree.names).fillna(""),
        unit=items.map(tree.units).fillna("piece"),
        have=items.map(have).fillna(0).astype("int64"),
        cost=np.rint(by_item["cost"]).astype("int64"),
    )
    return READY.check(READY.conform(frame.reset_index(drop=True)))

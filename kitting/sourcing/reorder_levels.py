"""What to keep of what is always used: when to order again, how much, and from whom."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from functools import reduce
from math import ceil, gcd, inf
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from kitting.sourcing.joint import Shared, from_seller
from kitting.sourcing.known_needs import best_lots
from kitting.sourcing.lot_sizes import with_breaks
from kitting.sourcing.market import read_market
from kitting.sourcing.policy import read_policy
from kitting.sourcing.service import (
    critical_ratio,
    demand_shares,
    expected_cost,
    least_enough,
    passed,
)
from kitting.tables.sourcing import LEVELS
from kitting.terms.findings import Finding
from kitting.terms.words import Level

if TYPE_CHECKING:
    from collections.abc import Mapping

    from kitting.sourcing.market import Deal
    from kitting.sourcing.policy import Policy
    from kitting.tables.plan import Plan
    from kitting.tables.shop import Shop

YEAR = 260
"""Working days in a year."""
LEAST_BUILDS = 3
"""Fewer builds tell nothing of what is always used: an assumption."""
_FINEST = 200
"""Largest use of a build in units of the computation."""


@dataclass(frozen=True, slots=True)
class _Use:
    """What finished builds used of a part: builds in a working day, and the use of each."""

    rate: float
    sizes: tuple[int, ...]

    @property
    def yearly(self) -> float:
        return self.rate * YEAR * sum(self.sizes) / len(self.sizes)


@dataclass(frozen=True, slots=True)
class _Kept:
    """One way to keep a part: cents in a year, and what a row of ``levels`` tells of it."""

    total: float
    deal: Deal
    quantity: int
    level: int
    service: float
    running: float
    held: float
    most: float


def levels(
    plan: Plan, spread: pd.DataFrame, share: float = 0.75
) -> tuple[pd.DataFrame, tuple[Finding, ...]]:
    """Propose levels and quantities of what most finished builds used; nothing is ordered.

    Builds come at random as often as they did, each takes what a past one took, and an order takes
    as long as ``spread`` says. For each offer the quantity is the economic one in whole packs, its
    price breaks and the part's shelf life included. The level is that of a newsvendor: what is too
    much is held until the next order, and when it is too little a stage waits, at
    ``late_cost_per_day``, for the fastest seller. The offer that costs least over a year stands.
    Parts from one supplier share its freight and the cost of an order: how often to order them
    together is told too.

    Parameters
    ----------
    plan
        The plan; its shop gives ``used``, ``builds``, ``parts``, ``offers``, ``suppliers`` and
        settings ``parcel_cost``, ``late_cost_per_day`` and ``holding_rate`` (percent of the price
        for holding a year; 25 unless given, an assumption within what is usual, 20 to 30).
    spread
        Table ``lead_spread`` of the parts' offers.
    share
        Share of the finished builds that must have used a part.

    Returns
    -------
    tuple
        Table ``levels``, what is low first, and what a person should know.
    """
    shop, day = plan.shop, plan.day
    uses, count = _uses(shop, day, share)
    policy, _ = read_policy(shop)
    holding, findings = read_holding(shop)
    if not uses:
        text = (
            f"{count} finished builds tell of no part that at least {share:.0%} of them used; "
            "fill in the sheet used"
        )
        return LEVELS.empty(), (*findings, Finding(Level.NOTE, text, "used"))
    market = read_market(shop, uses, plan.offer_days, (day - date(1970, 1, 1)).days)
    days = days_by_offer(spread)
    have = to_spare(plan)
    parts = shop["parts"].set_index("part")
    rows, kept = [], {}
    for part, use in uses.items():
        known = parts.loc[part]
        most = use.yearly * known["shelf_days"] / 365 if pd.notna(known["shelf_days"]) else inf
        deals = [
            (deal, days[deal.steps[0].offer])
            for deal in market.deals.get(part, ())
            if deal.seller.rate is not None and days.get(deal.steps[0].offer)
        ]
        fastest = min((_middle(spread) for _, spread in deals), default=0)
        terms = (policy, holding, most, float(max(policy.late_cost * max(fastest, 1), 1)))
        ways = [_kept(deal, use, terms, spread) for deal, spread in deals]
        best = min(ways, key=lambda w: (w.total, w.deal.seller.name), default=None)
        short = plan.shortages[plan.shortages["part"] == part]
        row = (part, str(known["name"]), str(known["unit"]), len(use.sizes), round(use.yearly))
        rows.append((*row, have.get(part, 0), *_terms(best, have.get(part, 0))))
        if best is not None:
            kept[part] = best
            lots = best_lots(short, day, (policy.parcel_cost, best.held), best.deal.pack)
            rows[-1] = (*rows[-1], lots)
        else:
            rows[-1] = (*rows[-1], "")
            text = f"{part} is used on most builds, but no offer of it can be compared; ask for one"
            findings.append(Finding(Level.NOTE, text, "offers", about=part))
    joined = _joined(kept, uses, policy.parcel_cost)
    full = [(*row, *joined.get(str(row[0]), (0, 0, 0, 0))) for row in rows]
    frame = LEVELS.conform(pd.DataFrame(full, columns=LEVELS.names))
    order = frame.sort_values(["low", "part"], ascending=[False, True], kind="stable")
    return LEVELS.check(order.reset_index(drop=True)), tuple(findings)


def always_used(shop: Shop, day: date, share: float = 0.75) -> tuple[str, ...]:
    """Return the parts that at least a share of the builds finished by a day used."""
    return tuple(_uses(shop, day, share)[0])


def _uses(shop: Shop, day: date, share: float) -> tuple[dict[str, _Use], int]:
    """Return the use of each part that is always used, and how many builds are finished."""
    done, span = finished(shop, day)
    used = shop["used"]
    used = used[used["build"].isin(done["build"])]
    sums = used.groupby(["part", "build"], sort=True)["quantity"].sum()
    by_part: dict[str, list[int]] = defaultdict(list)
    for (part, _), quantity in sums.items():
        if quantity > 0:
            by_part[part].append(int(quantity))
    parts = shop["parts"]
    ours = set(parts.loc[~parts["customer_supplied"], "part"])
    least = max(LEAST_BUILDS, ceil(share * len(done)))
    return {
        part: _Use(len(sizes) / span, tuple(sizes))
        for part, sizes in by_part.items()
        if part in ours and len(sizes) >= least
    }, len(done)


def finished(shop: Shop, day: date) -> tuple[pd.DataFrame, int]:
    """Return the builds finished by a day, and the working days since the first of them began."""
    builds = shop["builds"]
    done = builds[builds["finished"].notna() & (builds["finished"] <= pd.Timestamp(day))]
    if done.empty:
        return done, 1
    first = done["start"].fillna(done["finished"]).min()
    return done, max(int(np.busday_count(first.date(), day)), 1)


def read_holding(shop: Shop) -> tuple[float, list[Finding]]:
    """Read the setting ``holding_rate`` as a share of the price for a year."""
    text = shop.setting("holding_rate").removesuffix("%").strip()
    try:
        share = float(Fraction(text)) / 100
    except (ValueError, ZeroDivisionError):
        share = 0.0
    if 0 < share <= 10:
        return share, []
    message = f'setting "holding_rate": "{text}" is not a share; write percent of the price, as 25'
    return 0.25, [Finding(Level.WARN, message, "shop")]


def days_by_offer(spread: pd.DataFrame) -> dict[int, dict[int, float]]:
    """Return the chance of each number of days, by offer, from table ``lead_spread``."""
    found: dict[int, dict[int, float]] = defaultdict(dict)
    for offer, days, chance in zip(*(spread[c] for c in ("offer", "days", "chance")), strict=True):
        found[int(offer)][int(days)] = float(chance)
    return found


def _middle(spread: Mapping[int, float]) -> int:
    """Return the days within which every second order can be used."""
    sure = 0.0
    for days in sorted(spread):
        sure += spread[days]
        if sure >= 0.5:
            return days
    return max(spread)


def to_spare(plan: Plan) -> dict[str, int]:
    """Return what is left of each part for builds to come: supply less what open builds need."""
    supply = plan.supply
    fresh = supply[supply["use_by"].isna() | (supply["use_by"] >= pd.Timestamp(plan.day))]
    left: dict[str, int] = defaultdict(int)
    for frame, sign in ((fresh, 1), (plan.picks, -1), (plan.shortages, -1)):
        for part, quantity in frame.groupby("part")["quantity"].sum().items():
            left[str(part)] += sign * int(quantity)
    return left


def _kept(
    deal: Deal, use: _Use, terms: tuple[Policy, float, float, float], days: Mapping[int, float]
) -> _Kept:
    """Find quantity and level for one deal, and what keeping the part by it costs in a year.

    One unit more costs its holding until the next order; one too few makes a stage wait.
    """
    policy, holding, most, short = terms
    rate = float(deal.seller.rate or 1)
    least = max(deal.steps[0].from_packs, deal.steps[0].least_packs)
    # Where a price holds for the packs above a break alone, it holds from the pack before. What
    # is given away is held for a cent, or there would be no end to it.
    before = 1 if deal.seller.incremental else 0
    breaks: list[tuple[float, float]] = []
    lost = deal.seller.not_back(deal.deposit) / deal.pack
    for step in deal.steps:
        price = (max(step.price, 1) / step.per + lost) * rate
        start = float((step.from_packs - before) * deal.pack)
        if not breaks or (start <= breaks[0][0] and not before):
            breaks = [(float(least * deal.pack), price)]
        elif start > breaks[0][0]:
            breaks.append((start, price))
    lot = with_breaks(
        (policy.parcel_cost, holding, use.yearly),
        breaks,
        deal.pack,
        most,
        incremental=deal.seller.incremental,
    )
    quantity = round(lot.quantity)
    one = max(reduce(gcd, use.sizes), ceil(max(use.sizes) / _FINEST))
    sizes: dict[int, float] = defaultdict(float)
    for size in use.sizes:
        sizes[ceil(size / one)] += 1 / len(use.sizes)
    # The build that passes the level leaves less than the level for the wait.
    below = passed(sizes, max(round(quantity / one), 1))
    shares = np.convolve(demand_shares(use.rate, sizes, days), below).tolist()
    held = deal.cost(quantity) / quantity * holding
    cycle = quantity / use.yearly
    units = least_enough(shares, critical_ratio(short, held * one * cycle))
    service = min(sum(shares[: units + 1]), 1.0)
    orders = (policy.parcel_cost + short * (1 - service)) / cycle
    # On the shelf between builds: half a quantity, half of what a build takes, and what is left.
    halves = (quantity + one) / 2 + one * sum(n * share for n, share in enumerate(below))
    running = orders + held * (halves + expected_cost(shares, units, 0.0, one))
    goods = deal.cost(quantity) / cycle
    return _Kept(goods + running, deal, quantity, units * one, service, running, held, most)


def _joined(
    kept: Mapping[str, _Kept], uses: Mapping[str, _Use], parcel_cost: int
) -> dict[str, tuple[int, int, int, int]]:
    """Return the columns of ``levels`` from ``cycle`` on for parts that share a supplier's orders.

    Whole packs that last until the part is ordered again, which is before they are too old.
    """
    by_seller: dict[str, list[str]] = defaultdict(list)
    for part, way in kept.items():
        by_seller[way.deal.seller.name].append(part)
    found = {}
    for together in (parts for parts in by_seller.values() if len(parts) > 1):
        ways = [kept[p] for p in together]
        yearly = [uses[p].yearly for p in together]
        least = [max(w.deal.steps[0].from_packs, w.deal.steps[0].least_packs) for w in ways]
        keeps = [w.most / use for w, use in zip(ways, yearly, strict=True)]
        lasts = [
            min(n * w.deal.pack / use, keep)
            for n, w, use, keep in zip(least, ways, yearly, keeps, strict=True)
        ]
        # What costs nothing to hold is held for a cent, or there would be no end to it.
        shared = [
            Shared(0.0, max(w.held * use, 1.0), last)
            for w, use, last in zip(ways, yearly, lasts, strict=True)
        ]
        lots = zip(ways, yearly, strict=True)
        goods = sum(w.deal.quote(w.quantity).cost / w.quantity * use for w, use in lots)
        seller = ways[0].deal.seller
        rhythm, freight = from_seller(seller, parcel_cost, max(goods, 1), shared, min(keeps))
        days = max(round(rhythm.cycle * YEAR), 1)
        order = parcel_cost + seller.in_shop_money(freight)
        rows = zip(together, ways, yearly, least, rhythm.turns, strict=True)
        for part, way, use, first, turn in rows:
            packs = ceil(use * turn * rhythm.cycle / way.deal.pack - 1e-9)
            found[part] = (days, turn, max(packs, first), order)
    return found


def _terms(best: _Kept | None, have: int) -> tuple[int | float | str | bool, ...]:
    """Write what is proposed in the columns of ``levels`` from ``level`` to ``low``."""
    if best is None:
        return (-1, "", 0, 0, 0, 0, 0.0, 0, False)
    quote = best.deal.quote(best.quantity)
    cost = best.deal.seller.in_shop_money(quote.cost)
    what = (best.deal.seller.name, quote.step.offer, quote.packs, quote.packs * best.deal.pack)
    low = have <= best.level
    return (max(best.level, -1), *what, cost, best.service, round(best.running), low)

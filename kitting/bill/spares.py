"""Spares to think of: advice by rule, never a reason to call a kit less than whole."""

from __future__ import annotations

import math
from collections import defaultdict
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, Protocol

import pandas as pd

from kitting.bill.families import Families, words
from kitting.bill.ways import unit_of
from kitting.tables.flow import SPARES
from kitting.terms.conditions import split_list
from kitting.terms.designations import parse_designation
from kitting.terms.units import Dimension

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from kitting.tables.references import References
    from kitting.tables.shop import Shop

# Packs in which small hardware is usually sold, where no offer says: common practice.
_PACKS = (10, 25, 50, 100)


class _Bills(Protocol):
    """The frames of some exploded builds that are read."""

    @property
    def required(self) -> pd.DataFrame: ...
    @property
    def joints(self) -> pd.DataFrame: ...


@dataclass(frozen=True, slots=True)
class Rule:
    """One row of table ``spare_rules``; what is blank fits anything."""

    rule: str
    families: tuple[str, ...]
    kinds: frozenset[str]
    words: frozenset[str]
    single_use: str
    thread_up_to: float
    price_from: float
    price_below: float
    sellers_up_to: float
    add: int
    times: float
    pack: bool
    why: str
    mark: str
    source: str


@dataclass(frozen=True, slots=True)
class Wanted:
    """A part as a build needs it.

    Parameters
    ----------
    need
        Pieces.
    kinds, words
        Kinds of the joints that it serves, and the words of their names.
    price
        Least price of one in any offer's own currency [cents]; missing when nobody sells it.
    """

    part: str
    family: str
    single_use: str
    need: int
    kinds: frozenset[str]
    words: frozenset[str]
    thread: float
    price: float
    sellers: int
    pack: int


@dataclass(slots=True)
class _Sum:
    need: int = 0
    kinds: set[str] = field(default_factory=set)
    words: set[str] = field(default_factory=set)


def spares(
    shop: Shop, bills: _Bills, references: References, families: pd.DataFrame
) -> pd.DataFrame:
    """Say which spares to think of, for each build and part that is counted in pieces.

    Parameters
    ----------
    shop
        The shop.
    bills
        The exploded builds.
    references
        Table ``spare_rules``; of a part, the first rule that fits counts.
    families
        Table ``families``.

    Returns
    -------
    DataFrame
        Table ``spares``, in order of builds; parts that need no spare are left out.
    """
    rules = _rules(references)
    rows = []
    if rules and len(bills.required):
        known = Families(families)
        for build, wanted in _wanted(shop, bills, known):
            rule = next((r for r in rules if fits(r, wanted, known)), None)
            spare = rule and spare_count(rule, wanted)
            if rule and spare:
                told = (rule.rule, rule.why, rule.mark, rule.source)
                rows.append((build, wanted.part, wanted.need, spare, *told))
    return SPARES.conform(pd.DataFrame(rows, columns=SPARES.names)) if rows else SPARES.empty()


def fits(rule: Rule, wanted: Wanted, families: Families) -> bool:
    """Tell whether a rule is about a part as a build needs it.

    A part without a price fits no rule that asks for one; one without a thread, none that asks for
    a thread.
    """
    return (
        (not rule.families or families.is_a(wanted.family, rule.families))
        and (not rule.kinds or bool(rule.kinds & wanted.kinds))
        and (not rule.words or bool(rule.words & wanted.words))
        and rule.single_use in ("", wanted.single_use)
        and (rule.thread_up_to != rule.thread_up_to or 0 < wanted.thread <= rule.thread_up_to)
        and (rule.price_from != rule.price_from or wanted.price >= rule.price_from)
        and (rule.price_below != rule.price_below or wanted.price < rule.price_below)
        and (rule.sellers_up_to != rule.sellers_up_to or 0 < wanted.sellers <= rule.sellers_up_to)
    )


def spare_count(rule: Rule, wanted: Wanted) -> int:
    """Return how many spares a rule asks for [pieces]."""
    total = math.ceil(wanted.need * rule.times - 1e-9) + rule.add
    if rule.pack and total > wanted.need:
        pack = wanted.pack
        if not pack:
            pack = next((p for p in _PACKS if p >= total), _PACKS[-1])
        total = math.ceil(total / pack) * pack
    return total - wanted.need


def _rules(references: References) -> list[Rule]:
    frame = references["spare_rules"]
    texts = (frame[c].tolist() for c in ("rule", "families", "kinds", "words", "single_use"))
    limits = (
        frame[c].astype("float64").tolist()
        for c in ("thread_up_to", "price_from", "price_below", "sellers_up_to")
    )
    rest = (frame[c].tolist() for c in ("add", "times", "pack", "why", "mark", "source"))
    return [
        Rule(
            rule, split_list(families), frozenset(split_list(kinds)),
            frozenset(w for phrase in split_list(spoken) for w in words(phrase)), single_use,
            *numbers,
        )
        for rule, families, kinds, spoken, single_use, *numbers in zip(
            *texts, *limits, *rest, strict=True
        )
    ]  # fmt: skip


def _wanted(shop: Shop, bills: _Bills, families: Families) -> list[tuple[str, Wanted]]:
    """Return each build's needs by part, with what the rules ask about."""
    sums: dict[tuple[str, str], _Sum] = defaultdict(_Sum)
    kinds = _joint_kinds(bills)
    spoken: dict[str, tuple[str, ...]] = {"": ()}
    required = bills.required
    names = ("build", "assembly", "joint", "part", "quantity")
    for build, assembly, joint, part, quantity in zip(
        *(required[n].tolist() for n in names), strict=True
    ):
        found = sums[build, part]
        found.need += quantity
        if joint:
            found.kinds.add(kinds.get((build, assembly, joint), ""))
            found.words.update(spoken.setdefault(joint, words(joint)))
    facts = _facts(shop, {part for _, part in sums}, families)
    out = []
    for (build, part), one in sums.items():
        known = facts.get(part)
        if known is not None and one.need > 0:
            family, single, *sold = known
            of = (frozenset(one.kinds), frozenset(one.words))
            out.append((build, Wanted(part, family, single, one.need, *of, *sold)))
    return out


def _joint_kinds(bills: _Bills) -> dict[tuple[str, str, str], str]:
    joints = bills.joints
    names = (joints[n].tolist() for n in ("build", "assembly", "joint", "kind"))
    return {(b, a, j): kind for b, a, j, kind in zip(*names, strict=True)}


def _facts(shop: Shop, parts: set[str], families: Families) -> Mapping[str, Sequence[Any]]:
    """Return family, single use, thread, price, sellers and pack of parts counted in pieces."""
    sellers: dict[str, set[str]] = defaultdict(set)
    prices: dict[str, float] = {}
    packs: dict[str, int] = {}
    offers = shop["offers"]
    columns = (offers[c].tolist() for c in ("part", "supplier", "price", "per", "pack"))
    for part, supplier, price, per, pack in zip(*columns, strict=True):
        if part in parts and per > 0:
            sellers[part].add(supplier)
            prices[part] = min(price / per, prices.get(part, math.inf))
            packs[part] = min(pack, packs.get(part, pack))
    frame = shop["parts"]
    columns = (frame[c].tolist() for c in ("part", "name", "family", "unit", "single_use"))
    counted: dict[str, bool] = {}
    out: dict[str, Sequence[Any]] = {}
    for part, name, family, unit, single in zip(*columns, strict=True):
        if part not in parts:
            continue
        if unit not in counted:
            counted[unit] = unit_of(unit).dimension is Dimension.COUNT
        if counted[unit]:
            said = parse_designation(name) or parse_designation(part)
            thread = float(said.thread[1:]) if said and said.thread else 0.0
            price = prices.get(part, math.nan)
            sold = (price, len(sellers[part]), packs.get(part, 0))
            out[part] = (families.of(family, name), single, thread, *sold)
    return out

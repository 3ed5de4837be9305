"""The alternative to waiting for a measurement: sizes on the shelf beforehand, at least cost."""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise
from math import erf, isnan, sqrt
from typing import TYPE_CHECKING

import pandas as pd

from kitting.tables.times import ASSORTMENT
from kitting.terms.money import amount
from kitting.timing.assortment import Held, chance_of, cheapest
from kitting.timing.measured import choices, free_stock

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from datetime import date

    from kitting.tables.shop import Shop
    from kitting.timing.measured import Choice

# How many measured places a stated spread is worth: an assumption.
STATED = 10.0
# What each size counts for before anything is known of it (H. Jeffreys, Proceedings of the Royal
# Society A 186:453-461, 1946, from memory).
UNKNOWN = 0.5


def assortment(
    shop: Shop, build_joints: pd.DataFrame, day: date, chance: float = 0.9
) -> pd.DataFrame:
    """Return which sizes to have on the shelf so that every place finds its own, at least cost.

    The places are those of all builds together; each wants one size, for itself. Shares come from
    the sizes that past builds used and from the stated spread, which counts as much as ten places
    (an assumption); where neither is there, every size is as likely as any other.

    Parameters
    ----------
    shop
        Reads ``measured``, ``parts``, ``lines``, ``offers``, ``suppliers``, ``stock``, ``used``
        and ``shop`` (settings ``currency`` and ``rate ...``).
    build_joints
        Table ``build_joints`` of the open builds.
    day
        The day of the plan.
    chance
        Chance to reach, above 0 and below 1.

    Returns
    -------
    DataFrame
        Table ``assortment``, a row for each size; where the chance cannot be reached, nothing is
        bought and ``chance`` is 0.

    Raises
    ------
    ValueError
        When the chance is not between 0 and 1.
    """
    if not 0 < chance < 1:
        raise ValueError(f"a chance of {chance} cannot be planned for; choose one such as 0.9")
    listed = choices(shop)
    shelf = free_stock(shop["stock"], day)
    prices = _prices(shop, day, {part for choice in listed for part in choice.parts})
    counts = build_joints.groupby(["assembly", "joint"])["count"].sum()
    rows = []
    for choice in listed:
        places = int(counts.get((choice.assembly, choice.joint), 0))
        if not places or not choice.parts:
            continue
        shares, source = shares_of(choice, shop["used"])
        each = _each(shop["lines"], choice)
        ways = [
            _ways(shelf.get(part, 0), prices.get(part, []), each, places) for part in choice.parts
        ]
        best = cheapest(shares, ways, places, chance)
        held = best or [way[0] for way in ways]
        reached = chance_of(shares, [h.places for h in held], places) if best else 0.0
        rows += [
            {
                "assembly": choice.assembly,
                "joint": choice.joint,
                "part": part,
                "share": share,
                "places": places,
                "shelf": shelf.get(part, 0),
                "buy": one.buy,
                "cost": one.cost,
                "chance": reached,
                "known_from": source,
            }
            for part, share, one in zip(choice.parts, shares, held, strict=True)
        ]
    return ASSORTMENT.conform(pd.DataFrame(rows)) if rows else ASSORTMENT.empty()


def shares_of(choice: Choice, used: pd.DataFrame) -> tuple[list[float], str]:
    """Return the share of the places that want each size, and where it is known from.

    Parameters
    ----------
    choice
        The sizes to choose from.
    used
        Table ``used`` of past builds; rows of the joint, or without a joint, count.
    """
    own = used[used["part"].isin(choice.parts) & used["joint"].isin(["", choice.joint])]
    counts = own.groupby("part")["quantity"].sum()
    past = [float(counts.get(part, 0)) for part in choice.parts]
    stated = stated_shares(choice.sizes, choice.middle, choice.spread)
    before = [STATED * s for s in stated] if stated else [UNKNOWN] * len(choice.parts)
    whole = sum(past) + sum(before)
    names = (
        ("past builds and stated spread" if stated else "past builds")
        if any(past)
        else ("stated spread" if stated else "nothing")
    )
    return [(p + b) / whole for p, b in zip(past, before, strict=True)], names


def stated_shares(sizes: Sequence[float], middle: float, spread: float) -> list[float]:
    """Return the share of each size when what is wanted is normal and takes the nearest size.

    Empty where sizes, middle or spread are not given.
    """
    if not sizes or isnan(middle) or isnan(spread) or spread <= 0:
        return []
    order = sorted(range(len(sizes)), key=lambda n: sizes[n])
    inner = [(sizes[a] + sizes[b]) / 2 for a, b in pairwise(order)]
    below = [0.0, *((1 + erf((e - middle) / (spread * sqrt(2)))) / 2 for e in inner), 1.0]
    found = [0.0] * len(sizes)
    for place, n in enumerate(order):
        found[n] = below[place + 1] - below[place]
    return found


def _each(lines: pd.DataFrame, choice: Choice) -> int:
    """Return how many of a size one place takes, as the bill says; 1 when it does not."""
    own = lines[
        (lines["assembly"] == choice.assembly)
        & (lines["joint"] == choice.joint)
        & lines["part"].isin(choice.parts)
    ]
    return max(int(own["quantity"].max()), 1) if len(own) else 1


def _prices(shop: Shop, day: date, wanted: set[str]) -> Mapping[str, list[tuple[int, int]]]:
    """Return what may be bought of each part: base units at a time, and their cost [cents].

    An offer in a currency without a rate is left out.
    """
    own = shop.setting("currency")
    suppliers = shop["suppliers"]
    currency = dict(zip(suppliers["supplier"], suppliers["currency"], strict=True))
    offers = shop["offers"].dropna(subset="price")
    offers = offers[offers["part"].isin(wanted)]
    valid = offers[offers["valid_to"].isna() | (offers["valid_to"] >= pd.Timestamp(day))]
    found: dict[str, list[tuple[int, int]]] = {}
    for row in valid.itertuples(index=False):
        code = currency.get(row.supplier, own) or own
        rate = _rate(shop.setting(f"rate {code}")) if code != own else Fraction(1)
        if rate is None:
            continue
        pack = row.pack * max(row.least_packs, row.from_packs, 1)
        cost = Fraction(amount(pack, row.price, row.per)) * rate
        found.setdefault(row.part, []).append((pack, -int(-cost // 1)))
    return found


def _rate(text: str) -> Fraction | None:
    try:
        return Fraction(text)
    except (ValueError, ZeroDivisionError):
        return None


def _ways(shelf: int, offers: Sequence[tuple[int, int]], each: int, places: int) -> list[Held]:
    """Return the ways to hold a size: what is there, and whole packs of the cheapest offer."""
    found = [Held(min(shelf // each, places), 0, 0)]
    for served in range(found[0].places + 1, places + 1):
        lacking = served * each - shelf
        bought = [(-(-lacking // pack), pack, cost) for pack, cost in offers]
        if not bought:
            break
        cost, quantity = min((n * cost, n * pack) for n, pack, cost in bought)
        while found[1:] and found[-1].cost >= cost:
            found.pop()
        found.append(Held(min((shelf + quantity) // each, places), cost, quantity))
    return found

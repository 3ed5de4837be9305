"""Tiny random shops with every feature, and the best answer by trying everything."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from itertools import product
from math import ceil
from typing import TYPE_CHECKING

from hypothesis import strategies as st
from sourcing.shops import shop, short

if TYPE_CHECKING:
    import pandas as pd

    from kitting.tables.shop import Shop

PARTS = ("ring", "seal", "oil")
SELLERS = ("Town", "Far", "Isle")
LATE, PARCEL = 700, 150


@dataclass(frozen=True)
class Tiny:
    """A tiny shop, its shortages, and the rows that both were made of."""

    shop: Shop
    shortages: pd.DataFrame
    sellers: list[dict]
    offers: list[dict]
    sets: list[dict]
    stand_ins: list[dict]
    settings: dict[str, str]
    wants: list[tuple[str, int, int, bool, str]]


@st.composite
def tiny(draw, most_offers=7, deposits=(0, 0, 0, 90, 455)):
    """Draw a tiny shop; ``deposits`` are those on the old parts of an offer."""
    sellers = [
        {
            "supplier": name,
            "currency": "GBP" if name == "Isle" else "EUR",
            "freight": draw(st.sampled_from([0, 300, 900])),
            "free_freight_above": draw(st.sampled_from([None, 1000, 2500])),
            "least_order": draw(st.sampled_from([0, 0, 800, 2000])),
            "hazard_charge": draw(st.sampled_from([0, 250])),
        }
        for name in SELLERS
    ]
    settings = {
        "rate GBP": "1.17",
        "late_cost_per_day": f"{LATE // 100}.{LATE % 100:02d}",
        "parcel_cost": f"{PARCEL // 100}.{PARCEL % 100:02d}",
        "incremental_breaks": draw(st.sampled_from(["", "Far"])),
        "core_return_percent": draw(st.sampled_from(["", "85", "100"])),
        "freight steps Town": draw(st.sampled_from(["", "0=5; 10=2; 30=0", "0=1; 12=6"])),
    }
    offers = draw(st.lists(an_offer(deposits), min_size=1, max_size=most_offers))
    sets = []
    if draw(st.booleans()):
        sets = [
            {"set": "kit", "part": "ring", "quantity": draw(st.integers(1, 2)), "fits": "needed"},
            {"set": "kit", "part": "seal", "quantity": 1, "fits": "needed"},
        ]
    stand_ins = []
    if draw(st.booleans()):
        take, give = draw(st.sampled_from([(1, 1), (2, 1), (1, 2)]))
        kind = draw(st.sampled_from(["supersedes", "alternate"]))
        stand_ins = [{"part": "seal", "stand_in": "oil", "kind": kind, "take": take, "give": give}]
    wants = [
        (
            part,
            draw(st.integers(1, 6 if part == "ring" else 3)),
            draw(st.sampled_from([2, 5, 9])),
            late,
            stage,
        )
        for part in PARTS
        for stage, late in draw(
            st.lists(
                st.sampled_from([("close", False), ("open", False), ("later", True)]),
                max_size=2 if part == "ring" else 1,
                unique=True,
            )
        )
    ]
    return _made(sellers, offers, sets, stand_ins, settings, wants)


def _made(sellers, offers, sets, stand_ins, settings, wants):
    """Make the frames of a tiny shop."""
    shortages = short(*(want[:4] for want in wants))
    shortages["stage"] = [want[4] for want in wants] or shortages["stage"]
    parts = [{"part": name, "hazard": "aerosol" if name == "oil" else ""} for name in PARTS]
    blank = [{k: v for k, v in row.items() if v is not None} for row in sellers]
    the_shop = shop(blank, offers, settings, sets=sets, stand_ins=stand_ins, parts=parts)
    return Tiny(the_shop, shortages, sellers, offers, sets, stand_ins, settings, wants)


def remade(of: Tiny, offer: dict) -> Tiny:
    """Make the same shop with one more offer."""
    offers = [*of.offers, offer]
    return _made(of.sellers, offers, of.sets, of.stand_ins, of.settings, of.wants)


@st.composite
def an_offer(draw, deposits=(0, 0, 0, 90, 455)):
    """Draw an offer of a tiny shop."""
    pack = draw(st.sampled_from([1, 1, 2, 5]))
    return {
        "supplier": draw(st.sampled_from(SELLERS)),
        "part": draw(st.sampled_from([*PARTS, "kit"])),
        "pack": pack,
        "least_packs": draw(st.sampled_from([1, 1, 2])),
        "from_packs": draw(st.sampled_from([1, 1, 1, 2, 3])),
        "price": draw(st.integers(100, 1200)),
        "per": draw(st.sampled_from([pack, pack, 3])),
        "lead_days": draw(st.sampled_from([1, 4, 8])),
        "core_deposit": draw(st.sampled_from(deposits)),
    }


def in_euro(cents, currency):
    """Convert at the rate, rounded half up."""
    return cents if currency == "EUR" else half_up(Fraction(117 * cents, 100))


def half_up(exact):
    """Round to a whole cent."""
    return int(exact + Fraction(1, 2))


def deals(of: Tiny):
    """Group offers of one seller, part, pack, lead and deposit; of equal steps the cheaper."""
    found = {}
    for number, row in enumerate(of.offers):
        key = (row["part"], row["supplier"], row["pack"], row["lead_days"], row["core_deposit"])
        steps = found.setdefault(key, {})
        known = steps.get(row["from_packs"])
        if known is None or row["price"] * known["per"] < known["price"] * row["per"]:
            steps[row["from_packs"]] = {**row, "number": number}
    return [(key, [steps[n] for n in sorted(steps)]) for key, steps in found.items()]


def price_of(steps, units, incremental, back):
    """Return goods and lost deposit that cost least, every pack count up to plenty tried."""
    pack = steps[0]["pack"]
    best = None
    for packs in range(max(1, ceil(units / pack)), ceil(units / pack) + 8):
        reached = [s for s in steps if s["from_packs"] <= packs]
        if not reached or packs < reached[-1]["least_packs"]:
            continue
        if incremental:
            cost, ends = 0, [s["from_packs"] - 1 for s in reached[1:]] + [packs]
            below = 0
            for step, end in zip(reached, ends, strict=True):
                cost += int(
                    Fraction((end - below) * pack * step["price"], step["per"]) + Fraction(1, 2)
                )
                below = end
        else:
            step = reached[-1]
            cost = half_up(Fraction(packs * pack * step["price"], step["per"]))
        lost = half_up(Fraction(packs * steps[0]["core_deposit"] * (100 - back), 100))
        if best is None or cost + lost < sum(best):
            best = (cost, lost)
    return best


def order_charge(of: Tiny, seller, goods):
    """Return freight and filling up of one order in cents of the shop, at their least."""
    steps = [(0, seller["freight"])]
    if seller["free_freight_above"] and seller["freight"]:
        steps.append((seller["free_freight_above"], 0))
    told = (
        of.settings[f"freight steps {seller['supplier']}"] if seller["supplier"] == "Town" else ""
    )
    if told:
        steps = [
            (int(a) * 100, int(b) * 100) for a, b in (piece.split("=") for piece in told.split(";"))
        ]
    targets = {goods, max(goods, seller["least_order"]), *(max(goods, s) for s, _ in steps)}
    costs = []
    for target in targets:
        if target < seller["least_order"]:
            continue
        freight = [f for start, f in steps if start <= target][-1]
        costs.append(
            in_euro(freight, seller["currency"]) + in_euro(target - goods, seller["currency"])
        )
    return min(costs)


def weekdays_late(need_day, lead):
    """Count weekdays from the need's day to the day it is usable; day 0 is Monday 2026-03-02."""
    return sum(1 for day in range(need_day, lead) if day % 7 < 5)


def ways(of: Tiny, part, found):
    """List the deals that can cover a part: deal number, take, give, out of a set."""
    kinds = {row["kind"]: row for row in of.stand_ins}
    result = []
    for number, ((bought, *_), _) in enumerate(found):
        if bought == part:
            result.append((number, 1, 1, False))
        elif bought == "kit":
            held = [row["quantity"] for row in of.sets if row["part"] == part]
            if held:
                result.append((number, 1, held[0], True))
        for row in of.stand_ins:
            if (part, bought) == (row["part"], row["stand_in"]):
                result.append((number, row["take"], row["give"], False))
            if "alternate" in kinds and (bought, part) == (row["part"], row["stand_in"]):
                result.append((number, row["give"], row["take"], False))
    return result


def compositions(total, width):
    """List every way to write a total as a sum of so many numbers."""
    if width == 1:
        return [(total,)]
    return [
        (first, *rest)
        for first in range(total + 1)
        for rest in compositions(total - first, width - 1)
    ]


def best_total(of: Tiny):
    """Return the least total by trying every way to cover every part, and the parts covered."""
    found = deals(of)
    wanted = {}
    for part, quantity, day, deferred, stage in of.wants:
        wanted.setdefault(part, []).append((deferred, day, quantity, stage))
    choices = []
    for part, needs in wanted.items():
        sources = ways(of, part, found)
        if sources:
            total = sum(n[2] for n in needs)
            amounts = compositions(total, len(sources))
            choices.append([_column(needs, sources, some, found) for some in amounts])

    @cache
    def price(number, units):
        supplier = found[number][0][1]
        incremental = supplier in of.settings["incremental_breaks"]
        back = int(of.settings["core_return_percent"] or 0)
        return price_of(found[number][1], units, incremental, back)

    @cache
    def charge(supplier, goods):
        return order_charge(of, of.sellers[SELLERS.index(supplier)], goods)

    best = None
    for columns in product(*choices):
        cost = _total(of, columns, found, price, charge)
        best = cost if best is None or cost < best else best
    return best, {part for part in wanted if ways(of, part, found)}


def _column(needs, sources, amounts, found):
    """Return what one way to cover a part draws from each deal, and what waits."""
    own, sets, arrivals = {}, {}, []
    for (number, take, give, inside), amount in zip(sources, amounts, strict=True):
        if amount:
            units = ceil(Fraction(amount * take, give))
            (sets if inside else own)[number] = units
            arrivals.append([found[number][0][3], amount])
    arrivals.sort()
    late = {}
    for deferred, day, quantity, stage in sorted(needs, key=lambda n: n[:2]):
        while quantity:
            lead, left = arrivals[0]
            given = min(left, quantity)
            quantity -= given
            arrivals[0][1] -= given
            if not deferred:
                late[stage] = max(late.get(stage, 0), weekdays_late(day, lead))
            if not arrivals[0][1]:
                arrivals.pop(0)
    return own, sets, late


def _total(of: Tiny, columns, found, price, charge):
    """Return the total of one way to cover every part."""
    own, sets, late = {}, {}, {}
    for column in columns:
        for number, units in column[0].items():
            own[number] = own.get(number, 0) + units
        for number, units in column[1].items():
            sets[number] = max(sets.get(number, 0), units)
        for stage, days in column[2].items():
            late[stage] = max(late.get(stage, 0), days)
    goods, hazard, total = {}, set(), LATE * sum(late.values())
    for number in own.keys() | sets.keys():
        part, supplier, *_ = found[number][0]
        cost, lost = price(number, own.get(number, 0) + sets.get(number, 0))
        currency = "GBP" if supplier == "Isle" else "EUR"
        total += in_euro(cost, currency) + in_euro(lost, currency)
        goods[supplier] = goods.get(supplier, 0) + cost
        if part == "oil":
            hazard.add(supplier)
    for seller in of.sellers:
        name = seller["supplier"]
        if name in goods:
            total += PARCEL + charge(name, goods[name])
            if name in hazard:
                total += in_euro(seller["hazard_charge"], seller["currency"])
    return total

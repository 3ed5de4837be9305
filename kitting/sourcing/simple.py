"""The simple choice: for each part the cheapest deal in time, else the fastest."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from typing import TYPE_CHECKING

from kitting.sourcing.demand import Needs, Take, split, total
from kitting.terms.money import show_cents

if TYPE_CHECKING:
    from collections.abc import Mapping

    from kitting.sourcing.demand import Need
    from kitting.sourcing.market import Deal, Market, Way

NOTHING = 10**13
"""Stands for the cost of a part that nobody sells [cents]; above any real order."""


@dataclass(frozen=True)
class Choice:
    """What is bought, and what is left because nobody sells it."""

    takes: tuple[Take, ...]
    unmet: Mapping[str, Needs]


def choose_simply(
    market: Market, demand: Mapping[str, Needs], without: frozenset[str] = frozenset()
) -> Choice:
    """Choose for each part alone, after the sets that cover several parts for less.

    Parameters
    ----------
    demand
        Needs by part.
    without
        Suppliers that are not used.
    """
    ways = {
        part: [w for w in market.ways.get(part, ()) if w.deal.seller.name not in without]
        for part in demand
    }
    takes, left = _take_sets(market, dict(demand), ways, without)
    unmet = {}
    for part, needs in left.items():
        if not needs:
            continue
        if ways[part]:
            takes += cover(needs, ways[part], market.currency)
        else:
            unmet[part] = needs
    return Choice(tuple(takes), unmet)


def cover(needs: Needs, ways: list[Way], currency: str) -> list[Take]:
    """Cover the needs of one part by one deal, or by a fast one and one for what can wait.

    Parameters
    ----------
    needs
        At least one need, all of one part.
    ways
        At least one way to cover the part.
    """
    best = _best(needs, ways)
    late = tuple(n for n in needs if n.day < best.deal.usable)
    if late and len(late) < len(needs):
        rest = needs[len(late) :]
        slow = _best(rest, ways)
        freight = slow.deal.seller.in_shop_money(slow.deal.seller.steps[0][1])
        apart = best.cost(total(late)) + slow.cost(total(rest)) + freight
        if slow.deal.seller is not best.deal.seller and apart < best.cost(total(needs)):
            return [_take(best, late, ways, currency), _take(slow, rest, ways, currency)]
    return [_take(best, needs, ways, currency)]


def _best(needs: Needs, ways: list[Way]) -> Way:
    """Pick the cheapest way in time for the earliest need, else the fastest."""
    return min(ways, key=lambda way: _rank(way, total(needs), needs[0].day))


def _rank(way: Way, quantity: int, day: int) -> tuple[int | bool | str, ...]:
    """Order ways: in time before late, comparable before not, then cost, or day when late."""
    usable, seller = way.deal.usable, way.deal.seller
    late = usable > day
    other = way.deal.part != way.part
    cost = way.cost(quantity)
    unknown = seller.rate is None
    return (late, usable if late else 0, unknown, cost, usable, other, seller.name, way.deal.pack)


def _take(way: Way, needs: Needs, ways: list[Way], currency: str) -> Take:
    """Take one way for all the needs and say why."""
    quantity = total(needs)
    return Take(
        way.deal,
        way.units(quantity),
        tuple((need, need.quantity) for need in needs),
        _why(way, needs, ways, currency),
    )


def _why(way: Way, needs: Needs, ways: list[Way], currency: str) -> str:
    """Say in one sentence why this way was chosen among all."""
    quantity, day = total(needs), needs[0].day
    in_time = [w for w in ways if w.deal.usable <= day]
    others = [w for w in (in_time or ways) if w is not way]
    if way.deal.usable > day:
        days = way.deal.usable - day
        what = "The only offer" if not others else f"Fastest of {len(ways)} offers"
        text = f"{what}, yet late by {days} {'day' if days == 1 else 'days'}"
        if way.deal.usable >= 10**7:
            text = f"{what}, but when it comes is not known"
    elif not others:
        text = "The only offer" if len(ways) == 1 else f"The only one of {len(ways)} offers in time"
    else:
        text = f"Cheapest of {len(in_time)} offers in time"
        rival = min(others, key=lambda w: _rank(w, quantity, day))
        if way.deal.seller.rate is None:
            text = f"Cannot be compared for want of a rate for {way.deal.seller.currency}"
        elif rival.deal.seller.rate is not None:
            cost = show_cents(rival.cost(quantity), currency)
            text += f"; next is {rival.deal.seller.name} at {cost}"
    return _with_details(text, way, quantity)


def _with_details(text: str, way: Way, quantity: int) -> str:
    """Add what is special about a way: a stand-in, or packs bought to reach a price break."""
    if way.deal.part != way.part:
        text += f"; stands in for {way.part}"
    return "; ".join([text, *pack_words(way.deal, way.units(quantity))]) + "."


def pack_words(deal: Deal, units: int) -> list[str]:
    """Say why more packs are bought than are enough, if they are."""
    quote = deal.quote(units)
    enough = max(1, -(-units // deal.pack))
    if quote.packs <= enough:
        return []
    if quote.packs == quote.step.from_packs and quote.step is not deal.steps[0]:
        return [f"{quote.packs} packs at the better price cost less than {enough}"]
    return [f"the least on an order is {quote.packs} packs"]


def _take_sets(
    market: Market,
    left: dict[str, Needs],
    ways: Mapping[str, list[Way]],
    without: frozenset[str],
) -> tuple[list[Take], dict[str, Needs]]:
    """Buy sets, the one that saves most first, as long as one saves anything."""
    takes: list[Take] = []
    deals = [(d, held) for d, held in market.sets if d.seller.name not in without]
    costs: dict[tuple[str, int, int], int] = {}
    while deals:
        offers = [_set_offer(deal, held, left, ways, costs) for deal, held in deals]
        saving, deal, count, held = max(offers, key=lambda o: o[0])
        if saving <= 0:
            break
        alone = saving < NOTHING
        takes.append(_take_set(deal, count, held, left, market.currency if alone else ""))
    return takes, left


def _set_offer(
    deal: Deal,
    held: Mapping[str, int],
    left: Mapping[str, Needs],
    ways: Mapping[str, list[Way]],
    costs: dict[tuple[str, int, int], int],
) -> tuple[int, Deal, int, dict[str, int]]:
    """Find how many of a set save most against buying its parts alone.

    A part counts only when the set comes in time for it or no later than it would come alone.
    """
    useful: dict[str, int] = {}
    for part, quantity in held.items():
        needs = left.get(part, ())
        if not needs or quantity <= 0:
            continue
        alone = _best(needs, ways[part]).deal.usable if ways[part] else deal.usable
        if deal.usable <= max(needs[0].day, alone):
            useful[part] = quantity
    best = (0, deal, 0, useful)
    most = max((-(-total(left[p]) // q) for p, q in useful.items()), default=0)
    for count in range(1, min(most, 60) + 1):
        saved = sum(_saved(left[p], count * q, ways[p], costs) for p, q in useful.items())
        saving = saved - deal.cost(count)
        if saving > best[0]:
            best = (saving, deal, count, useful)
    return best


def _saved(
    needs: Needs, quantity: int, ways: list[Way], costs: dict[tuple[str, int, int], int]
) -> int:
    """Return what need not be paid for a part when a set brings some of it."""
    if not ways:
        return NOTHING * min(quantity, total(needs))
    remains = split(needs, quantity)[1]
    return _alone(needs, ways, costs) - (_alone(remains, ways, costs) if remains else 0)


def _alone(needs: Needs, ways: list[Way], costs: dict[tuple[str, int, int], int]) -> int:
    """Return the cost of buying needs of one part alone, remembered by first day and total."""
    key = (needs[0].part, total(needs), needs[0].day)
    if key not in costs:
        costs[key] = _best(needs, ways).cost(key[1])
    return costs[key]


def _take_set(
    deal: Deal, count: int, held: Mapping[str, int], left: dict[str, Needs], currency: str
) -> Take:
    """Take a number of sets; what they bring is taken off what is left.

    A blank currency says that some of the parts are not sold alone.
    """
    covers: list[tuple[Need, int]] = []
    for part, quantity in held.items():
        covered, left[part] = split(left[part], count * quantity)
        covers += covered
    parts = sorted({need.part for need, _ in covers})
    names = parts[0] if len(parts) == 1 else f"{', '.join(parts[:-1])} and {parts[-1]}"
    cost = show_cents(deal.cost(count), currency)
    why = f"The set covers {names} for {cost}, less than alone."
    if not currency:
        why = f"The set covers {names}, not all of which is sold alone."
    return Take(deal, count, tuple(covers), why)


def by_deal(takes: tuple[Take, ...]) -> list[Take]:
    """Join the takes of one deal, so that packs are rounded once."""
    groups: dict[int, list[Take]] = defaultdict(list)
    for take in takes:
        groups[id(take.deal)].append(take)
    joined = []
    for group in groups.values():
        covers = tuple(pair for take in group for pair in take.covers)
        why = " ".join(dict.fromkeys(take.why for take in group))
        joined.append(Take(group[0].deal, sum(t.units for t in group), covers, why))
    return joined

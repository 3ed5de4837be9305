"""The choice that a person makes with price lists: each part alone, the cheapest in time."""

from __future__ import annotations

from typing import TYPE_CHECKING

from kitting.sourcing.demand import Take, total
from kitting.sourcing.simple import Choice, choose_simply

if TYPE_CHECKING:
    from collections.abc import Mapping

    from kitting.sourcing.demand import Needs
    from kitting.sourcing.market import Market


def choose_by_hand(market: Market, demand: Mapping[str, Needs]) -> Choice:
    """Choose for each part alone the cheapest offer in time, else the cheapest.

    Freight, least orders and sets are not looked at; a part that only a set holds is bought by the
    simple choice. It is what a good answer is held against, never an answer itself.

    Parameters
    ----------
    demand
        Needs by part.
    """
    takes = []
    left = {}
    for part, needs in demand.items():
        ways = market.ways.get(part, ())
        if not ways:
            left[part] = needs
            continue
        quantity = total(needs)
        in_time = [way for way in ways if way.deal.usable <= needs[0].day]
        best = min(in_time or ways, key=lambda w: (w.cost(quantity), w.deal.usable))
        covers = tuple((need, need.quantity) for need in needs)
        takes.append(Take(best.deal, best.units(quantity), covers, ""))
    rest = choose_simply(market, left)
    return Choice((*takes, *rest.takes), rest.unmet)

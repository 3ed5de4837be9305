"""The door: shortages in, buys and what to know about them out."""

from __future__ import annotations

from collections import defaultdict
from typing import TYPE_CHECKING, Literal

from kitting.sourcing import answer
from kitting.sourcing.case import read_case
from kitting.sourcing.lent import lend_on
from kitting.sourcing.simple import Choice, by_deal, choose_simply

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import date

    import pandas as pd

    from kitting.sourcing.demand import Needs
    from kitting.sourcing.market import Market
    from kitting.sourcing.sellers import Seller
    from kitting.tables.shop import Shop
    from kitting.terms.findings import Finding


def choose(
    shop: Shop,
    shortages: pd.DataFrame,
    offer_days: pd.DataFrame,
    day: date,
    how: Literal["simple", "proved"] = "simple",
) -> tuple[pd.DataFrame, pd.DataFrame, tuple[Finding, ...]]:
    """Choose what to buy from whom.

    Parameters
    ----------
    shortages
        Table ``shortages``; those of deferred stages are bought as well.
    offer_days
        Table ``offer_days``: when each offer ordered today could be used.
    day
        The day of the plan; offers that ended before it are not used.
    how
        ``simple``: for each part the cheapest offer in time, else the fastest. ``proved``: the
        best set of orders for all parts together.

    Returns
    -------
    tuple
        Tables ``buys`` and ``buy_needs``, and what a person should know. A part that the customer
        brings, or that nobody offers, has no buy and a finding.
    """
    case = read_case(shop, shortages, offer_days, day)
    if how == "proved":
        from kitting.sourcing.doors import bought
        from kitting.sourcing.proved import BALANCED, find

        best = bought(case, find(case, BALANCED))
        return best.buys, best.buy_needs, best.findings
    choice = without_small_orders(case.market, case.demand, choose_simply(case.market, case.demand))
    buys, buy_needs = answer.frames(choice.takes)
    findings = case.findings(choice.unmet, order_values(choice))
    return buys, lend_on(buy_needs, case.served), findings


def order_values(choice: Choice) -> dict[Seller, int]:
    """Return the goods value of each order in cents of the seller's currency, by name."""
    goods: dict[Seller, int] = defaultdict(int)
    for take in by_deal(choice.takes):
        goods[take.deal.seller] += take.deal.quote(take.units).cost
    return dict(sorted(goods.items(), key=lambda pair: pair[0].name))


def without_small_orders(market: Market, demand: Mapping[str, Needs], choice: Choice) -> Choice:
    """Give up suppliers whose least order is not reached, where that is cheaper than filling up.

    A supplier is given up only when everything is still covered, and nothing comes later.
    """
    without: frozenset[str] = frozenset()
    while True:
        small = [
            seller.name
            for seller, value in order_values(choice).items()
            if value < seller.least_order
        ]
        trials = [
            (trial, without | {name})
            for name in small
            for trial in [choose_simply(market, demand, without | {name})]
            if _as_good(trial, choice) and _worth(trial) < _worth(choice)
        ]
        if not trials:
            return choice
        choice, without = min(trials, key=lambda pair: _worth(pair[0]))


def _as_good(trial: Choice, choice: Choice) -> bool:
    """Tell whether a trial covers all that the choice covers, and no need is served later."""
    if trial.unmet.keys() - choice.unmet.keys():
        return False
    served = _served(choice)
    return all(day <= max(served.get(need, day), due) for need, (day, due) in _days(trial).items())


def _days(choice: Choice) -> dict[int, tuple[int, int]]:
    """Return for each need the last day on which a part for it comes, and the day it is due."""
    days: dict[int, tuple[int, int]] = {}
    for take in choice.takes:
        for need, _ in take.covers:
            last = max(take.deal.usable, days.get(need.need, (0, 0))[0])
            days[need.need] = (last, need.day)
    return days


def _served(choice: Choice) -> dict[int, int]:
    return {need: day for need, (day, _) in _days(choice).items()}


def _worth(choice: Choice) -> int:
    """Return goods, freight, filling up and lost deposits, in the shop's cents."""
    total = 0
    for seller, value in order_values(choice).items():
        freight, missing = seller.charge(value)
        total += seller.in_shop_money(value + freight + missing)
    quotes = [(take.deal.seller, take.deal.quote(take.units)) for take in by_deal(choice.takes)]
    return total + sum(seller.in_shop_money(quote.lost) for seller, quote in quotes)

"""The door: shortages in, buys and what to know about them out."""

from __future__ import annotations

from collections import defaultdict
from datetime import date
from typing import TYPE_CHECKING

from kitting.sourcing import answer, notes
from kitting.sourcing.demand import gather
from kitting.sourcing.lent import ask_once, lend_on
from kitting.sourcing.market import Market, read_market
from kitting.sourcing.simple import Choice, by_deal, choose_simply

if TYPE_CHECKING:
    from collections.abc import Mapping

    import pandas as pd

    from kitting.sourcing.demand import Needs
    from kitting.sourcing.sellers import Seller
    from kitting.tables.shop import Shop
    from kitting.terms.findings import Finding


def choose(
    shop: Shop, shortages: pd.DataFrame, offer_days: pd.DataFrame, day: date
) -> tuple[pd.DataFrame, pd.DataFrame, tuple[Finding, ...]]:
    """Choose for each short part the cheapest offer in time, else the fastest.

    Parameters
    ----------
    shortages
        Table ``shortages``; those of deferred stages are bought as well.
    offer_days
        Table ``offer_days``: when each offer ordered today could be used.
    day
        The day of the plan; offers that ended before it are not used.

    Returns
    -------
    tuple
        Tables ``buys`` and ``buy_needs``, and what a person should know. A part that the customer
        brings, or that nobody offers, has no buy and a finding.
    """
    asked, served = ask_once(shortages)
    demand = gather(asked)
    brought = _brought(shop, demand)
    bought = {part: needs for part, needs in demand.items() if part not in brought}
    today = (day - date(1970, 1, 1)).days
    market = read_market(shop, bought, offer_days, today)
    choice = without_small_orders(market, bought, choose_simply(market, bought))
    goods = order_values(choice)
    findings = [
        *notes.nobody_offers(shop, choice.unmet, market),
        *notes.ask_customer(shop, {part: demand[part] for part in brought}),
        *notes.below_least(goods),
        *notes.left_out(market, goods),
    ]
    buys, buy_needs = answer.frames(choice.takes)
    return buys, lend_on(buy_needs, served), tuple(findings)


def _brought(shop: Shop, demand: Mapping[str, Needs]) -> list[str]:
    """List the short parts that the customer brings."""
    parts = shop["parts"]
    brought = set(parts.loc[parts["customer_supplied"], "part"])
    return [part for part in demand if part in brought]


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
    """Return goods, freight and filling up, in the shop's cents."""
    total = 0
    for seller, value in order_values(choice).items():
        freight, missing = seller.charge(value)
        total += seller.in_shop_money(value + freight + missing)
    return total

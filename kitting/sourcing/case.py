"""A case to decide: what is short, what could be bought, and what the shop says of waiting."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from kitting.sourcing import notes
from kitting.sourcing.demand import gather
from kitting.sourcing.lent import ask_once
from kitting.sourcing.market import Market, read_market
from kitting.sourcing.policy import Policy, read_policy
from kitting.terms.findings import Finding
from kitting.terms.words import Level

if TYPE_CHECKING:
    from collections.abc import Mapping

    import pandas as pd

    from kitting.sourcing.demand import Needs
    from kitting.sourcing.sellers import Seller
    from kitting.tables.shop import Shop


@dataclass(frozen=True)
class Case:
    """Everything that the choice rests on.

    Parameters
    ----------
    demand
        Needs of each part that is to be bought.
    brought
        Needs of each part that the customer brings.
    served
        For lent parts, the shortages that the kept one stands for.
    """

    shop: Shop
    market: Market
    demand: Mapping[str, Needs]
    brought: Mapping[str, Needs]
    served: pd.DataFrame
    policy: Policy
    faults: tuple[str, ...]

    def findings(
        self, unmet: Mapping[str, Needs], goods: Mapping[Seller, int]
    ) -> tuple[Finding, ...]:
        """Say what a person should know about a choice.

        Parameters
        ----------
        unmet
            Needs of each part that nobody sells.
        goods
            Goods value of each order [cents of the seller].
        """
        return (
            *notes.nobody_offers(self.shop, unmet, self.market),
            *notes.ask_customer(self.shop, self.brought),
            *notes.below_least(goods),
            *notes.left_out(self.market, goods),
            *(Finding(Level.WARN, fault, "shop") for fault in self.faults),
        )


def read_case(shop: Shop, shortages: pd.DataFrame, offer_days: pd.DataFrame, day: date) -> Case:
    """Gather a case.

    Parameters
    ----------
    shortages
        Table ``shortages``; those of deferred stages are bought as well.
    offer_days
        Table ``offer_days``: when each offer ordered today could be used.
    day
        The day of the plan; offers that ended before it are not used.
    """
    asked, served = ask_once(shortages)
    demand = gather(asked)
    parts = shop["parts"]
    theirs = set(parts.loc[parts["customer_supplied"], "part"])
    bought = {part: needs for part, needs in demand.items() if part not in theirs}
    market = read_market(shop, bought, offer_days, (day - date(1970, 1, 1)).days)
    policy, faults = read_policy(shop)
    brought = {part: needs for part, needs in demand.items() if part in theirs}
    return Case(shop, market, bought, brought, served, policy, tuple(faults))

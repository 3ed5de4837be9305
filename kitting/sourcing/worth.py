"""What an answer costs, term by term; nothing is weighed that is not printed here."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from typing import TYPE_CHECKING

from kitting.sourcing.lateness import waits
from kitting.sourcing.market import FAR
from kitting.sourcing.simple import by_deal

if TYPE_CHECKING:
    from collections.abc import Iterable

    from kitting.sourcing.demand import Need, Take
    from kitting.sourcing.market import Market
    from kitting.sourcing.policy import Policy
    from kitting.sourcing.sellers import Seller

Stage = tuple[str, str, str]


@dataclass(frozen=True)
class OrderTerms:
    """One order: goods, freight, hazard charge and filling up, in cents of the seller."""

    seller: Seller
    goods: int
    freight: int
    hazard: int
    filling: int


@dataclass(frozen=True)
class Worth:
    """The terms of an answer's cost, in cents of the shop.

    Parameters
    ----------
    goods, freight, hazard
        Prices of the lines, freight and hazard charges of the orders.
    filling
        Goods beyond the need, to reach a least order or cheaper freight.
    waiting
        Cost of the stages that wait.
    parcels
        Cost of handling the orders.
    orders
        The terms of each order.
    days_late
        Working days that each stage waits, where it does.
    """

    goods: int
    freight: int
    hazard: int
    filling: int
    waiting: int
    parcels: int
    orders: tuple[OrderTerms, ...]
    days_late: dict[Stage, int]

    @property
    def money(self) -> int:
        """What is paid to suppliers."""
        return self.goods + self.freight + self.hazard + self.filling

    @property
    def total(self) -> int:
        """All terms together."""
        return self.money + self.waiting + self.parcels


def weigh(
    takes: Iterable[Take], market: Market, policy: Policy, keep: Iterable[Seller] = ()
) -> Worth:
    """Add up what some takes cost.

    Parameters
    ----------
    keep
        Sellers to whom an order goes in any case.
    """
    takes = tuple(takes)
    orders = _orders(takes, market, keep)
    late = stage_waits(takes)
    goods = sum(
        take.deal.seller.in_shop_money(take.deal.quote(take.units).cost) for take in by_deal(takes)
    )
    return Worth(
        goods=goods,
        freight=sum(o.seller.in_shop_money(o.freight) for o in orders),
        hazard=sum(o.seller.in_shop_money(o.hazard) for o in orders),
        filling=sum(o.seller.in_shop_money(o.filling) for o in orders),
        waiting=sum(days * policy.late_cost_of(build) for (build, _, _), days in late.items()),
        parcels=policy.parcel_cost * len(orders),
        orders=tuple(orders),
        days_late=late,
    )


def _orders(takes: tuple[Take, ...], market: Market, keep: Iterable[Seller]) -> list[OrderTerms]:
    """Return the terms of each order, by name."""
    values: dict[Seller, int] = defaultdict(int, dict.fromkeys(keep, 0))
    hazardous = set()
    for take in by_deal(takes):
        values[take.deal.seller] += take.deal.quote(take.units).cost
        if take.deal.part in market.hazardous:
            hazardous.add(take.deal.seller)
    found = []
    for seller, value in sorted(values.items(), key=lambda pair: pair[0].name):
        freight, missing = seller.charge(value)
        hazard = seller.hazard_charge if seller in hazardous else 0
        found.append(OrderTerms(seller, value, freight, hazard, missing))
    return found


def stage_waits(takes: Iterable[Take]) -> dict[Stage, int]:
    """Return the working days that each stage waits for the last of its parts, where it does."""
    late: dict[Stage, int] = {}
    for take in takes:
        for need, _ in take.covers:
            days = 0 if free(need) else waits(need.day, take.deal.usable)
            if days:
                stage = (need.build, need.assembly, need.stage)
                late[stage] = max(late.get(stage, 0), days)
    return late


def free(need: Need) -> bool:
    """Tell whether a need costs nothing when it is late: its stage is deferred or has no day."""
    return need.deferred or need.day >= FAR

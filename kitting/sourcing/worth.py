"""What an answer costs, term by term; nothing is weighed that is not printed here."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from kitting.sourcing.lateness import waits
from kitting.sourcing.market import FAR
from kitting.sourcing.simple import by_deal

if TYPE_CHECKING:
    from collections.abc import Iterable

    from kitting.sourcing.demand import Need, Take
    from kitting.sourcing.market import Deal, Market
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
    deposits, deposits_back
        Deposits on old parts that are paid, and what of them is expected back.
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
    deposits: int
    deposits_back: int
    waiting: int
    parcels: int
    orders: tuple[OrderTerms, ...]
    days_late: dict[Stage, int]

    @property
    def money(self) -> int:
        """What is paid to suppliers, less the deposits that are expected back."""
        goods = self.goods + self.freight + self.hazard + self.filling
        return goods + self.deposits - self.deposits_back

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
    lines = [(take.deal, take.deal.quote(take.units)) for take in by_deal(takes)]
    orders = _orders([(deal, quote.cost) for deal, quote in lines], market, keep)
    late = stage_waits(takes)
    goods = sum(deal.seller.in_shop_money(quote.cost) for deal, quote in lines)
    held = [(deal.seller, quote) for deal, quote in lines if quote.deposit]
    deposits = sum(seller.in_shop_money(quote.deposit) for seller, quote in held)
    return Worth(
        goods=goods,
        freight=sum(o.seller.in_shop_money(o.freight) for o in orders),
        hazard=sum(o.seller.in_shop_money(o.hazard) for o in orders),
        filling=sum(o.seller.in_shop_money(o.filling) for o in orders),
        deposits=deposits,
        deposits_back=deposits - sum(seller.in_shop_money(quote.lost) for seller, quote in held),
        waiting=sum(days * policy.late_cost_of(build) for (build, _, _), days in late.items()),
        parcels=policy.parcel_cost * len(orders),
        orders=tuple(orders),
        days_late=late,
    )


def _orders(
    lines: list[tuple[Deal, int]], market: Market, keep: Iterable[Seller]
) -> list[OrderTerms]:
    """Return the terms of each order, by name, from its lines and their cents."""
    sellers = {seller.name: seller for seller in keep}
    values = dict.fromkeys(sellers, 0)
    hazardous = set()
    for deal, cost in lines:
        name = deal.seller.name
        sellers[name] = deal.seller
        values[name] = values.get(name, 0) + cost
        if deal.part in market.hazardous:
            hazardous.add(name)
    found = []
    for name, value in sorted(values.items()):
        seller = sellers[name]
        freight, missing = seller.charge(value)
        hazard = seller.hazard_charge if name in hazardous else 0
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

"""How goods come to the door: the supplier's days, and on the road the carrier's.

From the day from which the supplier counts an order, the goods leave after those of the lead days
that are not the road's, by the supplier's calendar. On the next day that the carrier works (that
day itself when it does) they are taken along, and are at the door after the carrier's days, by the
carrier's calendar. Lead days that are fewer than the road's leave the road as long as it is.

Where the carrier's days are not said they are within the lead days: the last of these is then a day
that the supplier and the carrier both work, the first such from the day that the lead days end on.
Two that never work on one day deliver when the carrier works. Without a carrier the supplier's days
count alone, and a carrier without a calendar works when the supplier does.

The latest day to order goes the same steps back, each moved back instead of forward, so that an
order is in time when and only when it is sent by that day.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from kitting.timing.calendars import by_supplier, closing, own_closures
from kitting.timing.workdays import add_days

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    import pandas as pd
    from numpy.typing import ArrayLike, NDArray

    from kitting.tables.shop import Shop
    from kitting.terms.days import Calendar
    from kitting.timing.workdays import Days


@dataclass(frozen=True, slots=True)
class Road:
    """How the goods of a supplier come.

    Parameters
    ----------
    lead
        The supplier's calendar.
    road
        Days on which goods are on the road, and delivered.
    days
        Days on the road, of the lead days [working days of ``road``].
    """

    lead: Calendar
    road: Calendar
    days: int = 0

    @property
    def plain(self) -> bool:
        """Whether the supplier's days count alone."""
        return self.road is self.lead and not self.days

    def at_door(self, counts: ArrayLike, lead: ArrayLike) -> Days:
        """Return when goods are at the door; blank where the calendars do not reach.

        Parameters
        ----------
        counts
            Day from which the supplier counts each order.
        lead
            Days from there to the door, the road's among them [working days].
        """
        before = np.maximum(np.asarray(lead, dtype="int64") - self.days, 0)
        leaves = add_days(counts, before, self.lead, blank_outside=True)
        if self.plain:
            return leaves
        return add_days(leaves, self.days, self.road, blank_outside=True)

    def counts_by(self, at_door: ArrayLike, lead: ArrayLike) -> Days:
        """Return the latest day from which an order may count to be at the door by a day.

        Parameters
        ----------
        at_door
            Day by which goods are to be there.
        lead
            As for ``at_door``.
        """
        leaves = at_door
        if not self.plain:
            leaves = add_days(at_door, -self.days, self.road, back=True, blank_outside=True)
        before = np.maximum(np.asarray(lead, dtype="int64") - self.days, 0)
        return add_days(leaves, -before, self.lead, back=True, blank_outside=True)


class Roads:
    """The road of each supplier and carrier of a shop.

    Parameters
    ----------
    shop
        Reads ``suppliers``, ``carriers``, ``closures`` and ``offers``.
    calendars
        From ``calendars``.
    suppliers
        Suppliers that will be asked for.

    Raises
    ------
    UnknownName
        When one of them is not in ``suppliers``.
    """

    def __init__(
        self, shop: Shop, calendars: Mapping[str, Calendar], suppliers: pd.Series[str]
    ) -> None:
        self.whose = by_supplier(suppliers, shop, calendars)
        self._calendars = calendars
        carriers = shop["carriers"]
        rows = [] if carriers.empty else carriers.to_dict("records")
        self._carriers = {row["carrier"]: row for row in rows}
        self._closed = own_closures(shop) if self._carriers else {}
        self._made: dict[tuple[str, str], Road] = {}

    def of(self, supplier: str, carrier: str) -> Road:
        """Return how a supplier's goods come by a carrier; blank, or not known = by itself."""
        key = supplier, carrier
        if key not in self._made:
            self._made[key] = self._road(self.whose[supplier], carrier)
        return self._made[key]

    def _road(self, lead: Calendar, carrier: str) -> Road:
        row = self._carriers.get(carrier)
        if row is None:
            return Road(lead, lead)
        named = self._calendars[row["calendar"]] if row["calendar"] else lead
        road = closing(named, self._closed.get(carrier, set()))
        if isinstance(row["days"], int):
            return Road(lead, road, row["days"])
        return Road(lead, _both(lead, road))

    def groups(
        self, suppliers: pd.Series[str], carriers: Sequence[str]
    ) -> Iterator[tuple[str, Road, NDArray[np.int64]]]:
        """Yield each supplier with one of its roads, and the rows that come by it."""
        keys = suppliers
        if any(carriers):
            keys = suppliers + "\n" + np.array(carriers, dtype=object)
        for key, rows in suppliers.groupby(keys.to_numpy(), sort=False).indices.items():
            supplier, _, carrier = str(key).partition("\n")
            yield supplier, self.of(supplier, carrier), rows


def _both(one: Calendar, other: Calendar) -> Calendar:
    """Return the days that both work; the other's when there are none."""
    week = "".join("1" if a == b == "1" else "0" for a, b in zip(one.week, other.week, strict=True))
    if one == other or "1" not in week:
        return other
    first, last = max(one.first, other.first), min(one.last, other.last)
    both = replace(other, name=f"{one.name} and {other.name}", week=week, first=first, last=last)
    return closing(both, {*one.closed})


def carriers_of_offers(shop: Shop, offers: pd.DataFrame) -> list[str]:
    """Return who brings each offer: its own carrier, else the supplier's; blank = not said.

    Parameters
    ----------
    shop
        Reads ``suppliers`` and ``carriers``.
    offers
        Has ``supplier`` and ``carrier``.
    """
    if shop["carriers"].empty:
        return [""] * len(offers)
    suppliers = shop["suppliers"]
    usual = dict(zip(suppliers["supplier"], suppliers["carrier"], strict=True))
    pairs = zip(offers["supplier"].tolist(), offers["carrier"].tolist(), strict=True)
    return [carrier or usual.get(supplier, "") for supplier, carrier in pairs]


def carriers_of_buys(shop: Shop, buys: pd.DataFrame) -> list[str]:
    """Return who brings each buy, by its offer.

    Parameters
    ----------
    shop
        Reads ``offers``, ``suppliers`` and ``carriers``.
    buys
        Has ``offer``.
    """
    if shop["carriers"].empty:
        return [""] * len(buys)
    offers = shop["offers"]
    brings = dict(zip(offers["offer"].tolist(), carriers_of_offers(shop, offers), strict=True))
    return [brings.get(offer, "") for offer in buys["offer"].tolist()]


def carriers_of_orders(shop: Shop, orders: pd.DataFrame) -> list[str]:
    """Return who brings each order line; blank where the shop's offers do not tell.

    An order does not say who brings it. The offers of its supplier for its part under its
    supplier's number tell, else those for its part, when they all name the same carrier; a part
    that the supplier does not offer comes as the supplier's goods do.

    Parameters
    ----------
    shop
        Reads ``offers``, ``suppliers`` and ``carriers``.
    orders
        Has ``supplier``, ``part`` and, where it is known, ``supplier_part``.
    """
    if shop["carriers"].empty:
        return [""] * len(orders)
    offers = shop["offers"]
    by_number: dict[tuple[str, ...], set[str]] = {}
    columns = (offers[c].tolist() for c in ("supplier", "part", "supplier_part"))
    for (*key, number), carrier in zip(
        zip(*columns, strict=True), carriers_of_offers(shop, offers), strict=True
    ):
        by_number.setdefault((*key,), set()).add(carrier)
        by_number.setdefault((*key, number), set()).add(carrier)
    suppliers = shop["suppliers"]
    usual = dict(zip(suppliers["supplier"], suppliers["carrier"], strict=True))
    names = [orders[c].tolist() for c in ("supplier", "part")]
    known = "supplier_part" in orders
    numbers = orders["supplier_part"].tolist() if known else [""] * len(orders)
    found = []
    for supplier, part, number in zip(*names, numbers, strict=True):
        brings = by_number.get((supplier, part, number)) or by_number.get((supplier, part))
        brings = brings or {usual.get(supplier, "")}
        found.append(next(iter(brings)) if len(brings) == 1 else "")
    return found

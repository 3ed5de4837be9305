"""What is on the way and what would be ordered now, each as a chance over the shop's days.

The lines of an order that have one promise come together, and so do the buys from one supplier
that come on one day by one carrier; deliveries come independently of each other. An order that is
still awaited is known not to have come yet, which makes the days before today impossible.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np
import pandas as pd

from kitting.tables.outlook import DELIVERIES
from kitting.timing.calendars import SHOP, inspection_days
from kitting.timing.received import usual_days
from kitting.timing.roads import Roads, carriers_of_buys, carriers_of_orders
from kitting.timing.survival import CELLS, EARLIEST
from kitting.timing.workdays import add_days, as_days, count, outside, roll, works

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import date

    from numpy.typing import NDArray

    from kitting.tables.shop import Shop
    from kitting.terms.days import Calendar
    from kitting.timing.lead_times import LeadTimes
    from kitting.timing.roads import Road
    from kitting.timing.workdays import Days

    Real = NDArray[np.float64]
    Whole = NDArray[np.int64]

HORIZON = 320
"""Shop working days from today over which arrivals are followed."""
_NEVER = np.datetime64("NaT", "D")


NO_DAY = 1 << 20
"""Number of what has no day [shop working days]: all the time there is."""


@dataclass(frozen=True, slots=True)
class ShopDays:
    """The shop's working days, numbered from today or the next one that it works.

    Parameters
    ----------
    first
        The day that is number 0.
    calendar
        The shop's calendar.
    """

    first: np.datetime64
    calendar: Calendar

    def at(self, days: pd.Series[Any]) -> Whole:
        """Return the number of each day; 0 for those that have passed, ``NO_DAY`` for blank."""
        known = as_days(days.to_numpy())
        numbers = np.full(len(known), NO_DAY)
        there = ~np.isnat(known) & ~outside(known, self.calendar)
        later = np.maximum(known[there], self.first)
        numbers[there] = count(np.full(len(later), self.first), later, self.calendar)
        return numbers


NO_SOURCE = -1
"""Stands for the delivery of what nobody brings."""


@dataclass(frozen=True, eq=False)
class Away:
    """A job that is sent out and comes back as a delivery.

    Parameters
    ----------
    delivery
        Row of the delivery.
    build
        Whose it is.
    after
        Stages that it goes after, by assembly and stage.
    returns
        ``(t, day)``: chance that it can be used by each day when these are t days late.
    """

    delivery: int
    build: str
    after: tuple[tuple[str, str], ...]
    returns: Real


@dataclass(frozen=True, eq=False)
class Deliveries:
    """Deliveries with the chance that each can be used by each day.

    Parameters
    ----------
    table
        Table ``deliveries``.
    arrives
        ``(delivery, day)``: chance that it can be used by the end of each day of ``scale``.
    tomorrow
        The same when what is to be ordered is ordered on the shop's next working day instead.
    scale
        The shop's working days.
    of_line
        Delivery of each row of ``coming``.
    of_buy
        Delivery of each row of ``buys``.
    away
        Deliveries that are jobs.
    """

    table: pd.DataFrame
    arrives: Real
    tomorrow: Real
    scale: ShopDays
    of_line: Whole
    of_buy: Whole
    away: tuple[Away, ...] = ()


class _One(NamedTuple):
    """What comes together; ``counts`` = day from which a buy's lead days count."""

    order: str
    supplier: str
    carrier: str
    of_class: str
    expected: np.datetime64
    stated: int
    counts: np.datetime64 = _NEVER


def deliveries(
    shop: Shop,
    day: date,
    calendars: Mapping[str, Calendar],
    times: LeadTimes,
    coming: pd.DataFrame,
    buys: pd.DataFrame,
) -> Deliveries:
    """Return what is on the way and what would be ordered now.

    Parameters
    ----------
    shop
        Reads ``offers``, ``suppliers``, ``carriers`` and ``shop`` (setting ``goods_in_days``).
    day
        The day of the plan, on which the buys are ordered.
    calendars
        From ``calendars``.
    times
        From ``lead_times``.
    coming, buys
        The tables of those names, the second with the column ``counts`` of ``offer_days``. An
        order without a promise is expected after the days that its supplier's offers state.

    Raises
    ------
    UnknownName
        When a supplier is not in ``suppliers``.
    """
    roads = Roads(shop, calendars, pd.concat([coming["supplier"], buys["supplier"]]))
    on_way = _on_the_way(shop, roads, times, coming)
    to_buy = _to_buy(shop, times, buys)
    found: dict[_One, int] = {}
    places = [found.setdefault(one, len(found)) for one in (*on_way, *to_buy)]
    whole = np.array(places, dtype="int64")
    own = calendars[SHOP]
    first, then = add_days(np.datetime64(day, "D"), [0, 1], own)
    following = then if first == np.datetime64(day, "D") else first
    arrives, tomorrow = np.zeros((2, len(found), HORIZON))
    likely = np.full(len(found), _NEVER)
    goods_in = inspection_days(shop, pd.Series([one.supplier for one in found], dtype="str"))
    scales: dict[tuple[str, str, bool], _Scale] = {}
    for (one, at), days_in in zip(found.items(), goods_in.tolist(), strict=True):
        road = roads.of(one.supplier, one.carrier)
        key = one.supplier, one.carrier, bool(one.order)
        if key not in scales:
            scales[key] = _scale(day, road, own, days_in, promised=bool(one.order))
        scale = scales[key]
        share, sent = _by_their_day(one, day, road, times)
        arrives[at] = np.append(share, 0.0)[scale.usable]
        counts = int(count(np.datetime64(day, "D"), following, road.lead)[0])
        later = 0 if one.order else max(counts - sent, 0)
        moved = np.concatenate([np.zeros(later), share[: len(share) - later]])
        tomorrow[at] = np.append(moved, 0.0)[scale.usable]
        cell = int(np.searchsorted(share, times.confidence - 1e-9))
        likely[at] = scale.days[cell] if cell < len(scale.days) else _NEVER
    names = ["order", "supplier", "carrier", "class", "expected", "stated", "counts"]
    table = pd.DataFrame(list(found), columns=names)
    table = table.assign(
        build="", delivery=range(len(found)), likely=likely.astype("datetime64[s]")
    )
    return Deliveries(
        DELIVERIES.conform(table) if found else DELIVERIES.empty(),
        arrives,
        tomorrow,
        ShopDays(first, own),
        whole[: len(on_way)],
        whole[len(on_way) :],
    )


def _on_the_way(shop: Shop, roads: Roads, times: LeadTimes, coming: pd.DataFrame) -> list[_One]:
    """Return the delivery of each order line on the way."""
    if coming.empty:
        return []
    past = times.past
    sent = dict(
        zip(
            zip(past["order"].tolist(), past["line"].tolist(), strict=True),
            zip(past["stated"].tolist(), as_days(past["ordered"].to_numpy()), strict=True),
            strict=True,
        )
    )
    usual = usual_days(shop, coming)
    brings = carriers_of_orders(shop, coming)
    out = []
    columns = (coming[c].tolist() for c in ("order", "line", "supplier"))
    promises = as_days(coming["promised"].to_numpy())
    for row, (order, line, supplier) in enumerate(zip(*columns, strict=True)):
        stated, ordered = sent.get((order, line), (int(usual[row]), _NEVER))
        expected = promises[row]
        if np.isnat(expected):
            expected = roads.of(supplier, brings[row]).at_door([ordered], stated)[0]
        of_class = times.class_of(supplier, stated)
        out.append(_One(order, supplier, brings[row], of_class, expected, stated))
    return out


def _to_buy(shop: Shop, times: LeadTimes, buys: pd.DataFrame) -> list[_One]:
    """Return the delivery of each buy."""
    lead = dict(zip(shop["offers"]["offer"], shop["offers"]["lead_days"], strict=True))
    arrives, counts = (as_days(buys[c].to_numpy()) for c in ("arrives", "counts"))
    columns = (buys["supplier"].tolist(), buys["offer"].tolist(), carriers_of_buys(shop, buys))
    out = []
    for supplier, offer, carrier, *days in zip(*columns, arrives, counts, strict=True):
        stated = int(lead.get(offer, 0))
        of_class = times.class_of(supplier, stated)
        out.append(_One("", supplier, carrier, of_class, days[0], stated, days[1]))
    return out


class _Scale(NamedTuple):
    """A supplier's working days against the shop's.

    Parameters
    ----------
    days
        For each of the supplier's from today, on which lead days end, the day at the door.
    usable
        For each of the shop's, number of the last whose arrival can be used by then; -1 = none.
    """

    days: Days
    usable: Whole


def _scale(day: date, road: Road, own: Calendar, goods_in: int, *, promised: bool) -> _Scale:
    """Return it for lead days, the road's among them, or for promises, which are at the door."""
    today, length = np.datetime64(day, "D"), np.arange(3 * HORIZON // 2)
    if promised:
        days = add_days(today, length, road.lead, blank_outside=True)
        days = days if road.plain else roll(days, road.road, blank_outside=True)
    else:
        days = road.at_door(today, length)
    usable = add_days(days, goods_in, own, blank_outside=True)
    days = days[~np.isnat(usable)]
    at = count(today, usable[~np.isnat(usable)], own)
    return _Scale(days, np.searchsorted(at, np.arange(HORIZON), side="right") - 1)


def _by_their_day(one: _One, day: date, road: Road, times: LeadTimes) -> tuple[Real, int]:
    """Return the chance that its lead days end by each of the supplier's working days.

    Beside it, the number of the day from which the supplier counts the order.
    """
    length, calendar = 3 * HORIZON // 2, road.lead
    today = np.datetime64(day, "D")
    if np.isnat(one.expected) or outside(np.array([one.expected]), calendar)[0]:
        return np.zeros(length), 0
    overdue = bool(one.expected < today)
    if one.order:
        first, then = (one.expected, today) if overdue else (today, one.expected)
        base = int(count(first, then, calendar)[0]) * (-1 if overdue else 1)
        sent = base - one.stated
    else:
        sent = int(count(today, one.counts, calendar)[0])
        base = sent + one.stated
    late = np.arange(-1, length) - base - EARLIEST
    learned = times.share(one.supplier, one.of_class, one.carrier)
    share = np.where(late < 0, 0.0, learned[np.clip(late, 0, CELLS - 1)])
    if not one.order:
        share[: max(sent, 0) + road.days + 1] = 0.0
        return share[1:], sent
    not_yet = share[1] if overdue and works([today], calendar)[0] else share[0]
    if not_yet > 1.0 - 1e-9:
        return np.zeros(length), sent
    return np.clip((share[1:] - not_yet) / (1.0 - not_yet), 0.0, 1.0), sent

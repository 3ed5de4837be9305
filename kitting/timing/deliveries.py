"""What is on the way and what would be ordered now, each as a chance over the shop's days.

The lines of an order that have one promise come together, and so do the buys from one supplier
that come on one day; deliveries come independently of each other. An order that is still awaited
is known not to have come yet, which makes the days before today impossible.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np
import pandas as pd

from kitting.tables.outlook import DELIVERIES
from kitting.timing.calendars import SHOP, by_supplier, goods_in_days
from kitting.timing.received import usual_days
from kitting.timing.survival import CELLS, EARLIEST
from kitting.timing.workdays import add_days, as_days, count, outside, works

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import date

    from numpy.typing import NDArray

    from kitting.tables.shop import Shop
    from kitting.terms.days import Calendar
    from kitting.timing.lead_times import LeadTimes
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
    """

    table: pd.DataFrame
    arrives: Real
    tomorrow: Real
    scale: ShopDays
    of_line: Whole
    of_buy: Whole


class _One(NamedTuple):
    order: str
    supplier: str
    of_class: str
    expected: np.datetime64
    stated: int


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
        Reads ``orders``, ``offers``, ``suppliers`` and ``shop`` (setting ``goods_in_days``).
    day
        The day of the plan, on which the buys are ordered.
    calendars
        From ``calendars``.
    times
        From ``lead_times``.
    coming, buys
        The tables of those names. An order without a promise is expected after the days that its
        supplier's offers state.

    Raises
    ------
    UnknownName
        When a supplier is not in ``suppliers``.
    """
    on_way = _on_the_way(shop, calendars, times, coming)
    to_buy = _to_buy(shop, times, buys)
    found: dict[_One, int] = {}
    places = [found.setdefault(one, len(found)) for one in (*on_way, *to_buy)]
    whole = np.array(places, dtype="int64")
    own = calendars[SHOP]
    first, then = add_days(np.datetime64(day, "D"), [0, 1], own)
    following = then if first == np.datetime64(day, "D") else first
    arrives, tomorrow = np.zeros((2, len(found), HORIZON))
    likely = np.full(len(found), _NEVER)
    names = pd.Series([one.supplier for one in found], dtype="str")
    by_name: dict[str, list[_One]] = {}
    for one in found:
        by_name.setdefault(one.supplier, []).append(one)
    for name, calendar in by_supplier(names, shop, calendars).items():
        scale = _scale(day, calendar, own, goods_in_days(shop))
        counts = int(count(np.datetime64(day, "D"), following, calendar)[0])
        for one in by_name[name]:
            share, sent = _by_their_day(one, day, calendar, times)
            at = found[one]
            arrives[at] = np.append(share, 0.0)[scale.usable]
            later = 0 if one.order else max(counts - sent, 0)
            moved = np.concatenate([np.zeros(later), share[: len(share) - later]])
            tomorrow[at] = np.append(moved, 0.0)[scale.usable]
            cell = int(np.searchsorted(share, times.confidence - 1e-9))
            likely[at] = scale.days[cell] if cell < len(scale.days) else _NEVER
    table = pd.DataFrame(list(found), columns=["order", "supplier", "class", "expected", "stated"])
    table = table.assign(delivery=range(len(found)), likely=likely.astype("datetime64[s]"))
    return Deliveries(
        DELIVERIES.conform(table) if found else DELIVERIES.empty(),
        arrives,
        tomorrow,
        ShopDays(first, own),
        whole[: len(on_way)],
        whole[len(on_way) :],
    )


def _on_the_way(
    shop: Shop, calendars: Mapping[str, Calendar], times: LeadTimes, coming: pd.DataFrame
) -> list[_One]:
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
    whose = by_supplier(coming["supplier"], shop, calendars)
    out = []
    columns = (coming[c].tolist() for c in ("order", "line", "supplier"))
    promises = as_days(coming["promised"].to_numpy())
    for row, (order, line, supplier) in enumerate(zip(*columns, strict=True)):
        stated, ordered = sent.get((order, line), (int(usual[row]), _NEVER))
        expected = promises[row]
        if np.isnat(expected):
            expected = add_days([ordered], stated, whose[supplier], blank_outside=True)[0]
        out.append(_One(order, supplier, times.class_of(supplier, stated), expected, stated))
    return out


def _to_buy(shop: Shop, times: LeadTimes, buys: pd.DataFrame) -> list[_One]:
    """Return the delivery of each buy."""
    lead = dict(zip(shop["offers"]["offer"], shop["offers"]["lead_days"], strict=True))
    arrives = as_days(buys["arrives"].to_numpy())
    out = []
    for supplier, offer, expected in zip(
        buys["supplier"].tolist(), buys["offer"].tolist(), arrives, strict=True
    ):
        stated = int(lead.get(offer, 0))
        out.append(_One("", supplier, times.class_of(supplier, stated), expected, stated))
    return out


class _Scale(NamedTuple):
    """A supplier's working days against the shop's.

    Parameters
    ----------
    days
        The supplier's working days from today.
    usable
        For each of the shop's, number of the last whose arrival can be used by then; -1 = none.
    """

    days: Days
    usable: Whole


def _scale(day: date, theirs: Calendar, own: Calendar, goods_in: int) -> _Scale:
    today = np.datetime64(day, "D")
    days = add_days(today, np.arange(3 * HORIZON // 2), theirs, blank_outside=True)
    usable = add_days(days, goods_in, own, blank_outside=True)
    days = days[~np.isnat(usable)]
    at = count(today, usable[~np.isnat(usable)], own)
    return _Scale(days, np.searchsorted(at, np.arange(HORIZON), side="right") - 1)


def _by_their_day(one: _One, day: date, calendar: Calendar, times: LeadTimes) -> tuple[Real, int]:
    """Return the chance that it is at the door by each of the supplier's working days.

    Beside it, the number of the day from which the supplier counts the order.
    """
    length = 3 * HORIZON // 2
    today = np.datetime64(day, "D")
    if np.isnat(one.expected) or outside(np.array([one.expected]), calendar)[0]:
        return np.zeros(length), 0
    overdue = bool(one.expected < today)
    first, then = (one.expected, today) if overdue else (today, one.expected)
    base = int(count(first, then, calendar)[0]) * (-1 if overdue else 1)
    late = np.arange(-1, length) - base - EARLIEST
    learned = times.share(one.supplier, one.of_class)
    share = np.where(late < 0, 0.0, learned[np.clip(late, 0, CELLS - 1)])
    sent = base - one.stated
    if not one.order:
        share[: max(sent, 0) + 1] = 0.0
        return share[1:], sent
    not_yet = share[1] if overdue and works([today], calendar)[0] else share[0]
    if not_yet > 1.0 - 1e-9:
        return np.zeros(length), sent
    return np.clip((share[1:] - not_yet) / (1.0 - not_yet), 0.0, 1.0), sent

"""When orders on the way, and offers ordered now, can be used."""

from __future__ import annotations

from datetime import datetime, time
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

import numpy as np
import pandas as pd

from kitting.tables.flow import COMING, OFFER_DAYS
from kitting.terms.days import parse_clock
from kitting.timing.calendars import SHOP, inspection_days, taking_orders
from kitting.timing.received import usual_days
from kitting.timing.roads import Roads, carriers_of_offers, carriers_of_orders
from kitting.timing.workdays import add_days, as_days, roll, works

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import date

    from numpy.typing import NDArray

    from kitting.tables.shop import Shop
    from kitting.terms.days import Calendar
    from kitting.timing.workdays import Days


def outstanding(orders: pd.DataFrame, receipts: pd.DataFrame) -> NDArray[np.int64]:
    """Return what each order line still brings [base units], never below zero.

    A receipt with a line counts on that line, whatever part came. A receipt without one counts on
    the lines of its order that ask for its part, in line order. More than was ordered leaves zero.

    Parameters
    ----------
    orders, receipts
        Tables of the shop; lines called off are to be left out before.
    """
    with_line = receipts[receipts["line"].notna()]
    by_line = with_line.groupby(["order", "line"])["quantity"].sum()
    at_line = by_line.reindex(pd.MultiIndex.from_frame(orders[["order", "line"]]), fill_value=0)
    left = np.maximum(orders["quantity"].to_numpy() - at_line.to_numpy("int64"), 0)

    loose = receipts[receipts["line"].isna()].groupby(["order", "part"])["quantity"].sum()
    at_part = loose.reindex(pd.MultiIndex.from_frame(orders[["order", "part"]]), fill_value=0)
    queue = orders[["order", "part", "line"]].assign(left=left).sort_values("line", kind="stable")
    before = queue.groupby(["order", "part"])["left"].cumsum().reindex(orders.index) - left
    used = np.clip(at_part.to_numpy("int64") - before.to_numpy("int64"), 0, left)
    return np.asarray(left - used, dtype="int64")


def coming(shop: Shop, day: date, calendars: Mapping[str, Calendar]) -> pd.DataFrame:
    """Return the order lines that stand and are not all received, and when they can be used.

    Usable is the promised day moved to a shop working day, and goods-in after it, by the supplier.
    A promise for a day on which who brings it does not deliver counts from the next on which it
    does, one that has passed from the shop's next working day after ``day``. Without a
    promise the supplier's stated days are counted from the day of ordering, by its calendar and
    that of who brings it (``roads``), so that nothing is ordered twice. Where its offers state
    none, or a promise lies outside the calendar's span, the usable day is blank.

    Parameters
    ----------
    shop
        Reads ``orders``, ``receipts``, ``offers``, ``suppliers``, ``carriers`` and ``shop``
        (setting ``goods_in_days``).
    day
        The day of the plan.
    calendars
        From ``calendars``.

    Returns
    -------
    DataFrame
        Table ``coming``.

    Raises
    ------
    InputError
        When the setting ``goods_in_days`` is not a whole number.
    """
    orders = shop["orders"]
    orders = orders[orders["cancelled"].isna()].reset_index(drop=True)
    quantity = outstanding(orders, shop["receipts"])
    promised = as_days(orders["promised"].to_numpy())
    today = np.datetime64(day, "D")
    expected = np.where(np.isnat(promised), _by_stated_days(orders, shop, calendars), promised)
    arrives = np.where(expected < today, today + 1, expected)
    arrives = _delivered(arrives, orders, shop, calendars)
    usable = through_goods_in(arrives, orders["supplier"], shop, calendars)
    lines = orders.assign(quantity=quantity, usable=usable.astype("datetime64[s]"))
    return COMING.conform(lines[lines["quantity"] > 0])


def _delivered(
    days: Days, orders: pd.DataFrame, shop: Shop, calendars: Mapping[str, Calendar]
) -> Days:
    """Move days to those on which the carrier of each order line delivers, where it is known."""
    brings = carriers_of_orders(shop, orders)
    if not any(brings):
        return days
    found = days.copy()
    roads = Roads(shop, calendars, orders["supplier"])
    for _, road, rows in roads.groups(orders["supplier"], brings):
        if not road.plain:
            found[rows] = roll(days[rows], road.road, blank_outside=True)
    return found


def _by_stated_days(orders: pd.DataFrame, shop: Shop, calendars: Mapping[str, Calendar]) -> Days:
    """Return when lines without a promise are at the door by the stated days of the supplier."""
    found = np.full(len(orders), np.datetime64("NaT", "D"))
    selling = orders["supplier"].isin(shop["offers"]["supplier"])
    blank = orders[orders["promised"].isna() & orders["ordered"].notna() & selling]
    if blank.empty:
        return found
    days = usual_days(shop, blank)
    sent = as_days(blank["ordered"].to_numpy())
    roads = Roads(shop, calendars, blank["supplier"])
    places = orders.index.get_indexer(blank.index)
    for _, road, rows in roads.groups(blank["supplier"], carriers_of_orders(shop, blank)):
        found[places[rows]] = road.at_door(sent[rows], days[rows])
    return found


def through_goods_in(
    arrives: Days, suppliers: pd.Series[str], shop: Shop, calendars: Mapping[str, Calendar]
) -> Days:
    """Return the day on which what arrives can be used; blank where the calendar does not reach.

    A day on which the shop is closed is moved to its next working day, and the days in goods-in
    of the supplier, or of the shop where it has none, are counted from there.

    Raises
    ------
    InputError
        When the setting ``goods_in_days`` is not a whole number.
    """
    days = inspection_days(shop, suppliers)
    return add_days(arrives, days, calendars[SHOP], blank_outside=True)


def offer_days(
    shop: Shop, day: date, calendars: Mapping[str, Calendar], clock: int | None
) -> pd.DataFrame:
    """Return when each offer, ordered on ``day``, would arrive and could be used.

    The order counts from ``day`` when the supplier takes orders then and the cut-off has not struck
    where it is, else from the next day on which it takes orders. From there it comes by the
    calendars of the supplier and of who brings it (``roads``).

    Parameters
    ----------
    shop
        Reads ``offers``, ``suppliers``, ``carriers`` and ``shop`` (setting ``goods_in_days``).
    day
        The day of the plan.
    calendars
        From ``calendars``.
    clock
        Minutes after midnight at which orders go out; taken as the supplier's time too unless
        both time zones are given. An order at the cut-off is too late for that day. ``None`` =
        before every cut-off.

    Returns
    -------
    DataFrame
        Table ``offer_days``; days are blank where the lead time reaches beyond the calendars.

    Raises
    ------
    UnknownName
        When an offer's supplier is not in ``suppliers``.
    InputError
        When the setting ``goods_in_days`` is not a whole number.
    ValueError
        When a cut-off is not a time of day.
    """
    offers, suppliers = shop["offers"], shop["suppliers"]
    if offers.empty:
        return OFFER_DAYS.empty()
    roads = Roads(shop, calendars, offers["supplier"])
    takes = taking_orders(shop, roads.whose)
    cut_off = dict(zip(suppliers["supplier"], suppliers["cut_off"], strict=True))
    zones = dict(zip(suppliers["supplier"], suppliers["time_zone"], strict=True))
    here = shop.setting("time_zone")
    lead = offers["lead_days"].to_numpy()
    arrives = np.full(len(offers), np.datetime64("NaT", "D"))
    counted = arrives.copy()
    for name, road, rows in roads.groups(offers["supplier"], carriers_of_offers(shop, offers)):
        there = local_time(day, clock, here, zones[name])
        # Days are counted from a day that the supplier works; it takes orders on no other.
        counted[rows] = _counts_from(*there, cut_off[name], takes[name])
        arrives[rows] = road.at_door(counted[rows], lead[rows])
    usable = through_goods_in(arrives, offers["supplier"], shop, calendars)
    frame = pd.DataFrame(
        {
            "offer": offers["offer"],
            "counts": counted.astype("datetime64[s]"),
            "arrives": np.where(np.isnat(usable), usable, arrives).astype("datetime64[s]"),
            "usable": usable.astype("datetime64[s]"),
        }
    )
    return OFFER_DAYS.conform(frame)


def local_time(day: date, clock: int | None, here: str, there: str) -> tuple[date, int | None]:
    """Return the day and the minutes after midnight that it is at another place.

    Parameters
    ----------
    here, there
        Time zones, such as ``Europe/London``; when either is blank both clocks agree.
    """
    if clock is None or not here or not there or here == there:
        return day, clock
    now = datetime.combine(day, time(clock // 60, clock % 60), ZoneInfo(here))
    then = now.astimezone(ZoneInfo(there))
    return then.date(), then.hour * 60 + then.minute


def _counts_from(day: date, clock: int | None, cut_off: str, calendar: Calendar) -> Days:
    """Return the day from which the supplier, by its calendar of orders, counts one sent then."""
    sent = np.array([day], dtype="datetime64[D]")
    if clock is not None and cut_off.strip() and works(sent, calendar)[0]:
        sent = sent + int(clock >= parse_clock(cut_off))
    return roll(sent, calendar)

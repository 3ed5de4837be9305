"""When orders on the way, and offers ordered now, can be used."""

from __future__ import annotations

from datetime import date

import pandas as pd
import pytest

from kitting.errors import UnknownName
from kitting.tables.flow import COMING, OFFER_DAYS
from kitting.timing import calendars, coming, offer_days

DAY = date(2026, 3, 9)  # a Monday


def order(line, quantity, promised="2026-03-11", **more):
    return {
        "order": "K1",
        "line": line,
        "part": "ring",
        "supplier": "Near",
        "quantity": quantity,
        "promised": promised,
        **more,
    }


def receipt(quantity, line=pd.NA, number="R1", **more):
    return {
        "receipt": number,
        "order": "K1",
        "line": line,
        "part": "ring",
        "quantity": quantity,
        "received": "2026-03-06",
        **more,
    }


@pytest.fixture
def coming_of(shop_of):
    """Return a function: orders and receipts to what is coming, contract checked."""

    def make(orders, receipts=(), settings=None):
        shop = shop_of(settings, orders=orders, receipts=list(receipts))
        return COMING.check(coming(shop, DAY, calendars(shop, DAY)))

    return make


def left(frame):
    """Outstanding quantity by line."""
    return dict(zip(frame["line"], frame["quantity"], strict=True))


@pytest.mark.parametrize(
    ("receipts", "expected"),
    [
        ([], {1: 4, 2: 6}),
        ([receipt(3, 2)], {1: 4, 2: 3}),
        ([receipt(3, 2), receipt(2, 2, "R2")], {1: 4, 2: 1}),
        ([receipt(3)], {1: 1, 2: 6}),  # by part: the first line first
        ([receipt(5)], {2: 5}),
        ([receipt(5), receipt(3, 1, "R2")], {2: 2}),  # the line's own receipt counts before
        ([receipt(9, 2)], {1: 4}),  # more than was ordered on a line does not spill over
        ([receipt(99)], {}),
        ([receipt(3, order="K2")], {1: 4, 2: 6}),
        ([receipt(3, part="pin")], {1: 4, 2: 6}),
        ([receipt(3, 1, part="pin")], {1: 1, 2: 6}),  # another part came for the line
    ],
)
def test_receipts_are_taken_off(coming_of, receipts, expected):
    """By line where a line is given, else by order and part in line order."""
    assert left(coming_of([order(1, 4), order(2, 6)], receipts)) == expected


def test_line_order_does_not_depend_on_row_order(coming_of):
    assert left(coming_of([order(2, 6), order(1, 4)], [receipt(5)])) == {2: 5}


def test_lines_called_off_are_not_coming(coming_of):
    frame = coming_of([order(1, 4, cancelled="2026-03-01"), order(2, 6)], [receipt(1)])
    assert left(frame) == {2: 5}


@pytest.mark.parametrize(
    ("promised", "usable"),
    [
        ("2026-03-09", "2026-03-10"),
        ("2026-03-13", "2026-03-16"),  # Friday: goods-in is Monday
        ("2026-03-14", "2026-03-17"),  # Saturday: taken in on Monday, used on Tuesday
        ("2026-03-06", "2026-03-11"),  # passed: Tuesday at the earliest
        ("2019-03-06", "2026-03-11"),
        (None, None),
        ("2206-03-09", None),
    ],
)
def test_usable_is_the_promise_through_goods_in(coming_of, promised, usable):
    frame = coming_of([order(1, 4, promised)])
    assert frame["usable"].tolist() == [pd.Timestamp(usable)]


def test_a_shop_without_goods_in_uses_parts_on_arrival(coming_of):
    frame = coming_of([order(1, 4, "2026-03-11")], settings={"goods_in_days": "0"})
    assert frame["usable"].tolist() == [pd.Timestamp("2026-03-11")]


@pytest.mark.parametrize(
    ("ordered", "usable"),
    [
        ("2026-03-09", "2026-03-13"),  # three working days, one of goods-in
        ("2026-03-05", "2026-03-11"),
        ("2026-02-09", "2026-03-11"),  # overdue: the next working day, and goods-in
        (None, None),
    ],
)
def test_without_a_promise_the_stated_days_count(shop_of, ordered, usable):
    """It covers what it will cover, so that nobody orders it twice."""
    shop = shop_of(
        suppliers=[{"supplier": "Near", "calendar": "every weekday"}],
        offers=[{"offer": 1, "supplier": "Near", "part": "ring", "lead_days": 3}],
        orders=[order(1, 4, None, ordered=ordered)],
    )
    frame = coming(shop, DAY, calendars(shop, DAY))
    assert frame["usable"].tolist() == [pd.NaT if usable is None else pd.Timestamp(usable)]
    assert frame["promised"].isna().all()


@pytest.fixture
def offered(shop_of):
    """Return a function: supplier cells, lead days and clock to arrival and usable day."""

    def make(lead, clock=None, day=DAY, closures=(), here="", **supplier):
        shop = shop_of(
            {"calendar": "GB-ENG", "time_zone": here},
            suppliers=[{"supplier": "Near", **supplier}],
            offers=[{"offer": 7, "supplier": "Near", "lead_days": lead}],
            closures=list(closures),
        )
        frame = OFFER_DAYS.check(offer_days(shop, day, calendars(shop, day), clock))
        assert frame["offer"].tolist() == [7]
        return tuple(f"{d:%m-%d}" for d in (frame["arrives"][0], frame["usable"][0]))

    return make


def test_lead_days_are_the_suppliers_and_goods_in_is_the_shops(offered):
    """Good Friday and Easter Monday close the English shop but not a supplier of weekdays."""
    before_easter = date(2026, 4, 1)
    assert offered(2, day=before_easter) == ("04-03", "04-08")
    assert offered(2, day=before_easter, calendar="GB-ENG") == ("04-07", "04-08")
    assert offered(3, day=before_easter, calendar="every day") == ("04-04", "04-08")


def test_an_order_on_a_closed_day_counts_from_the_next(offered):
    assert offered(1, day=date(2026, 3, 7)) == ("03-10", "03-11")
    assert offered(0, day=date(2026, 3, 7)) == ("03-09", "03-10")


@pytest.mark.parametrize(
    ("clock", "arrives"), [(None, "03-10"), (929, "03-10"), (930, "03-11"), (1439, "03-11")]
)
def test_after_the_cut_off_an_order_counts_from_the_next_day(offered, clock, arrives):
    """At 15:30 sharp it is too late."""
    assert offered(1, clock, cut_off="15:30")[0] == arrives


def test_the_cut_off_of_a_closed_day_does_not_count(offered):
    """Late on Saturday is still Monday, and so is late on Friday."""
    assert offered(1, 1200, date(2026, 3, 7), cut_off="12:00")[0] == "03-10"
    assert offered(1, 1200, date(2026, 3, 6), cut_off="12:00")[0] == "03-10"
    assert offered(1, 1200, date(2026, 3, 6))[0] == "03-09"


@pytest.mark.parametrize(
    ("day", "clock", "arrives"),
    [
        (9, None, "03-13"),  # Monday: counts from Tuesday
        (10, 929, "03-13"),
        (10, 930, "03-17"),  # too late on Tuesday: counts from Thursday
        (13, None, "03-20"),  # Friday: counts from next Tuesday
    ],
)
def test_orders_are_taken_on_some_days_of_the_week(offered, day, clock, arrives):
    """Tuesdays and Thursdays; three working days from there."""
    when = date(2026, 3, day)
    assert offered(3, clock, when, cut_off="15:30", order_days="Tue; Thu")[0] == arrives


@pytest.mark.parametrize(
    ("zone", "clock", "arrives"),
    [
        ("Europe/Athens", 13 * 60 + 29, "03-10"),
        ("Europe/Athens", 13 * 60 + 30, "03-11"),  # 15:30 in Athens
        ("America/New_York", 19 * 60 + 29, "03-10"),  # 15:29 there: summer time began on the 8th
        ("America/New_York", 19 * 60 + 30, "03-11"),
        ("Asia/Tokyo", 15 * 60, "03-11"),  # already Tuesday there
        ("", 13 * 60 + 30, "03-10"),
    ],
)
def test_the_cut_off_goes_by_the_clock_of_the_supplier(offered, zone, clock, arrives):
    """Seen from London on Monday 9 March 2026; zones from the IANA database."""
    found = offered(1, clock, here="Europe/London", cut_off="15:30", time_zone=zone)
    assert found[0] == arrives


def test_the_suppliers_own_holiday_counts(offered):
    shut = [{"calendar": "Near", "day": f"2026-03-{d}"} for d in (10, 11, 12, 13)]
    assert offered(1, closures=shut)[0] == "03-16"


def test_lead_days_beyond_the_calendars_leave_the_days_blank(shop_of):
    shop = shop_of(
        suppliers=[{"supplier": "Near"}],
        offers=[{"offer": n, "supplier": "Near", "lead_days": d} for n, d in ((1, 9999), (2, 1))],
    )
    frame = offer_days(shop, DAY, calendars(shop, DAY), None)
    assert frame["usable"].isna().tolist() == [True, False]
    assert frame["arrives"].isna().tolist() == [True, False]


def test_offers_of_nobody_are_refused(shop_of):
    shop = shop_of(offers=[{"offer": 1, "supplier": "Nobody"}])
    with pytest.raises(UnknownName, match='supplier "Nobody"'):
        offer_days(shop, DAY, calendars(shop, DAY), None)


def test_nothing_ordered_and_nothing_offered_give_empty_tables(shop_of):
    shop = shop_of()
    made = calendars(shop, DAY)
    assert COMING.check(coming(shop, DAY, made)).empty
    assert OFFER_DAYS.check(offer_days(shop, DAY, made, None)).empty

"""What came of past orders: days, parts, what is still open, and nothing from the future."""

from __future__ import annotations

from datetime import date

import pandas as pd
import pytest

from kitting.errors import UnknownName
from kitting.tables.outlook import DELIVERED
from kitting.timing import calendars
from kitting.timing.received import delivered

DAY = date(2026, 3, 9)  # a Monday


def order(line=1, quantity=4, ordered="2026-02-23", promised="2026-02-26", **more):
    return {
        "order": "K1", "line": line, "part": "ring", "supplier": "Near", "quantity": quantity,
        "ordered": ordered, "promised": promised, **more,
    }  # fmt: skip


def receipt(quantity, received, line=pd.NA, number="R1", **more):
    return {
        "receipt": number, "order": "K1", "line": line, "part": "ring", "quantity": quantity,
        "received": received, **more,
    }  # fmt: skip


@pytest.fixture
def told(shop_of):
    """Return a function: orders and receipts to what is told of each line."""

    def make(orders, receipts=(), day=DAY, **tables):
        suppliers = tables.pop("suppliers", [{"supplier": "Near"}])
        shop = shop_of(orders=orders, receipts=list(receipts), suppliers=suppliers, **tables)
        found = DELIVERED.check(delivered(shop, day, calendars(shop, day)))
        return found.set_index("line").to_dict("index")

    return make


def test_a_line_takes_until_all_of_it_came(told):
    """Three on Thursday, the last on Monday: three days to the first piece, five to all."""
    came = told([order()], [receipt(3, "2026-02-26", 1), receipt(1, "2026-03-02", 1, "R2")])[1]
    assert (came["first_days"], came["days"], came["came"]) == (3, 5, True)
    assert (came["stated"], came["last_stated"], came["requested_days"]) == (3, 3, -1)


def test_a_line_that_is_open_has_been_awaited_so_far(told):
    """Nothing, or too little, came: the days until today, and not come."""
    lines = told([order(1), order(2)], [receipt(1, "2026-02-26", 1)])
    assert (lines[1]["first_days"], lines[1]["days"], lines[1]["came"]) == (3, 10, False)
    assert (lines[2]["first_days"], lines[2]["days"], lines[2]["came"]) == (10, 10, False)


def test_a_line_called_off_is_awaited_until_then(told):
    """Called off on Wednesday: seven days, not come; called off later than today: open."""
    lines = told([order(1, cancelled="2026-03-04"), order(2, cancelled="2026-03-20")])
    assert (lines[1]["days"], lines[1]["came"]) == (7, False)
    assert (lines[2]["days"], lines[2]["came"]) == (10, False)


def test_nothing_from_the_future_counts(told):
    """As of an earlier day, later receipts and orders are not known."""
    orders = [order(1), order(2, ordered="2026-03-05")]
    receipts = [receipt(4, "2026-03-02", 1)]
    before = told(orders, receipts, day=date(2026, 2, 27))
    assert list(before) == [1]
    assert (before[1]["days"], before[1]["came"]) == (4, False)
    # Adding what comes later changes nothing.
    later = [*receipts, receipt(4, "2026-03-03", 2, "R2")]
    assert told(orders, later, day=date(2026, 2, 27)) == before


def test_receipts_without_a_line_fill_lines_in_order(told):
    """Five of a part for lines of four and two: the first is whole, the second half."""
    lines = told(
        [order(2, 2), order(1, 4)],
        [receipt(5, "2026-02-27"), receipt(1, "2026-03-03", number="R2")],
    )
    assert (lines[1]["days"], lines[1]["came"]) == (4, True)
    assert (lines[2]["first_days"], lines[2]["days"], lines[2]["came"]) == (4, 6, True)
    over = told([order(1, 4)], [receipt(9, "2026-02-27")])
    assert over[1]["came"]


def test_first_last_and_requested_days_are_kept_apart(told):
    """A promise that was moved does not hide that the first one was missed."""
    row = order(promised="2026-03-04", first_promised="2026-02-26", requested="2026-02-25")
    came = told([row], [receipt(4, "2026-03-04", 1)])[1]
    assert (came["stated"], came["last_stated"], came["requested_days"], came["days"]) == (
        3, 7, 2, 7,
    )  # fmt: skip


def test_days_are_the_suppliers_working_days(told):
    """Closed on two weekdays, the supplier took two days fewer."""
    lines = told(
        [order()],
        [receipt(4, "2026-03-02", 1)],
        closures=[{"calendar": "Near", "day": d} for d in ("2026-02-24", "2026-02-25")],
    )
    assert lines[1]["days"] == 3


def test_without_a_promise_the_offers_days_stand_for_it(told):
    """The part's own offer, else the middle of what the supplier offers, else none."""
    offers = [
        {"offer": n, "supplier": "Near", "part": part, "lead_days": days}
        for n, (part, days) in enumerate([("ring", 9), ("ring", 6), ("nut", 2), ("bolt", 2)])
    ]
    lines = told([order(1, promised=pd.NaT), order(2, promised=pd.NaT, part="pin")], offers=offers)
    assert (lines[1]["stated"], lines[2]["stated"]) == (6, 4)
    assert told([order(1, promised=pd.NaT)])[1]["stated"] == 0


def test_what_came_wrong_is_told_when_it_is_noted(told):
    """A word in the receipt's note; without one nothing is said."""
    receipts = [
        receipt(4, "2026-02-26", 1, note="two Damaged in transit"),
        {**receipt(1, "2026-02-26", 2, "R2"), "part": "nut", "note": "unbroken, as ordered"},
    ]
    lines = told([order(1), order(2, 1, part="nut")], receipts)
    assert (lines[1]["unusable"], lines[2]["unusable"]) == (True, False)


def test_lines_without_a_day_or_beyond_the_calendars_are_left_out(told):
    """No day of ordering, or one of thirty years ago: nothing is learned from it."""
    assert told([order(1, ordered=pd.NaT), order(2, ordered="1996-02-23")]) == {}
    assert told([]) == {}


def test_an_unknown_supplier_is_named(told):
    """The nearest names are offered."""
    with pytest.raises(UnknownName, match="Near"):
        told([order(supplier="Nera")])


def test_a_receipt_before_its_order_counts_as_the_same_day(told):
    """A wrong day does not make a lead time below zero; another finding tells it."""
    assert told([order()], [receipt(4, "2026-02-20", 1)])[1]["days"] == 0


def claim(number, line, what, event="opened", day="2026-02-26"):
    return {
        "claim": number, "day": day, "event": event, "what": what, "order": "K1", "line": line,
        "part": "another", "quantity": 1,
    }  # fmt: skip


def test_goods_that_were_claimed_were_of_no_use(told):
    """Wrong and damaged ones, never too few, old parts, or what was kept or is claimed later."""
    claims = [
        claim("1", 1, "damaged"), claim("1", 1, "damaged", "sent back"), claim("2", 2, "wrong"),
        claim("3", 3, "short"), claim("4", 4, "core"), claim("5", 5, "damaged"),
        claim("5", 5, "damaged", "kept"), claim("6", 6, "damaged", day="2026-03-10"),
        claim("7", 7, "wrong"), claim("7", 7, "wrong", "withdrawn"),
    ]  # fmt: skip
    lines = told([order(n) for n in range(1, 8)], claims=claims)
    assert [lines[n]["unusable"] for n in range(1, 8)] == [True, True] + [False] * 5

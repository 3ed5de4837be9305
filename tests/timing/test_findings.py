"""What a coordinator is told about days."""

from __future__ import annotations

from datetime import date

import pandas as pd
import pytest

from kitting.terms.words import Level
from kitting.timing import calendars, coming, findings

DAY = date(2026, 3, 9)


@pytest.fixture
def told(shop_of):
    """Return a function: tables to the findings as ``(level, text)``."""

    def make(settings=None, **tables):
        shop = shop_of(settings, **tables)
        found = findings(shop, coming(shop, DAY, calendars(shop, DAY)), DAY)
        return [(f.level, str(f)) for f in found]

    return make


def order(**more):
    return {
        "order": "K1",
        "line": 2,
        "part": "ring",
        "supplier": "Near",
        "quantity": 4,
        "ordered": "2026-03-02",
        **more,
    }


def one(found, level, *pieces):
    """There is exactly one finding, of that level, and it says all of that."""
    assert [f[0] for f in found] == [level]
    for piece in pieces:
        assert piece in found[0][1]


def test_a_quiet_shop_has_nothing_to_say(told):
    assert told() == []
    assert (
        told(
            orders=[order(promised="2026-03-09")],
            builds=[{"build": "B1", "start": "2026-03-09"}],
            receipts=[{"receipt": "R1", "order": "K1", "line": 2, "part": "ring", "quantity": 1}],
        )
        == []
    )


@pytest.mark.parametrize(
    ("due", "events", "said"),
    [
        ("2026-03-16", ["opened"], "must be back at Near on 2026-03-16, in 7 days"),
        ("2026-03-10", ["opened"], "in 1 day; send it"),
        ("2026-03-09", ["opened"], "2026-03-09, today; send it for the deposit"),
        ("2026-03-08", ["opened"], "1 day ago"),
        ("2026-03-17", ["opened"], None),  # more than a week is left
        (None, ["opened"], None),  # nobody said until when
        ("2026-03-08", ["opened", "sent back"], None),
        ("2026-03-08", ["opened", "settled"], None),
    ],
)
def test_an_old_part_that_must_be_back_is_told_a_week_before(told, due, events, said):
    """For its deposit, until it was sent back; with the command that notes that."""
    claim = {"claim": "C1", "what": "core", "order": "K1", "line": 2, "part": "ring", "due": due}
    orders = [order(promised="2026-03-20")]
    found = told(orders=orders, claims=[{**claim, "event": event} for event in events])
    if said is None:
        assert found == []
    else:
        one(found, Level.WARN, "the old ring", said, 'kitting claim C1 "sent back"')
    assert told(orders=orders, claims=[{**claim, "event": "opened", "what": "damaged"}]) == []


def test_a_promise_that_passed_is_to_be_chased(told):
    found = told(orders=[order(promised="2026-03-06", build="B7")])
    one(found, Level.WARN, "orders, promised: ring from Near for build B7 was promised 2026-03-06")
    one(found, Level.WARN, "3 days ago; chase it: it is counted from 2026-03-11")


def test_a_promise_that_passed_is_not_chased_once_all_came(told):
    receipts = [{"receipt": "R1", "order": "K1", "line": 2, "part": "ring", "quantity": 4}]
    assert told(orders=[order(promised="2026-03-06")], receipts=receipts) == []


def test_an_order_without_a_promise_covers_nothing_in_time(told):
    one(told(orders=[order()]), Level.WARN, "no promised day", "ask for one")


def test_a_promise_in_another_century_is_a_typing_error(told):
    one(told(orders=[order(promised="2206-03-06")]), Level.WARN, "2206-03-06, beyond the years")


@pytest.mark.parametrize(
    ("build", "level", "text"),
    [
        ({}, Level.WARN, "has no start"),
        ({"start": "2026-03-06"}, Level.NOTE, "started 2026-03-06 and is not finished"),
        ({"start": "1926-03-06"}, Level.STOP, "outside the years that are planned (2022 to 2029)"),
        ({"start": "2026-03-06", "finished": "2026-03-05"}, Level.WARN, "before its start"),
        ({"start": "2026-03-06", "finished": "2026-03-10"}, Level.WARN, "in the future"),
    ],
)
def test_builds_with_odd_days(told, build, level, text):
    one(told(builds=[{"build": "B1", **build}]), level, "build B1", text)


def test_finished_builds_are_left_alone(told):
    assert told(builds=[{"build": "B1", "finished": "2026-03-05"}]) == []


def test_receipts_that_answer_no_line(told):
    """Another part without a line, and a line that the order does not have."""
    orders = [order(promised="2026-03-12")]
    for wrong in ({"part": "pin"}, {"part": "ring", "line": 9}):
        receipts = [{"receipt": "R1", "order": "K1", "line": pd.NA, "quantity": 1, **wrong}]
        one(told(orders=orders, receipts=receipts), Level.WARN, "answers no line of order K1")
    assert told(receipts=[{"receipt": "R1", "part": "pin", "quantity": 1}]) == []


def test_more_than_was_ordered_and_before_it_was(told):
    receipt = {"receipt": "R1", "order": "K1", "line": 2, "part": "ring", "quantity": 5}
    orders = [order(promised="2026-03-12")]
    one(told(orders=orders, receipts=[receipt]), Level.NOTE, "1 more ring came than order K1")
    early = {**receipt, "quantity": 1, "received": "2026-03-01"}
    one(told(orders=orders, receipts=[early]), Level.WARN, "came 2026-03-01, before order K1")


def test_lead_days_that_cannot_be(told):
    offers = [{"offer": 1, "supplier": "Near", "part": "ring", "lead_days": 999}]
    found = told(suppliers=[{"supplier": "Near"}], offers=offers)
    one(found, Level.WARN, "999 working days for ring", "check the number")


def test_closing_days_for_nobody(told):
    found = told(
        suppliers=[{"supplier": "Harbour", "calendar": "GB-ENG"}],
        closures=[
            {"calendar": name, "day": "2026-03-10"}
            for name in ("shop", "Harbour", "GB-ENG", "every weekday", "Harbor")
        ],
    )
    one(found, Level.WARN, 'nobody goes by calendar "Harbor"', "nearest: Harbour")

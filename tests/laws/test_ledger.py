"""What must be true of any shop's memory, whatever is done in whatever order."""

from __future__ import annotations

import functools
import math
import sqlite3
from datetime import date, datetime, timedelta

import pandas as pd
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from pandas.testing import assert_frame_equal

from kitting import records
from kitting.records import Arrival, ledger, places
from kitting.records.hands import FileHand
from kitting.tables.shop import BY_NAME

DAY = date(2026, 3, 9)
QUIET = settings(deadline=None, max_examples=15, suppress_health_check=[HealthCheck.too_slow])


@functools.cache
def empty_database():
    """Return the bytes of a shop without rows."""
    with records.open_shop(":memory:", create=True) as made:
        return made._hand._connection.serialize()


def fresh():
    """Return a new shop in memory, open."""
    connection = sqlite3.connect(":memory:", isolation_level=None)
    connection.deserialize(empty_database())
    return records.Records(":memory:", FileHand(connection))


# Text that databases and sheets have trouble with.
ODD = [
    *("", " ", "0012", "1E5", "3-4", "NULL", "NaN", "None", "'", '"', "'; DROP TABLE moves; --"),
    *(
        "a\nb",
        "\t",
        "\r\n",
        "größe",
        "油",
        "e\u0301",
        "\u200b",
        "\ufeff",
        "\U0001f527",
        "%s :part ?",
    ),
    *("outside count", "kit", "2026-03-09", "=1+1", "\x7f", "\x01", "i\u0307"),
]
TEXT = st.sampled_from(ODD) | st.text(
    st.characters(exclude_categories=["Cs"], exclude_characters="\0"), max_size=8
)
STAMPS = st.none() | st.datetimes(datetime(1, 1, 1), datetime(9999, 12, 31)).map(
    lambda d: d.replace(hour=0, minute=0, second=0, microsecond=0)
)
WHOLE = st.integers(-(2**63), 2**63 - 1) | st.integers(-3, 3)
CELLS = {
    "text": TEXT,
    "whole": WHOLE,
    "whole or blank": st.none() | WHOLE,
    "real": st.floats(allow_nan=True),
    "yes or no": st.booleans(),
    "day": STAMPS,
}


def build(table, rows):
    """Return rows as a frame with exactly the contract's dtypes."""
    columns = zip(*rows, strict=True) if rows else [[] for _ in table.columns]
    made = {}
    for column, values in zip(table.columns, columns, strict=True):
        cells = (
            ["NaT" if v is None else v.isoformat() for v in values]
            if (column.kind == "day")
            else list(values)
        )
        made[column.name] = (
            pd.Series(pd.array(cells, dtype="datetime64[s]"))
            if column.kind == "day"
            else pd.Series(cells, dtype=column.dtype)
        )
    return table.check(pd.DataFrame(made))


def frames_of(table):
    """Return a strategy for frames that follow a contract."""
    at = [table.names.index(k) for k in table.key]
    row = st.tuples(*(CELLS[c.kind] for c in table.columns))
    return st.lists(row, max_size=5, unique_by=lambda r: tuple(r[i] for i in at)).map(
        lambda rows: build(table, rows)
    )


def plain(table, frame):
    """Return a frame's rows with every kind of blank as one."""
    rows = frame[table.names].astype(object).itertuples(index=False, name=None)
    return [tuple(None if pd.isna(v) else v for v in row) for row in rows]


MASTER = [t for t in BY_NAME.values() if t.writer == "reading"]


@pytest.mark.parametrize("table", MASTER, ids=lambda t: t.name)
@QUIET
@given(data=st.data())
def test_a_sheet_comes_back_as_it_was(table, data):
    """Dtype by dtype, value by value, in its order; a second reading changes nothing."""
    with fresh() as shop:
        for frame in data.draw(st.lists(frames_of(table), min_size=1, max_size=2)):
            told = records.changes(shop, {table.name: frame})
            assert_frame_equal(told, records.apply(shop, {table.name: frame}, DAY))
            held = records.snapshot(shop).check()[table.name]
            assert_frame_equal(held, frame, check_exact=True)
            assert records.changes(shop, {table.name: frame}).empty


@pytest.mark.parametrize("name", ["orders", "receipts"])
@QUIET
@given(data=st.data())
def test_facts_with_a_key_are_kept_from_the_first(name, data):
    """Of all rows ever read with one key, the first stays, and nothing else is there."""
    table = BY_NAME[name]
    first: dict[tuple[object, ...], tuple[object, ...]] = {}
    with fresh() as shop:
        for frame in data.draw(st.lists(frames_of(table), min_size=1, max_size=3)):
            records.apply(shop, {name: frame}, DAY)
            for row in plain(table, frame):
                key = tuple(v for n, v in zip(table.names, row, strict=True) if n in table.key)
                first.setdefault(key, row)
            assert plain(table, records.snapshot(shop).check()[name]) == list(first.values())


@pytest.mark.parametrize("name", ["forgotten", "used"])
@QUIET
@given(data=st.data())
def test_facts_without_a_key_are_counted(name, data):
    """Of equal rows there are as many as the fullest sheet had, numbered from 1."""
    table = BY_NAME[name]
    row = st.tuples(*(CELLS[c.kind] for c in table.columns[1:]))
    some = data.draw(st.lists(row, min_size=1, max_size=3))
    most: dict[str, int] = {}
    with fresh() as shop:
        for rows in data.draw(st.lists(st.lists(st.sampled_from(some), max_size=4), max_size=3)):
            frame = build(table, [(n, *r) for n, r in enumerate(rows)])
            records.apply(shop, {name: frame}, DAY)
            assert records.changes(shop, {name: frame}).empty
            seen = [repr(r[1:]) for r in plain(table, frame)]
            most = {r: max(most.get(r, 0), seen.count(r)) for r in {*most, *seen}}
            held = plain(table, records.snapshot(shop).check()[name])
            assert [r[0] for r in held] == list(range(1, sum(most.values()) + 1))
            there = [repr(r[1:]) for r in held]
            assert {r: there.count(r) for r in there} == {r: n for r, n in most.items() if n}


LOTS = st.tuples(TEXT, TEXT, TEXT.filter(lambda p: places.is_shelf(p)), TEXT, TEXT)
STOCK = BY_NAME["stock"]


@QUIET
@given(
    rows=st.lists(
        st.tuples(LOTS, st.integers(0, ledger.MOST), TEXT, STAMPS, STAMPS),
        max_size=6,
        unique_by=lambda r: r[0],
    )
)
def test_a_stock_sheet_comes_back_as_it_was(rows):
    """Every lot that is there, with quantity and label; empty lots are not on the shelf."""
    frame = build(
        STOCK, [(p, lot, at, n, u, by, op, f, o) for (p, lot, at, f, o), n, u, by, op in rows]
    )
    with fresh() as shop:
        records.apply(shop, {"stock": frame}, DAY)
        held = records.snapshot(shop).check()["stock"]
        there = frame[frame["quantity"] > 0].reset_index(drop=True)
        assert_frame_equal(held, there)
        assert records.changes(shop, {"stock": frame}).empty
        assert records.prove(shop).holds


USE_BY = st.none() | st.integers(0, 3).map(lambda n: DAY + timedelta(days=n))


@QUIET
@given(
    there=st.tuples(st.integers(1, 5), USE_BY),
    then=st.tuples(st.integers(1, 5), USE_BY),
)
def test_a_reversed_receipt_leaves_no_trace_on_the_shelf(there, then):
    """Quantity and label are as they were before."""
    with fresh() as shop:
        orders = [("K1", 1, "s", "P", "", 9, "l", None, None, None, None, "", None, "", None, None)]
        records.apply(shop, {"orders": build(BY_NAME["orders"], orders)}, DAY)
        records.receive(shop, Arrival("K1", there[0], "A1", DAY, line=1, use_by=there[1]))
        before = records.snapshot(shop)
        got = records.receive(shop, Arrival("K1", then[0], "A1", DAY, line=1, use_by=then[1]))
        records.reverse(shop, got.move.move, "slip", day=DAY)
        after = records.snapshot(shop)
        for name in ("stock", "receipts", "orders"):
            assert_frame_equal(before[name], after[name])
        assert math.isclose(before["stock"]["quantity"].sum(), there[0])

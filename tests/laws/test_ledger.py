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
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, rule
from pandas.testing import assert_frame_equal

from kitting import records
from kitting.errors import InputError
from kitting.records import Arrival, Count, Move, ledger, on_hand, places
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


PARTS = ("0012", "OIL")
BINS = ("A1", "B2", "")
AMOUNTS = st.integers(0, 6)
USE_BY = st.none() | st.integers(0, 3).map(lambda n: DAY + timedelta(days=n))


class Bench(RuleBasedStateMachine):
    """Everything that happens to stock, in any order, beside the simplest model of it."""

    @initialize()
    def start(self):
        """Open a shop with two parts and one order line of each."""
        self.shop = fresh()
        parts = build(
            BY_NAME["parts"],
            [(p, "", "", "piece", "", "", None, None, "", False, "") for p in PARTS],
        )
        orders = build(
            BY_NAME["orders"],
            [
                (
                    "K1",
                    n,
                    "s",
                    p,
                    "",
                    9,
                    "piece",
                    None,
                    None,
                    None,
                    None,
                    f"E-{n}",
                    None,
                    "",
                    None,
                    None,
                )
                for n, p in enumerate(PARTS)
            ],
        )
        records.apply(self.shop, {"parts": parts, "orders": orders}, DAY)
        self.model: dict[tuple[str, str, str], int] = {}
        self.come = dict.fromkeys(PARTS, 0)
        self.sheet: dict[tuple[str, str, str], tuple[int, object]] = {}
        self.moves: list[Move] = []
        self.receipts: set[int] = set()
        self.undone: set[int] = set()

    def teardown(self):
        """See that the snapshot shows the same shelf, and close the shop."""
        stock = records.snapshot(self.shop).check()["stock"]
        keys = stock[["part", "place", "held_for"]].itertuples(index=False, name=None)
        assert dict(zip(keys, stock["quantity"].tolist(), strict=True)) == {
            lot: n for lot, n in self.model.items() if places.is_shelf(lot[1])
        }
        self.shop.close()

    def change(self, part, place, held_for, amount):
        """Change a lot of the model."""
        lot = (part, place, held_for)
        self.model[lot] = self.model.get(lot, 0) + amount
        if not self.model[lot]:
            del self.model[lot]

    @rule(line=st.integers(0, 1), amount=st.integers(1, 6), place=st.sampled_from(BINS), by=USE_BY)
    def receive(self, line, amount, place, by):
        """Put what comes on the shelf, held for its build, and tell when it is too much."""
        part = PARTS[line]
        got = records.receive(self.shop, Arrival("K1", amount, place, DAY, line=line, use_by=by))
        assert (got.before, got.part) == (self.come[part], part)
        assert got.open == max(0, 9 - self.come[part] - amount)
        assert got.over == max(0, min(amount, self.come[part] + amount - 9))
        self.come[part] += amount
        self.change(part, place, f"E-{line}", amount)
        self.moves.append(got.move)
        self.receipts.add(got.move.move)

    @rule(
        part=st.sampled_from(PARTS),
        place=st.sampled_from(BINS),
        held_for=st.sampled_from(("", "E-0")),
        amount=AMOUNTS,
        by=USE_BY,
    )
    def count(self, part, place, held_for, amount, by):
        """After a count there is what was counted."""
        done = records.count(
            self.shop, Count(part, place, amount, DAY, held_for=held_for, use_by=by)
        )
        assert done.before == self.model.get((part, place, held_for), 0)
        self.change(part, place, held_for, amount - done.before)
        self.moves += done.moves

    @rule(
        part=st.sampled_from(PARTS),
        ends=st.permutations(["A1", "B2", "kit: E-0/x", "outside: scrap"]),
        held_for=st.sampled_from(("", "E-0")),
        amount=st.integers(1, 6),
    )
    def carry(self, part, ends, held_for, amount):
        """Take what is there from one place to another, and never what is not there."""
        source, target = ends[:2]
        move = Move(part, amount, source, target, DAY, held_for=held_for, unit="piece")
        enough = places.is_open(source) or (self.model.get((part, source, held_for), 0) >= amount)
        try:
            with self.shop.writing() as hand:
                self.moves += ledger.post(hand, [move])
        except InputError:
            assert not enough
            return
        assert enough
        for place, sign in ((source, -1), (target, 1)):
            if not places.is_open(place):
                self.change(part, place, held_for, sign * amount)

    @rule(
        rows=st.dictionaries(
            st.tuples(st.sampled_from(PARTS), st.sampled_from(BINS), st.sampled_from(("", "E-0"))),
            st.tuples(AMOUNTS, USE_BY),
            max_size=4,
        ),
        same=st.booleans(),
    )
    def read_stock(self, rows, same):
        """Read a stock sheet: it sets what it tells anew, and only that."""
        rows = dict(self.sheet) if same else rows
        frame = build(
            STOCK,
            [
                (
                    p,
                    "",
                    place,
                    n,
                    "piece",
                    by and datetime(by.year, by.month, by.day),
                    None,
                    held,
                    "",
                )
                for (p, place, held), (n, by) in rows.items()
            ],
        )
        told = records.apply(self.shop, {"stock": frame}, DAY)
        assert told.empty or not same
        for lot in {*rows, *self.sheet}:
            before, after = self.sheet.get(lot), rows.get(lot)
            if before == after or (before and after and before[0] == after[0]):
                continue
            self.change(*lot, (after[0] if after else 0) - self.model.get(lot, 0))
        self.sheet = rows

    @rule(pick=st.integers(0, 10**6))
    def reverse(self, pick):
        """Undo a move, once, unless what it brought is gone."""
        if not self.moves:
            return
        move = self.moves[pick % len(self.moves)]
        lot = (move.part, move.to_place, move.held_for)
        there = places.is_open(move.to_place) or self.model.get(lot, 0) >= move.quantity
        possible = there and move.move not in self.undone and move.reverses is None
        try:
            back = records.reverse(self.shop, move.move, "slip", day=DAY)
        except InputError:
            assert not possible
            return
        assert possible
        self.undone.add(move.move)
        self.moves.append(back)
        if move.move in self.receipts:
            self.come[move.part] -= move.quantity
        for place, sign in ((move.from_place, 1), (move.to_place, -1)):
            if not places.is_open(place):
                self.change(move.part, place, move.held_for, sign * move.quantity)

    @invariant()
    def the_shelf_is_the_model(self):
        """On hand agrees lot by lot, nothing is below zero, and the shop proves."""
        with self.shop.reading() as hand:
            there = on_hand.on_hand(hand, "1 = 1")
        held = {(lot.part, lot.place, lot.held_for): n.quantity for lot, n in there.items()}
        assert held == self.model
        assert all(n > 0 for n in self.model.values())
        assert records.prove(self.shop).faults == ()

    @invariant()
    def every_part_sums_to_zero(self):
        """Over all places, what left one entered another."""
        with self.shop.reading() as hand:
            balance = hand.rows(
                "SELECT part, SUM(n) FROM (SELECT part, quantity AS n FROM moves UNION ALL "
                "SELECT part, -quantity FROM moves) GROUP BY part HAVING SUM(n) <> 0"
            )
        assert balance == []


TestBench = Bench.TestCase
TestBench.settings = settings(
    max_examples=40,
    stateful_step_count=25,
    deadline=None,
    suppress_health_check=[HealthCheck.too_slow],
)


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

"""Versions of the bill: kept with author, day and reason, brought back and compared."""

from __future__ import annotations

from collections import Counter
from datetime import date

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kitting import records
from kitting.errors import TableError, UnknownName
from kitting.records.rows import rows_of
from kitting.records.version_history import bill_at
from kitting.tables.shop import BY_NAME

DAY = date(2026, 3, 9)


def told(frame):
    return frame[["version", "by", "reason", "added", "removed"]].values.tolist()


def test_a_change_of_the_bill_is_a_version_and_nothing_else_is(shop, sheets, make):
    """The first reading is one; stock and builds make none, the same bill again makes none."""
    assert told(records.versions(shop)) == [[1, "", "", 6, 0]]
    records.apply(shop, sheets, DAY, "Ada", "again")
    records.apply(shop, {"stock": make("stock"), "builds": make("builds")}, DAY, "Ada", "no bill")
    assert len(records.versions(shop)) == 1
    lines = sheets["lines"].assign(quantity=[1, 3])
    records.apply(shop, {"lines": lines}, DAY, "Ada", "a third gasket")
    assert told(records.versions(shop))[1:] == [[2, "Ada", "a third gasket", 1, 1]]
    (row,) = records.between(shop, 1, 2).query("change == 'added'").to_dict("records")
    assert (row["sheet"], row["row"]) == ("lines", "engine, bottom, 1E5")


def test_a_version_that_is_not_there(shop):
    with pytest.raises(UnknownName, match="no version 9 of the bill; the last is 1"):
        records.between(shop, 1, 9)


def test_versions_stay(shop):
    """The database itself refuses to forget who changed the bill."""
    with pytest.raises(TableError, match="stays as it was"), shop.writing() as hand:
        hand.run("DELETE FROM versions")


PART = st.tuples(st.sampled_from("ABC"), st.sampled_from(["", "new", "größer"]))
LINE = st.tuples(st.sampled_from("ABC"), st.integers(1, 3))
BILLS = st.lists(
    st.tuples(st.lists(PART, unique_by=lambda row: row[0], max_size=3), st.lists(LINE, max_size=4)),
    min_size=1,
    max_size=5,
)


@settings(max_examples=25, deadline=None)
@given(BILLS)
def test_every_version_can_be_brought_back(bills):
    """Whatever came in whatever order, each version holds what was read then, repeats counted."""
    from records.conftest import frame

    with records.open_shop(":memory:", create=True) as shop:
        then = [({}, {})]
        for parts, lines in bills:
            frames = {
                "parts": frame("parts", *({"part": p, "name": n} for p, n in parts)),
                "lines": frame(
                    "lines",
                    *({"line": i, "part": p, "quantity": q} for i, (p, q) in enumerate(lines, 1)),
                ),
            }
            records.apply(shop, frames, DAY)
            now = tuple(held({n: rows_of(BY_NAME[n], f) for n, f in frames.items()}))
            if now != then[-1]:
                then.append(now)
        for version, bill in enumerate(then):
            assert tuple(held(bill_at(shop, version))) == bill
            for other in range(len(then)):
                same = records.between(shop, version, other).empty
                assert same == (then[version] == then[other])


def held(rows):
    """Return the parts, and the lines without their numbers."""
    return [dict(Counter(rows["parts"])), dict(Counter(row[1:] for row in rows["lines"]))]


def test_lines_that_came_and_went_are_told_by_version(shop, sheets):
    """A changed line goes as it was and comes as it is; who and when stand beside."""
    first = records.line_history(shop)
    assert first["came"].all()
    assert first["version"].tolist() == [1] * len(sheets["lines"])
    lines = sheets["lines"].assign(quantity=[1, 3])
    records.apply(shop, {"lines": lines}, date(2026, 3, 12), "Ada", "a third gasket")
    history = records.line_history(shop).iloc[len(first) :]
    rows = history[["version", "by", "came", "part", "quantity"]].values.tolist()
    part, was = sheets["lines"].iloc[1][["part", "quantity"]]
    assert rows == [[2, "Ada", True, part, 3], [2, "Ada", False, part, was]]
    assert (history["day"] == "2026-03-12").all()

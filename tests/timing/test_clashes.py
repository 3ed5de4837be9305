"""Benches that more builds want on a day than they hold."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kitting.tables.times import CLASHES
from kitting.timing.clashes import clashes

DAYS = [f"2026-03-{n:02d}" for n in range(9, 29)]


@pytest.fixture(scope="session")
def met(shop_of, frame_of):
    """Return a function: setting benches and stages as (build, place, start, finish) to rows."""

    def make(benches, *stages):
        rows = [
            {"build": b, "assembly": "engine", "stage": f"s{n}", "place": p, "start": s,
             "finish": f, "deferred": len(more) > 0}
            for n, (b, p, s, f, *more) in enumerate(stages)
        ]  # fmt: skip
        frame = clashes(shop_of({"benches": benches}), frame_of("stage_days", *rows))
        return [
            (r.place, f"{r.first:%m-%d}", f"{r.last:%m-%d}", r.builds)
            for r in CLASHES.check(frame).itertuples(index=False)
        ]

    return make


def test_two_builds_on_one_bay(met):
    """The days they share, in order of service; a weekend between is part of them."""
    assert met(
        "bay 1; stand",
        ("B2", "bay 1", "2026-03-12", "2026-03-17"),
        ("B1", "bay 1", "2026-03-10", "2026-03-13"),
        ("B1", "stand", "2026-03-12", "2026-03-13"),
    ) == [("bay 1", "03-12", "03-13", "B2; B1")]


def test_who_is_not_in_the_way(met):
    """A place without a limit, one that holds two, a build's own stages, and what comes later."""
    two = [("B1", "bay 1", DAYS[0], DAYS[2]), ("B2", "bay 1", DAYS[1], DAYS[3])]
    assert met("stand", *two) == []
    assert met("bay 1 = 2", *two) == []
    assert met("bay 1", two[0], ("B1", "bay 1", DAYS[1], DAYS[3])) == []
    assert met("bay 1", two[0], ("B2", "bay 1", DAYS[1], DAYS[3], "later")) == []
    assert met("bay 1", two[0], ("B2", "bay 1", None, None)) == []
    assert met("bay 1 = none", *two) == []


def test_a_third_build_makes_another_row(met):
    """Rows change where the company changes."""
    found = met(
        "bay 1",
        ("B1", "bay 1", DAYS[0], DAYS[4]),
        ("B2", "bay 1", DAYS[1], DAYS[3]),
        ("B3", "bay 1", DAYS[2], DAYS[2]),
    )
    assert found == [
        ("bay 1", "03-10", "03-10", "B1; B2"),
        ("bay 1", "03-11", "03-11", "B1; B2; B3"),
        ("bay 1", "03-12", "03-12", "B1; B2"),
    ]


SPANS = st.tuples(
    st.sampled_from(["B1", "B2", "B3"]),
    st.sampled_from(["bay", "stand"]),
    st.integers(0, 12),
    st.integers(0, 5),
)


@settings(max_examples=40, deadline=None)
@given(stages=st.lists(SPANS, max_size=8), holds=st.integers(1, 3))
def test_a_day_is_a_clash_exactly_when_too_many_want_the_bench(met, stages, holds):
    """Counted day by day, in the plainest way."""
    spans = [(b, p, DAYS[s], DAYS[s + n]) for b, p, s, n in stages]
    found = met(f"bay = {holds}", *spans)
    told = {d[5:] for _, first, last, _ in found for d in DAYS if first <= d[5:] <= last}
    wanted = {
        d[5:]
        for d in DAYS
        if len({b for b, p, s, f in spans if p == "bay" and s <= d <= f}) > holds
    }
    assert told == wanted

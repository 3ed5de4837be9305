"""Bins to count first, and what the shelf is to keep."""

from __future__ import annotations

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kitting.errors import InputError
from kitting.netting import count_first, kept_needs
from kitting.tables.kits import COUNT_FIRST

DAY = date(2026, 3, 9)
RING = {"part": "ring", "lot": "L1", "place": "A3"}
NEED = {"need": 1, "build": "A", "part": "ring", "quantity": 2, "day": "2026-03-16"}


def counted(number, day, before, after, **more):
    """Return one count of the ring's bin."""
    return {**RING, "count": number, "day": day, "before": before, "after": after, **more}


def missed(noted, cause="in the bill but not picked", part="ring"):
    """Return one note that a part was not in the kit."""
    return {"entry": 1, "build": "Z", "part": part, "quantity": 1, "cause": cause, "noted": noted}


def decided(day, decision="accepted", lesson="look at the bin", **more):
    """Return one decision on the ring."""
    row = {"proposal": 1, "day": day, "decision": decision, "lesson": lesson, "part": "ring"}
    return {**row, "unit": "piece", **more}


@pytest.fixture
def bins(shop_of, frame_of):
    """Return a function: what is on record to the reasons why the ring's bin is to be counted."""

    def make(settings=None, *, supply=(), picked=True, **tables):
        lot = {"supply": 1, "quantity": 5, **RING, **dict(supply)}
        frame = count_first(
            shop_of(settings, parts=[{"part": "ring"}], **tables),
            frame_of("needs", NEED),
            frame_of("supply", lot),
            frame_of("picks", *([{"need": 1, "supply": 1, "part": "ring"}] if picked else [])),
            DAY,
        )
        COUNT_FIRST.check(frame)
        return frame["why"].tolist()

    return make


RIGHT = counted(1, "2026-03-01", 5, 5)


@pytest.mark.parametrize(
    ("tables", "why"),
    [
        ({}, []),
        ({"counts": [RIGHT]}, []),
        ({"counts": [counted(1, "2026-03-01", 0, 5)]}, []),
        ({"counts": [counted(1, "2026-03-01", 7, 5)]}, ["the record was wrong on 2026-03-01"]),
        ({"counts": [counted(1, "2026-02-01", 7, 5), counted(2, "2026-03-01", 5, 5)]}, []),
        (
            {"counts": [counted(1, "2026-02-01", 4, 0), counted(2, "2026-03-01", 0, 5)]},
            ["the record was wrong on 2026-03-01"],
        ),
        (
            {"forgotten": [missed("2026-02-02")]},
            ["was missed or wrong in a kit on 2026-02-02"],
        ),
        ({"forgotten": [missed("2026-02-02")], "counts": [RIGHT]}, []),
        ({"forgotten": [missed("2026-03-02")], "counts": [RIGHT]}, ["was missed or wrong in a kit "
                                                                    "on 2026-03-02"]),
        ({"forgotten": [missed("2026-02-02", cause="late")]}, []),
        ({"forgotten": [missed("2026-02-02", part="bolt")]}, []),
        ({"proposals": [decided("2026-03-02")]}, ["to be looked at, as decided on 2026-03-02"]),
        ({"proposals": [decided("2026-03-02", "rejected")]}, []),
        ({"proposals": [decided("2026-02-02")], "counts": [RIGHT]}, []),
        ({"counts": [counted(1, "2025-03-08", 5, 5)]}, ["last counted 2025-03-08"]),
        ({"counts": [counted(1, "2025-03-09", 5, 5)]}, []),
        ({"counts": [counted(1, "2025-01-01", 5, 5, place="B1")]}, []),
    ],
)  # fmt: skip
def test_why_a_bin_is_to_be_counted(bins, tables, why):
    """Only what happened since the last count of that very bin counts."""
    assert bins(**tables) == why


def test_reasons_stand_together(bins):
    found = bins(counts=[counted(1, "2025-01-05", 7, 5)], forgotten=[missed("2026-02-02")])
    assert found == [
        "the record was wrong on 2025-01-05; was missed or wrong in a kit on 2026-02-02; "
        "last counted 2025-01-05"
    ]


@pytest.mark.parametrize(
    "elsewhere",
    [{"picked": False}, {"supply": {"order": "K-1", "place": ""}}, {"supply": {"kit": "picked"}}],
    ids=["nobody needs it", "it is on the way", "it is in a kit"],
)
def test_only_bins_that_kits_rely_on(bins, elsewhere):
    assert bins(counts=[counted(1, "2026-03-01", 7, 5)], **elsewhere) == []


def test_the_days_of_a_count(bins):
    """Zero never calls a count old; words are refused with what to write."""
    old = [counted(1, "2020-01-01", 5, 5)]
    assert bins({"count_days": "0"}, counts=old) == []
    assert bins({"count_days": "30"}, counts=[counted(1, "2026-02-06", 5, 5)]) != []
    with pytest.raises(InputError, match='count_days is "often"; write whole days'):
        bins({"count_days": "often"}, counts=old)


@given(
    kept=st.integers(1, 9),
    lots=st.lists(st.tuples(st.integers(0, 5), st.sampled_from(["free", "held", "owned", "old"]))),
    used=st.integers(0, 5),
)
def test_what_the_shelf_lacks_is_what_nobody_needs(shop_of, frame_of, kept, lots, used):
    """Kept = what is free after all needs + what is asked for, never more."""
    rows = [{"supply": 1, "part": "ring", "quantity": used}]
    picks = [{"need": 1, "supply": 1, "part": "ring", "quantity": used, "covers": used}]
    for number, (quantity, kind) in enumerate(lots, 2):
        more = {"held": {"held_for": "B"}, "owned": {"owner": "C"}, "old": {"use_by": "2026-03-08"}}
        rows.append({"supply": number, "part": "ring", "quantity": quantity, **more.get(kind, {})})
    wanted = decided("2026-03-02", lesson="keep on the shelf", quantity=kept)
    shop = shop_of(parts=[{"part": "ring"}], proposals=[wanted])
    frames = (frame_of("needs", NEED), frame_of("supply", *rows), frame_of("picks", *picks))
    found = kept_needs(shop, *frames, DAY)
    free = sum(quantity for quantity, kind in lots if kind == "free")
    assert found["quantity"].sum() == max(kept - free, 0)
    if len(found):
        assert found[["need", "build", "stage"]].values.tolist() == [[2, "", ""]]
        assert found["deferred"].all()


def test_the_last_decision_counts(shop_of, frame_of):
    """Kept once, given up since."""
    keep = decided("2026-03-01", lesson="keep on the shelf", quantity=3)
    given_up = {**keep, "proposal": 2, "decision": "rejected"}
    nothing = (frame_of("needs"), frame_of("supply"), frame_of("picks"), DAY)
    shop = shop_of(parts=[{"part": "ring"}], proposals=[keep])
    assert kept_needs(shop, *nothing)["quantity"].tolist() == [3]
    shop = shop_of(parts=[{"part": "ring"}], proposals=[keep, given_up])
    assert kept_needs(shop, *nothing).empty

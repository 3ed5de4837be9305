"""Entries that are odd: said, kept apart, nothing counted twice."""

from __future__ import annotations

import pytest

from kitting.audit import findings, tally
from kitting.audit.events import counted
from kitting.terms.words import Level

BUILDS = [
    {"build": "A", "assembly": "engine", "finished": "2026-01-05"},
    {"build": "B", "assembly": "engine"},
]
STAGES = [{"assembly": "engine", "stage": "head"}]


def forgot(entry, **more):
    return {
        "entry": entry,
        "build": "A",
        "part": "ring",
        "stage": "head",
        "quantity": 1,
        "cause": "late",
        "noted": "2026-01-04",
        **more,
    }


@pytest.fixture
def shop(shop_of):
    """Return a function that makes a shop with forgotten parts."""
    return lambda *rows: shop_of(builds=BUILDS, stages=STAGES, forgotten=list(rows))


def told(shop):
    return [(f.level, str(f), f.about) for f in findings(shop)]


def test_a_sound_entry_has_no_finding(shop):
    assert told(shop(forgot(1))) == []


def test_an_unknown_build_is_told_and_not_counted(shop):
    odd = shop(forgot(1), forgot(2, build="AA"))
    assert told(odd) == [
        (
            Level.WARN,
            'forgotten, build: build "AA" is not known, so it is not counted; nearest: A',
            "entry 2",
        )
    ]
    assert counted(odd)["entry"].tolist() == [1]
    assert tally(odd)["all"]["events"].tolist() == [1]


def test_the_same_event_twice_is_told_and_counted_once_with_the_greater_loss(shop):
    odd = shop(
        forgot(1),
        forgot(2, hours_lost=2.0, note="again"),
        forgot(3, hours_lost=1.0),
        forgot(4, quantity=2),
    )
    assert counted(odd)["entry"].tolist() == [2, 4]
    assert tally(odd)["all"]["hours_lost"].tolist() == [2.0]
    assert [(level, about) for level, _, about in told(odd)] == [
        (Level.WARN, "entry 1"),
        (Level.WARN, "entry 3"),
    ]
    assert "the same event as entry 2, which is counted" in told(odd)[0][1]


def test_what_was_asked_for_once_more_is_an_event_of_its_own(shop):
    odd = shop(forgot(1), forgot(2, note="once more; by MK"), forgot(3, note="once more"))
    assert counted(odd)["entry"].tolist() == [1, 2, 3]
    assert told(odd) == []


def test_the_same_event_without_a_day_is_still_the_same(shop):
    odd = shop(forgot(1, noted=None), forgot(2, noted=None))
    assert counted(odd)["entry"].tolist() == [1]
    assert "entry 1" in told(odd)[0][1]


@pytest.mark.parametrize(
    ("cell", "column"),
    [
        ({"hours_lost": -2.0}, "hours_lost"),
        ({"hours_lost": float("nan")}, "hours_lost"),
        ({"money_lost": -5}, "money_lost"),
        ({"quantity": 0}, "quantity"),
    ],
)
def test_losses_below_zero_are_told_and_count_as_none(shop, cell, column):
    odd = shop(forgot(1, **cell), forgot(2, hours_lost=1.0, money_lost=7, noted="2026-01-03"))
    assert [(level, about) for level, _, about in told(odd)] == [(Level.WARN, "entry 1")]
    assert told(odd)[0][1].startswith(f"forgotten, {column}: ")
    total = tally(odd)["all"].iloc[0]
    assert (total["events"], total["hours_lost"], total["money_lost"]) == (2, 1.0, 7)


def test_a_stage_that_the_build_does_not_have_is_told(shop):
    odd = shop(forgot(1, stage="sump"))
    assert '"sump" is no stage of engine' in told(odd)[0][1]
    assert tally(odd)["stage"][["assembly", "name", "could"]].to_numpy().tolist() == [
        ["", "sump", 1]
    ]


def test_open_builds_are_noted(shop):
    found = told(shop(forgot(1), forgot(2, build="B")))
    assert found[0][0] == Level.NOTE
    assert "1 of 2 forgotten parts are on builds that are not finished" in found[0][1]


def test_frames_are_left_as_they_were(shop):
    odd = shop(forgot(1, hours_lost=-1.0), forgot(2, build="AA"), forgot(3))
    before = {name: frame.copy() for name, frame in odd.tables.items()}
    findings(odd)
    tally(odd)
    assert all(frame.equals(before[name]) for name, frame in odd.tables.items())


@pytest.mark.parametrize(
    ("cause", "received", "came", "counts"),
    [
        ("late", "2025-12-20", 1, False),
        ("not in the bill", "2025-12-20", 1, False),
        ("late", "2026-01-03", 1, True),
        ("late", "2025-12-20", 0, True),
        ("damaged on fitting", "2025-12-20", 1, True),
    ],
)
def test_a_part_that_came_before_the_start_was_in_the_kit_after_all(
    shop_of, cause, received, came, counts
):
    """Only what came for the build, in full and before its start, is kept apart."""
    order = {"order": "O1", "line": 1, "supplier": "s", "part": "ring", "build": "A"}
    receipt = {"receipt": "R1", "order": "O1", "line": 1, "part": "ring", "received": received}
    odd = shop_of(
        builds=[{**BUILDS[0], "start": "2026-01-02"}],
        stages=STAGES,
        orders=[{**order, "quantity": 1, "ordered": "2025-12-01"}],
        receipts=[{**receipt, "quantity": came}],
        forgotten=[forgot(1, cause=cause)],
    )
    assert counted(odd)["entry"].tolist() == ([1] if counts else [])
    said = [text for _, text, _ in told(odd)]
    assert [f"had come for A on {received}" in text for text in said] == [True] * (not counts)

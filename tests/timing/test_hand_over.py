"""What is owed when a build leaves the bench, and what must come off."""

from __future__ import annotations

import pytest

from kitting.tables.times import HAND_OVER
from kitting.timing.hand_over import hand_over

TABLES = {
    "stages": [
        {"assembly": "engine", "stage": "build"},
        {"assembly": "engine", "stage": "run", "after": "build"},
        {"assembly": "engine", "stage": "aboard", "after": "run", "deferred": True},
        {"assembly": "engine", "stage": "service", "after": "aboard", "deferred": True},
    ],
    "parts": [{"part": "CAP", "name": "port cap"}, {"part": "HOSE", "name": "sea hose"}],
    "temporary": [
        {"assembly": "engine", "part": "CAP", "stage": "build", "joint": "port",
         "removed_in": "aboard", "note": "red"},
        {"assembly": "engine", "part": "PIN", "stage": "build", "removed_in": "run"},
        {"assembly": "engine", "part": "TAPE", "stage": "run", "removed_in": ""},
        {"assembly": "engine", "part": "BUNG", "stage": "build", "joint": "turbo drain",
         "removed_in": "aboard"},
        {"assembly": "pump", "part": "LOCK", "stage": "build", "removed_in": ""},
    ],
}  # fmt: skip
DAYS = [
    {"build": "B1", "assembly": "engine", "stage": "build", "name": "build", "start": "2026-03-09"},
    {"build": "B1", "assembly": "engine", "stage": "run", "name": "run", "start": "2026-03-10"},
    {"build": "B1", "assembly": "engine", "stage": "aboard", "name": "fit it",
     "start": "2026-03-11", "deferred": True},
    {"build": "B1", "assembly": "engine", "stage": "service", "name": "first service",
     "start": None, "deferred": True},
]  # fmt: skip
ASKED = [
    {"required": 1, "stage": "build", "part": "BOLT", "quantity": 4},
    {"required": 2, "stage": "aboard", "joint": "sea", "part": "HOSE", "quantity": 2,
     "deferred": True, "note": "long one"},
    {"required": 3, "stage": "aboard", "part": "CLAMP", "quantity": 4, "deferred": True,
     "from_set": "HOSE-SET"},
    {"required": 4, "stage": "aboard", "part": "WRENCH", "quantity": 1, "deferred": True,
     "role": "tool"},
    {"required": 5, "stage": "service", "part": "FILTER", "quantity": 1, "deferred": True},
]  # fmt: skip


@pytest.fixture
def owed(shop_of, frame_of):
    """Return a function that gives the hand-over list of one build."""

    def make(days=DAYS, asked=ASKED, **tables):
        shop = shop_of(**{**TABLES, **tables})
        required = [{"build": "B1", "assembly": "engine", **r} for r in asked]
        joints = [{"build": "B1", "assembly": "engine", "joint": "port"}]
        return HAND_OVER.check(
            hand_over(
                shop, frame_of("required", *required), frame_of("build_joints", *joints),
                frame_of("stage_days", *days),
            )
        )  # fmt: skip

    return make


def test_the_whole_list(owed):
    """First what comes off, then each later stage with its parts; lent tools are not owed."""
    frame = owed()
    assert list(zip(frame["what"], frame["stage"], frame["part"], strict=True)) == [
        ("comes off", "aboard", "CAP"),
        ("comes off", "", "TAPE"),
        ("stage to do", "aboard", ""),
        ("part to fit", "aboard", "HOSE"),
        ("part to fit", "aboard", "CLAMP"),
        ("stage to do", "service", ""),
        ("part to fit", "service", "FILTER"),
    ]
    by_part = frame[frame["part"] != ""].set_index("part")
    assert by_part.loc["CAP", "name"] == "port cap"
    assert by_part.loc["CAP", "note"] == "on since build; take it off in aboard (red)"
    assert "nobody said when it comes off" in by_part.loc["TAPE", "note"]
    assert by_part.loc["CLAMP", "note"] == "out of the set HOSE-SET"
    assert by_part.loc["HOSE", ["quantity", "required", "joint"]].tolist() == [2, 2, "sea"]
    assert f"{by_part.loc['CAP', 'day']:%m-%d}" == "03-11"
    assert frame.loc[frame["what"] == "stage to do", "name"].tolist() == ["fit it", "first service"]
    assert frame["day"].isna().sum() == 3


def test_what_is_taken_off_at_the_bench_is_not_on_it(owed):
    """Pins that come out before the run, and caps of joints that the build has not."""
    assert not {"PIN", "BUNG", "LOCK"} & set(owed()["part"])


def test_a_build_that_owes_nothing(owed):
    """Without deferred stages and temporary things the list is empty."""
    assert owed(days=DAYS[:2], asked=ASKED[:1], temporary=[]).empty
    assert owed(days=[], asked=ASKED).empty


def test_builds_come_in_turn(owed):
    """Each build's list is whole before the next begins."""
    second = [{**d, "build": "B0"} for d in DAYS]
    frame = owed(days=[*DAYS, *second])
    assert list(dict.fromkeys(frame["build"])) == ["B1", "B0"]
    assert frame["build"].tolist() == sorted(frame["build"], reverse=True)

"""How late stages may start: chains, slack, jobs that are away."""

from __future__ import annotations

import pandas as pd

from kitting.tables.flow import STAGE_DAYS
from kitting.tables.times import LATE_STARTS, OUTWORK_DAYS
from kitting.timing import calendars, late_starts

DAY = pd.Timestamp("2026-03-09").date()  # a Monday
STAGES = [
    {"assembly": "engine", "stage": "strip", "work_days": 1.5},
    {"assembly": "engine", "stage": "away", "after": "strip", "work_days": 2.0},
    {"assembly": "engine", "stage": "block", "after": "away", "work_days": 3.0},
    {"assembly": "engine", "stage": "paint", "after": "strip", "work_days": 1.0},
    {"assembly": "engine", "stage": "run", "after": "block; paint", "work_days": 1.0},
    {"assembly": "engine", "stage": "aboard", "after": "run", "work_days": 9.0, "deferred": True},
    {"assembly": "pump", "stage": "build", "work_days": 2.0},
]


def starts(shop, days=None, jobs=None) -> dict[tuple[str, str], int]:
    found = LATE_STARTS.check(
        late_starts(
            shop,
            STAGE_DAYS.empty() if days is None else days,
            OUTWORK_DAYS.empty() if jobs is None else jobs,
            calendars(shop, DAY),
        )
    )
    return {(r.assembly, r.stage): r.start for r in found.itertuples()}


def test_a_stage_with_slack_may_start_late(shop_of) -> None:
    """Half days are rounded to an earlier start and a later end; deferred stages have no row."""
    assert starts(shop_of({}, stages=STAGES)) == {
        ("engine", ""): 8,
        ("engine", "strip"): 0,
        ("engine", "away"): 2,
        ("engine", "block"): 4,
        ("engine", "paint"): 6,
        ("engine", "run"): 7,
        ("pump", ""): 2,
        ("pump", "build"): 0,
    }


def test_a_job_that_takes_longer_moves_what_waits_for_it(shop_of, frame_of) -> None:
    """Out on Wednesday, usable on the Wednesday after: five days from its stage's start."""
    day = {"build": "B", "assembly": "engine", "stage": "away", "start": "2026-03-11"}
    days = frame_of("stage_days", day)
    job = {
        "build": "B", "assembly": "engine", "stage": "block", "job": "OW", "after": "away",
        "wanted": "block", "out": "2026-03-11", "usable": "2026-03-18",
    }  # fmt: skip
    found = starts(shop_of({}, stages=STAGES), days, frame_of("outwork_days", job))
    # One day and a half, five for the job, three and one: ten and a half.
    assert found["engine", ""] == 11
    assert found["engine", "away"] == 2
    assert found["engine", "block"] == 7
    assert found["engine", "paint"] == 9
    unknown = frame_of("outwork_days", {**job, "usable": None})
    assert starts(shop_of({}, stages=STAGES), days, unknown)["engine", ""] == 8

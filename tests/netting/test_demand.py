"""What becomes a need, and when."""

from __future__ import annotations

from datetime import timedelta

import pandas as pd
from netting.frames import FIRST, frame, on

from kitting.netting import needs
from kitting.tables.flow import NEEDS, REQUIRED, STAGE_DAYS
from kitting.tables.shop import BUILDS


def required(*rows):
    usual = {"build": "B1", "assembly": "engine", "stage": "close", "part": "P", "quantity": 1}
    return frame(REQUIRED, [{"required": i, **usual, **row} for i, row in enumerate(rows, 1)])


def days(*rows):
    usual = {"build": "B1", "assembly": "engine", "stage": "close", "start": on(4)}
    return frame(STAGE_DAYS, [{**usual, **row} for row in rows])


BUILDS_TWO = frame(BUILDS, [{"build": "B1", "priority": 3}, {"build": "B2", "priority": 1}])


def test_a_need_takes_the_stage_start_and_the_builds_priority():
    """Day and priority come from the stage and the build; the rest from the required row."""
    rows = required({"joint": "cover", "role": "seal", "deferred": True}, {"build": "B2"})
    out = NEEDS.check(needs(rows, days({}, {"build": "B2", "start": on(9)}), BUILDS_TWO))
    assert out["day"].tolist() == [on(4), on(9)]
    assert out["priority"].tolist() == [3, 1]
    assert out["need"].tolist() == [1, 2]
    assert out.loc[0, ["joint", "role", "deferred"]].tolist() == ["cover", "seal", True]


def test_what_a_set_brings_is_no_need():
    """A row that the contents of a set cover is left out and numbers stay."""
    out = needs(required({"from_set": "SET"}, {}, {"quantity": 0}), days({}), BUILDS_TWO)
    assert out["need"].tolist() == [2]


def test_the_same_stage_name_in_two_assemblies_keeps_its_own_day():
    """Stages are told apart by assembly."""
    rows = required({}, {"assembly": "gearbox"})
    out = needs(rows, days({}, {"assembly": "gearbox", "start": on(8)}), BUILDS_TWO)
    assert out["day"].tolist() == [on(4), on(8)]


def test_a_stage_without_a_day_gives_a_need_without_a_day():
    """Neither an unknown stage nor a blank start is guessed."""
    rows = required({}, {"stage": "run"})
    out = needs(rows, days({"start": pd.NaT}), BUILDS_TWO)
    assert out["day"].isna().all()


def test_work_that_has_begun_needs_its_parts_today():
    """With the day of the plan no need is dated before it."""
    rows = required({}, {"stage": "run"}, {"stage": "blank"})
    stages = days({}, {"stage": "run", "start": on(30)}, {"stage": "blank", "start": pd.NaT})
    out = needs(rows, stages, BUILDS_TWO, FIRST + timedelta(days=10))
    assert out["day"].tolist()[:2] == [on(10), on(30)]
    assert pd.isna(out["day"].iloc[2])


def test_no_required_row_gives_no_need():
    out = needs(REQUIRED.empty(), STAGE_DAYS.empty(), BUILDS.empty())
    pd.testing.assert_frame_equal(NEEDS.check(out), NEEDS.empty())

"""Placing stages on working days."""

from __future__ import annotations

import time
from datetime import date

import pytest

from kitting.errors import KittingError, LoopError, UnknownName
from kitting.tables.flow import STAGE_DAYS
from kitting.timing import calendars, stage_days

DAY = date(2026, 3, 9)  # a Monday


@pytest.fixture
def days_of(shop_of, frame_of):
    """Return a function: stages, builds and what is built in to ``{stage: (start, finish)}``."""

    def make(stages, builds=None, built_in=(), **more):
        builds = builds or [{"build": "B1", "assembly": "engine", "start": "2026-03-09"}]
        rows = [{"assembly": "engine", **s} for s in stages]
        shop = shop_of(stages=rows, builds=builds, **more)
        frame = stage_days(
            shop, shop["builds"], frame_of("built_in", *built_in), calendars(shop, DAY)
        )
        return STAGE_DAYS.check(frame)

    return make


def spans(frame):
    """Month and day of start and finish by stage."""
    return {
        row.stage: (f"{row.start:%m-%d}", f"{row.finish:%m-%d}")
        for row in frame.itertuples(index=False)
    }


def test_stages_follow_each_other_over_a_weekend_and_a_closed_day(days_of):
    frame = days_of(
        [
            {"stage": "strip", "work_days": 2},
            {"stage": "clean", "after": "strip", "work_days": 2},
            {"stage": "build", "after": "clean; strip", "work_days": 3},
        ],
        closures=[{"calendar": "shop", "day": "2026-03-12"}],
    )
    assert spans(frame) == {
        "strip": ("03-09", "03-10"),
        "clean": ("03-11", "03-13"),
        "build": ("03-16", "03-18"),
    }
    assert frame["order"].tolist() == [1, 2, 3]


def test_half_days_add_up_to_days(days_of):
    """Two halves share a day; three times a third, however written, fill one."""
    halves = days_of(
        [
            {"stage": "a", "work_days": 0.5},
            {"stage": "b", "after": "a", "work_days": 0.5},
            {"stage": "c", "after": "b", "work_days": 1},
        ]
    )
    assert spans(halves) == {
        "a": ("03-09", "03-09"),
        "b": ("03-09", "03-09"),
        "c": ("03-10", "03-10"),
    }
    thirds = days_of(
        [{"stage": "a", "work_days": 0.33}]
        + [{"stage": s, "after": b, "work_days": 0.33} for b, s in ("ab", "bc", "cd")]
    )
    assert spans(thirds)["c"] == ("03-09", "03-09")
    assert spans(thirds)["d"] == ("03-10", "03-10")


def test_tenths_do_not_drift(days_of):
    """Ten tenths are one day though their binary sum is less."""
    stages = [{"stage": "s0", "work_days": 0.1}]
    stages += [{"stage": f"s{n}", "after": f"s{n - 1}", "work_days": 0.1} for n in range(1, 31)]
    found = spans(days_of(stages))
    assert found["s9"] == ("03-09", "03-09")
    assert found["s10"] == ("03-10", "03-10")
    assert found["s30"] == ("03-12", "03-12")


def test_a_build_that_starts_on_a_closed_day_starts_on_the_next_worked_one(days_of):
    frame = days_of(
        [{"stage": "a", "work_days": 1}],
        [{"build": "B1", "assembly": "engine", "start": "2026-03-07"}],
    )
    assert spans(frame) == {"a": ("03-09", "03-09")}


def test_what_is_built_in_is_finished_before_the_stage_that_receives_it(days_of):
    """The head takes four days from the build's start, so closing waits for it."""
    frame = days_of(
        [
            {"stage": "block", "work_days": 1},
            {"stage": "close", "after": "block", "work_days": 1},
            {"assembly": "head", "stage": "valves", "work_days": 3},
            {"assembly": "head", "stage": "test", "after": "valves", "work_days": 1},
        ],
        built_in=[{"build": "B1", "assembly": "engine", "stage": "close", "child": "head"}],
    )
    assert spans(frame) == {
        "block": ("03-09", "03-09"),
        "valves": ("03-09", "03-11"),
        "test": ("03-12", "03-12"),
        "close": ("03-13", "03-13"),
    }
    assert dict(zip(frame["stage"], frame["order"], strict=True)) == {
        "block": 1,
        "valves": 2,
        "test": 3,
        "close": 4,
    }


def test_assemblies_within_assemblies_wait_in_turn(days_of):
    """A child without stages of its own still passes on what is built into it."""
    frame = days_of(
        [
            {"stage": "close", "work_days": 1},
            {"assembly": "pump", "stage": "pump up", "work_days": 2},
        ],
        built_in=[
            {"build": "B1", "assembly": "engine", "stage": "close", "child": "front"},
            {"build": "B1", "assembly": "front", "stage": "", "child": "pump"},
        ],
    )
    assert spans(frame)["close"] == ("03-11", "03-11")


def test_nothing_waits_for_a_deferred_stage(days_of):
    """Filling happens in the boat; what follows it waits only for what filling follows."""
    frame = days_of(
        [
            {"stage": "close", "work_days": 1},
            {"stage": "fill", "after": "close", "work_days": 5, "deferred": True},
            {"stage": "paint", "after": "fill", "work_days": 1},
            {"stage": "service", "after": "fill", "work_days": 1, "deferred": True},
        ]
    )
    assert spans(frame) == {
        "close": ("03-09", "03-09"),
        "fill": ("03-10", "03-16"),
        "paint": ("03-10", "03-10"),
        "service": ("03-17", "03-17"),
    }
    assert frame.set_index("stage")["deferred"].to_dict() == {
        "close": False,
        "fill": True,
        "paint": False,
        "service": True,
    }


def test_a_deferred_stage_of_what_is_built_in_holds_only_deferred_stages(days_of):
    frame = days_of(
        [
            {"stage": "close", "work_days": 1},
            {"stage": "hand over", "after": "close", "work_days": 1, "deferred": True},
            {"assembly": "head", "stage": "valves", "work_days": 1},
            {"assembly": "head", "stage": "retighten", "work_days": 4, "deferred": True},
        ],
        built_in=[
            {"build": "B1", "assembly": "engine", "stage": s, "child": "head"}
            for s in ("close", "hand over")
        ],
    )
    assert spans(frame)["close"] == ("03-10", "03-10")
    assert spans(frame)["hand over"] == ("03-13", "03-13")


@pytest.mark.parametrize("start", [None, "1926-03-09", "2126-03-09"])
def test_a_build_without_a_sensible_start_has_stages_without_days(days_of, start):
    """Its stages are all there, in order; other builds keep their days."""
    frame = days_of(
        [{"stage": "a", "work_days": 1}, {"stage": "b", "after": "a", "work_days": 1}],
        [
            {"build": "B1", "assembly": "engine", "start": start},
            {"build": "B2", "assembly": "engine", "start": "2026-03-09"},
        ],
    )
    assert frame["build"].tolist() == ["B1", "B1", "B2", "B2"]
    assert frame["start"].isna().tolist() == [True, True, False, False]
    assert frame["finish"].isna().tolist() == [True, True, False, False]


def test_circles_and_strangers_are_named(days_of):
    with pytest.raises(LoopError, match="stages go round in a circle: engine") as raised:
        days_of([{"stage": s, "after": a} for s, a in ("ac", "ba", "cb")])
    assert set(raised.value.loop) == {"engine a", "engine b", "engine c"}
    assert raised.value.loop[0] == raised.value.loop[-1]
    with pytest.raises(UnknownName, match=r'"b" of engine follows "aa".*nearest: a'):
        days_of([{"stage": "a a"}, {"stage": "b", "after": "aa"}])


def test_work_beyond_the_calendar_names_the_build_and_the_stage(days_of):
    with pytest.raises(KittingError, match="build B1: stage b would end 5001 working days"):
        days_of([{"stage": "a", "work_days": 1}, {"stage": "b", "after": "a", "work_days": 5000}])


def test_no_builds_and_no_stages_give_an_empty_table(days_of, shop_of, frame_of):
    assert days_of([]).empty
    shop = shop_of()
    assert stage_days(shop, shop["builds"], frame_of("built_in"), calendars(shop, DAY)).empty


def test_a_thousand_builds_of_twenty_stages_take_less_than_half_a_second(shop_of, frame_of):
    """Builds of one structure share one pass."""
    stages = [
        {"assembly": "engine", "stage": f"s{n}", "after": f"s{n - 1}" * (n > 0), "work_days": 0.7}
        for n in range(20)
    ]
    builds = [
        {"build": f"B{n}", "assembly": "engine", "start": f"2026-03-{1 + n % 28:02d}"}
        for n in range(1000)
    ]
    shop = shop_of(stages=stages, builds=builds)
    made, built_in = calendars(shop, DAY), frame_of("built_in")
    began = time.process_time()
    frame = stage_days(shop, shop["builds"], built_in, made)
    assert time.process_time() - began < 5
    assert len(frame) == 20_000

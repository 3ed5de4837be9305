"""All open builds on the benches and people that there are."""

from __future__ import annotations

from datetime import date

import numpy as np
import pandas as pd
import pytest

from kitting.errors import InputError
from kitting.tables.flow import STAGE_DAYS
from kitting.tables.times import BUILD_DAYS, SCHEDULE
from kitting.timing import calendars, stage_days
from kitting.timing.benches import schedule
from kitting.timing.improve import Effort

DAY = date(2026, 3, 9)  # a Monday
TWO = [
    {"build": "B1", "assembly": "engine", "start": "2026-03-09", "priority": 5},
    {"build": "B2", "assembly": "engine", "start": "2026-03-09", "priority": 4},
]
STAGES = [
    {"stage": "strip", "work_days": 2, "place": "bay 1"},
    {"stage": "build", "after": "strip", "work_days": 3, "place": "bay 1"},
    {"stage": "run", "after": "build", "work_days": 1, "place": "stand"},
    {"stage": "fit", "after": "run", "work_days": 2, "place": "quay", "deferred": True},
]


@pytest.fixture
def planned(shop_of, frame_of):
    """Return a function: stages, builds and settings to schedule, build days and findings."""

    def make(stages=STAGES, builds=TWO, settings=None, *, built_in=(), ready=None, **more):
        rows = [{"assembly": "engine", **s} for s in stages]
        shop = shop_of(settings, stages=rows, builds=builds, **more)
        frame = None if ready is None else frame_of("readiness", *ready)
        found, days, findings = schedule(
            shop, shop["builds"], frame_of("built_in", *built_in), calendars(shop, DAY), frame,
            Effort(plans=200),
        )  # fmt: skip
        return SCHEDULE.check(found), BUILD_DAYS.check(days), findings

    return make


def days(frame, column="start"):
    """Month and day of a column by build and stage."""
    return {
        f"{row.build} {row.stage}": f"{getattr(row, column):%m-%d}"
        for row in frame.itertuples(index=False)
        if not pd.isna(getattr(row, column))
    }


def test_without_limits_it_is_the_plan_of_stage_days(shop_of, frame_of):
    """The same rows, days and order as when every bench is free."""
    stages = [{"assembly": "engine", **s} for s in STAGES]
    stages += [
        {"assembly": "engine", "stage": "third", "after": "strip", "work_days": 0.33},
        {"assembly": "engine", "stage": "half", "after": "third", "work_days": 0.5},
        {"assembly": "pump", "stage": "pump", "work_days": 4},
    ]
    shop = shop_of(stages=stages, builds=TWO)
    inside = frame_of(
        "built_in", {"build": "B2", "assembly": "engine", "stage": "run", "child": "pump"}
    )
    made = calendars(shop, DAY)
    found, _, _ = schedule(shop, shop["builds"], inside, made)
    pd.testing.assert_frame_equal(
        STAGE_DAYS.conform(found), stage_days(shop, shop["builds"], inside, made)
    )


def test_two_builds_take_turns_on_a_bay(planned):
    """The better priority goes first; the other waits, and both facts are told."""
    frame, ends, findings = planned(settings={"benches": "bay 1; stand"})
    assert days(frame) == {
        **{"B2 strip": "03-09", "B2 build": "03-11", "B2 run": "03-16", "B2 fit": "03-17"},
        **{"B1 strip": "03-16", "B1 build": "03-18", "B1 run": "03-23", "B1 fit": "03-24"},
    }
    waits = frame.set_index(["build", "stage"])
    assert waits.loc[("B1", "strip"), ["waits", "waits_for", "behind"]].tolist() == [
        5,
        "bay 1",
        "B2",
    ]
    assert waits["waits"].sum() == 5
    assert ends.set_index("build")["waits"].to_dict() == {"B1": 5, "B2": 0}
    assert [(f.level, f.about, f.column) for f in findings] == [("note", "B1", "place")]
    assert findings[0].message == (
        "stage strip of build B1 waits 5 working days for bay 1 behind B2, and starts 2026-03-16"
    )


def test_two_alike_bays_hold_two(planned):
    """With ``bay 1 = 2`` nobody waits."""
    frame, _, findings = planned(settings={"benches": "bay 1 = 2; stand = 2"})
    assert frame["waits"].sum() == 0
    assert set(days(frame).values()) == {"03-09", "03-11", "03-16", "03-17"}
    assert not findings


def test_several_work_on_one_engine_at_once(planned):
    """Stages of one engine share its bay; one fitter alone does them in turn."""
    stages = [
        {"stage": "left", "work_days": 2, "place": "bay 1"},
        {"stage": "right", "work_days": 2, "place": "bay 1"},
    ]
    one = TWO[:1]
    both, _, _ = planned(stages, one, {"benches": "bay 1", "people": "2"})
    assert days(both) == {"B1 left": "03-09", "B1 right": "03-09"}
    alone, _, findings = planned(stages, one, {"benches": "bay 1", "people": "1"})
    assert sorted(days(alone).values()) == ["03-09", "03-11"]
    assert "for people behind the build's own stages" in findings[0].message


def test_people_are_shared_by_all_benches(planned):
    """A stage that takes nobody waits for nobody; one that takes two needs both."""
    stages = [
        {"stage": "lift", "work_days": 1, "people": 2},
        {"stage": "away", "after": "lift", "work_days": 5, "people": 0},
        {"stage": "clean", "after": "lift", "work_days": 1},
    ]
    frame, _, _ = planned(stages, TWO, {"people": "2"})
    found = days(frame)
    assert found["B2 lift"] == "03-09"
    assert found["B1 lift"] == "03-10"
    assert (found["B2 away"], found["B1 away"]) == ("03-10", "03-11")
    assert found["B2 clean"] == "03-11"
    load = frame[~frame["stage"].eq("away")]
    for moment in np.arange(0, 10, 0.25):
        active = load[(load["begins"] <= moment) & (load["ends"] > moment)]
        assert active["people"].sum() <= 2


def test_more_people_than_there_are_is_told(planned):
    """A stage that wants three of two people is planned with two, with a warning once."""
    stages = [{"stage": "lift", "work_days": 1, "people": 3}]
    frame, _, findings = planned(stages, TWO, {"people": "2"})
    assert sorted(days(frame).values()) == ["03-09", "03-10"]
    warned = [f for f in findings if f.level == "warn"]
    assert len(warned) == 1
    assert "takes 3 people and the shop has 2" in warned[0].message


def test_a_deferred_stage_takes_no_bench_and_holds_nothing(planned):
    """Work aboard at the same place neither waits nor makes anyone wait."""
    stages = [
        {"stage": "build", "work_days": 1, "place": "bay 1"},
        {"stage": "fit", "after": "build", "work_days": 9, "place": "bay 1", "deferred": True},
        {"stage": "paint", "after": "fit", "work_days": 1, "place": "bay 1"},
    ]
    frame, _, _ = planned(stages, TWO, {"benches": "bay 1", "people": "1"})
    found = days(frame)
    assert found["B2 build"] == "03-09"
    assert found["B2 fit"] == "03-10"
    assert max(found[f"{b} {s}"] for b in ("B1", "B2") for s in ("build", "paint")) == "03-12"
    later = frame[frame["deferred"]]
    assert later["slack"].isna().all()
    assert not later["critical"].any()


def test_days_that_must_be_kept(planned):
    """A stage waits for its day; a deferred one has a day of its own; dates come first."""
    frame, ends, findings = planned(
        settings={"benches": "bay 1; stand"},
        dates=[
            {"build": "B1", "not_after": "2026-03-16"},
            {"build": "B2", "assembly": "engine", "stage": "fit", "not_before": "2026-05-01"},
            {"build": "B2", "assembly": "engine", "stage": "run", "not_before": "2026-03-25"},
        ],
    )
    found = days(frame)
    assert found["B1 strip"] == "03-09"
    assert (found["B2 run"], found["B2 fit"]) == ("03-25", "05-01")
    assert ends.set_index("build")["days_late"].to_dict() == {"B1": 0, "B2": 0}
    assert f"{ends.set_index('build').loc['B1', 'not_after']:%m-%d}" == "03-16"
    assert all(f.level == "note" for f in findings)


def test_a_date_that_cannot_be_kept_even_alone(planned):
    """Six days of work do not fit into five, whatever waits."""
    _, ends, findings = planned(
        builds=TWO[:1],
        dates=[{"build": "B1", "not_after": "2026-03-15"}],  # a Sunday
    )
    assert ends["days_late"].tolist() == [1]
    (finding,) = findings
    assert (finding.level, finding.sheet, finding.column) == ("warn", "dates", "not_after")
    assert finding.message == (
        "build B1 cannot be finished by 2026-03-13: with every bench and everybody free it takes "
        "until 2026-03-16, 1 working day longer; start earlier, shorten its stages, or agree a "
        "later day"
    )


def test_a_date_that_the_benches_make_late(planned):
    """The stage and its build would be in time alone; what may be done is told."""
    _, ends, findings = planned(
        settings={"benches": "bay 1; stand"},
        dates=[
            {"build": "B1", "not_after": "2026-03-16"},
            {"build": "B2", "assembly": "engine", "stage": "build", "not_after": "2026-03-13"},
        ],
    )
    late = [f.message for f in findings if f.level == "warn"]
    assert len(late) == 1
    assert "5 working days after its date" in late[0]
    assert "alone on the benches it would be on" in late[0]
    assert ends.set_index("build")["days_late"].to_dict() == {"B1": 5, "B2": 0}


def test_parts_hold_a_stage_until_its_kit_is_ready(planned):
    """The bay is lent to the other build meanwhile; a kit without a day holds nothing."""
    frame, _, _ = planned(
        settings={"benches": "bay 1; stand"},
        ready=[
            {"build": "B2", "assembly": "engine", "stage": "build", "ready": "2026-03-18"},
            {"build": "B1", "assembly": "engine", "stage": "run", "ready": None},
        ],
    )
    found = days(frame)
    assert found["B2 build"] == "03-18"
    assert found["B1 build"] < "03-18"


def test_slack_is_what_may_slip(planned):
    """Along the longest way nothing may slip; beside it, until the end holds it."""
    stages = [
        {"stage": "block", "work_days": 4},
        {"stage": "head", "work_days": 1.5},
        {"stage": "close", "after": "block; head", "work_days": 1},
    ]
    frame, _, _ = planned(stages, TWO[:1])
    by_stage = frame.set_index("stage")
    assert by_stage["slack"].to_dict() == {"block": 0, "head": 2.5, "close": 0}
    assert by_stage["critical"].to_dict() == {"block": True, "head": False, "close": True}
    assert f"{by_stage.loc['head', 'latest']:%m-%d}" == "03-11"


def test_three_points_give_the_chance_of_a_date(planned):
    """Expected days are worked; the chance is that of the published formula."""
    stages = [
        {"stage": "a", "work_days": 2, "work_days_least": 1, "work_days_most": 9},
        {"stage": "b", "after": "a", "work_days": 1},
    ]
    frame, ends, _ = planned(stages, TWO[:1], dates=[{"build": "B1", "not_after": "2026-03-13"}])
    assert frame["work_days"].tolist() == [3, 1]
    assert frame["variance"].tolist() == pytest.approx([16 / 9, 16 / 9])
    assert ends["chance"].tolist() == pytest.approx([0.7734], abs=1e-4)  # z = 0.75


def test_a_build_without_a_start_has_stages_without_days(planned):
    """It takes no bench; the other build is planned as if alone."""
    builds = [{**TWO[0], "start": None}, TWO[1]]
    frame, ends, _ = planned(STAGES, builds, {"benches": "bay 1; stand"})
    undated = frame[frame["build"] == "B1"]
    assert undated["stage"].tolist() == ["strip", "build", "run", "fit"]
    assert undated[["start", "finish", "latest", "begins", "slack"]].isna().all(axis=None)
    assert days(frame)["B2 strip"] == "03-09"
    assert ends["waits"].isna().tolist() == [True, False]


def test_places_that_hold_two_builds_are_asked_about(planned):
    """Only while no bench is named, and not for places of deferred stages."""
    _, _, findings = planned()
    (finding,) = findings
    assert finding.message.startswith(
        "bay 1, stand: two builds are there at once (B1 and B2 at bay 1)"
    )
    assert (finding.level, finding.sheet) == ("note", "shop")


@pytest.mark.parametrize(
    ("settings", "says"),
    [
        ({"benches": "bay 1 = two"}, 'benches is "bay 1 = two"; write the places'),
        ({"benches": "bay 1 = 0"}, "write the places"),
        ({"benches": "people"}, "write the places"),
        ({"people": "two"}, 'people is "two"; write how many'),
        ({"people": "0"}, "write how many"),
        ({"people": "-1"}, "write how many"),
    ],
)
def test_settings_that_cannot_be_understood(planned, settings, says):
    """Refused with what to write; the finding names the sheet."""
    with pytest.raises(InputError) as raised:
        planned(settings=settings)
    assert says in str(raised.value)
    assert [f.sheet for f in raised.value.findings] == ["shop"]


def test_a_bench_that_no_stage_names(planned):
    """A slip of the pen would silently limit nothing."""
    _, _, findings = planned(settings={"benches": "bay1; stand = 2; bay 1 = 2"})
    (finding,) = findings
    assert finding.message.startswith(
        'no stage is worked at "bay1", which the setting benches names; nearest: bay 1'
    )


def test_days_outside_the_calendar_are_told(planned):
    """A day to keep in another century is not kept; work beyond the years has no day."""
    _, _, findings = planned(builds=TWO[:1], dates=[{"build": "B1", "not_after": "2126-03-15"}])
    assert ["outside the years" in f.message for f in findings] == [True]
    long = [{"stage": "a", "work_days": 5000}]
    frame, _, findings = planned(long, TWO[:1])
    assert frame["finish"].isna().all()
    assert [(f.level, "beyond the years" in f.message) for f in findings] == [("stop", True)]


def test_nothing_to_plan(planned):
    """No builds, no stages: empty tables and no findings."""
    for given in (((), TWO), (STAGES, [])):
        frame, ends, findings = planned(*given)
        assert frame.empty
        assert ends.empty
        assert not findings


def test_frames_are_left_as_they_were(shop_of, frame_of):
    """Nothing that is given is altered."""
    shop = shop_of(
        {"benches": "bay 1"}, stages=[{"assembly": "engine", **s} for s in STAGES], builds=TWO
    )
    before = {n: f.copy() for n, f in shop.tables.items()}
    schedule(shop, shop["builds"], frame_of("built_in"), calendars(shop, DAY))
    for name, frame in before.items():
        pd.testing.assert_frame_equal(frame, shop[name])

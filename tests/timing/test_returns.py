"""Stages that wait for jobs which are sent out: when they are ready, and how sure that is."""

from __future__ import annotations

from datetime import date

import numpy as np
import pandas as pd
import pytest

from kitting.plan import by_sampling, plan
from kitting.reading.catalogs import catalogs
from kitting.reading.references import references
from kitting.timing import calendars, lead_times
from kitting.timing.survival import EARLIEST

DAY = date(2026, 3, 9)  # a Monday
STAGES = [
    {"assembly": "engine", "stage": "strip", "work_days": 2.0},
    {"assembly": "engine", "stage": "away", "after": "strip", "work_days": 6.0},
    {"assembly": "engine", "stage": "block", "after": "away", "work_days": 1.0},
    {"assembly": "engine", "stage": "run", "after": "block", "work_days": 1.0},
]
LINES = [
    {"assembly": "engine", "stage": "strip", "part": "puller", "quantity": 1},
    {"assembly": "engine", "stage": "block", "part": "OW-1", "quantity": 1},
    {"assembly": "engine", "stage": "block", "part": "oil", "quantity": 1},
    {"assembly": "engine", "stage": "run", "part": "oil", "quantity": 1},
]
OFFERS = [
    {
        "offer": 1,
        "supplier": "Shop",
        "part": "OW-1",
        "pack": 1,
        "per": 1,
        "price": 5,
        "lead_days": 5,
    },
    {
        "offer": 2,
        "supplier": "Near",
        "part": "puller",
        "pack": 1,
        "per": 1,
        "price": 5,
        "lead_days": 4,
    },
]
ON_SHELF = [{"part": "oil", "quantity": 2}, {"part": "puller", "quantity": 1}]


@pytest.fixture
def planned(shop_of):
    """Return a function: sheets to a plan of one build that starts on Monday 16 March."""

    def make(stock=ON_SHELF, lead=5, start="2026-03-16", **sheets):
        offers = [{**OFFERS[0], "lead_days": lead}, OFFERS[1]]
        lines = [{"line": n, "role": "seal", **row} for n, row in enumerate(LINES, 1)]
        rows = {
            "stages": STAGES,
            "parts": [{"part": "OW-1", "family": "outwork"}, {"part": "oil"}, {"part": "puller"}],
            "lines": lines,
            "offers": offers,
            "suppliers": [
                {"supplier": "Shop", "kind": "machine shop"},
                {"supplier": "Near", "kind": "dealer"},
            ],
            "builds": [{"build": "B1", "assembly": "engine", "start": start, "priority": 1}],
            "stock": [{"lot": f"L{n}", "place": "A1", **row} for n, row in enumerate(stock)],
            **sheets,
        }
        shop = shop_of({"goods_in_days": "1"}, **rows)
        return plan(shop, DAY, catalogs(), references(shop))

    return make


def of_stage(frame, stage, column):
    """Return one cell of a table by stage."""
    return frame.set_index("stage")[column][stage]


def share(found, late):
    """Return the share of the machine shop's jobs that come by some days after the stated one."""
    times = lead_times(found.shop, DAY, calendars(found.shop, DAY), catalogs().lead_classes)
    return times.share("Shop", "machine shop")[late - EARLIEST]


def test_a_job_is_a_delivery_from_the_day_on_which_it_goes(planned):
    """Out on Wednesday 18, five weekdays, a day of goods-in: Thursday 26, and block starts then."""
    found = planned()
    (job,) = found.outwork.itertuples(index=False)
    assert [f"{d:%m-%d}" for d in (job.out, job.back, job.usable, job.needed)] == [
        "03-18", "03-25", "03-26", "03-26",
    ]  # fmt: skip
    assert of_stage(found.chance, "block", "chance") == pytest.approx(share(found, 0))
    assert of_stage(found.chance, "strip", "chance") == 1
    assert of_stage(found.chance, "run", "chance") == pytest.approx(share(found, 0))
    assert of_stage(found.readiness, "block", "state") == "short"
    assert f"{of_stage(found.readiness, 'block', 'ready'):%m-%d}" == "03-26"
    need = found.needs.set_index("part").at["OW-1", "need"]
    in_time = found.need_chance.set_index("need").at[need, "chance_in_time"]
    assert in_time == pytest.approx(share(found, 0))


@pytest.mark.parametrize(("lead", "early"), [(3, 2), (4, 1), (5, 0), (6, -1), (8, -3)])
def test_days_to_spare_count(planned, lead, early):
    """So many days after the stated one it may come."""
    found = planned(lead=lead)
    assert of_stage(found.chance, "block", "chance") == pytest.approx(share(found, early))
    state = "short" if early >= 0 else "late"
    assert of_stage(found.readiness, "block", "state") == state


def test_a_job_on_the_shelf_is_back(planned):
    found = planned([*ON_SHELF, {"part": "OW-1", "quantity": 1}])
    assert found.outwork.empty
    assert of_stage(found.chance, "block", "chance") == 1


def test_an_ordered_job_comes_by_its_promise_but_not_before_it_goes(planned):
    """Promised for Tuesday: usable on Wednesday, as sure as a promise of the machine shop is."""
    line = {"order": "K1", "line": 1, "supplier": "Shop", "part": "OW-1", "quantity": 1,
            "build": "B1", "ordered": "2026-03-06", "promised": "2026-03-24"}  # fmt: skip
    found = planned(orders=[line])
    assert found.outwork["order"].tolist() == ["K1"]
    assert of_stage(found.readiness, "block", "state") == "coming"
    assert of_stage(found.chance, "block", "chance") == pytest.approx(share(found, 1), abs=1e-3)
    early = planned(orders=[{**line, "promised": "2026-03-12"}])
    assert early.outwork["order"].tolist() == [""]
    assert of_stage(early.chance, "block", "chance") == pytest.approx(share(early, 0))


def test_a_late_stage_before_sends_the_job_later(planned):
    """The puller is ordered on the 9th for the 16th: late, it holds the job back by as much.

    Reckoned by hand: what the stages between allow, and the puller's day and the job's slip.
    """
    found = planned(ON_SHELF[:1], lead=3)
    dealer = lead_times(found.shop, DAY, calendars(found.shop, DAY), catalogs().lead_classes)
    puller = dealer.share("Near", "dealer")[-EARLIEST - 1 :]  # usable on the 16th when on time
    late = np.diff(puller[1:], prepend=0.0)[:3]  # 0, 1 and 2 days later than that
    parts = sum(p * share(found, 2 - days) for days, p in enumerate(late.tolist()))
    assert of_stage(found.chance, "block", "parts") == pytest.approx(parts)
    # Nothing is to spare between strip and block, so the puller must be there on its day.
    exact = of_stage(found.chance, "block", "chance")
    assert exact == pytest.approx(late[0] * share(found, 2))
    drawn = by_sampling(found, "B1", catalogs(), 40_000, 3)
    near = of_stage(drawn, "block", "chance")
    assert near == pytest.approx(exact, abs=3 * of_stage(drawn, "block", "error"))


def test_the_carrier_brings_it_back(planned):
    """Two of the lead days are the van's, closed on Tuesday 24: usable on Friday instead."""
    suppliers = [
        {"supplier": "Shop", "kind": "machine shop", "carrier": "van"},
        {"supplier": "Near"},
    ]
    found = planned(
        suppliers=suppliers,
        carriers=[{"carrier": "van", "calendar": "every weekday", "days": 2}],
        closures=[{"calendar": "van", "day": "2026-03-24"}],
    )
    assert found.outwork["carrier"].tolist() == ["van"]
    assert f"{found.outwork['usable'][0]:%m-%d}" == "03-27"
    assert of_stage(found.readiness, "block", "state") == "late"


def test_a_job_that_nobody_does_never_comes(planned):
    found = planned(offers=OFFERS[1:])
    assert of_stage(found.readiness, "block", "state") == "late"
    assert pd.isna(of_stage(found.readiness, "block", "ready"))
    assert of_stage(found.chance, "block", "chance") == 0

"""Jobs that are sent out: when they go, when they are back, what they took off."""

from __future__ import annotations

from datetime import date

import pytest

from kitting.tables.times import OUTWORK_DAYS, TAKEN_OFF
from kitting.timing import calendars
from kitting.timing.outwork import outwork_days, outwork_findings, taken_off

DAY = date(2026, 3, 9)  # a Monday
STAGES = [
    {"assembly": "engine", "stage": "strip"},
    {"assembly": "engine", "stage": "away", "after": "strip"},
    {"assembly": "engine", "stage": "paint", "after": "away", "deferred": True},
    {"assembly": "engine", "stage": "block", "after": "away"},
]
TABLES = {
    "stages": STAGES,
    "parts": [
        {"part": "OW-1", "name": "clean the block", "family": "Outwork"},
        {"part": "OW-2", "name": "balance", "family": "job"},
        {"part": "PLUG", "name": "gallery plug"},
    ],
    "joints": [{"assembly": "engine", "joint": j} for j in ("gallery", "jets")],
    "outwork": [
        {"assembly": "engine", "job": "OW-1", "joint": "gallery", "part": "PLUG", "quantity": 3,
         "fate": "comes back"},
        {"assembly": "engine", "job": "OW-1", "joint": "jets", "part": "JET", "fate": "bought"},
        {"assembly": "engine", "job": "OW-1", "joint": "", "part": "DOWEL", "fate": ""},
        {"assembly": "engine", "job": "OW-2", "joint": "", "part": "KEY", "fate": "returns"},
        {"assembly": "pump", "job": "OW-1", "joint": "", "part": "CAM", "fate": "returns"},
    ],
    "offers": [
        {"offer": 1, "supplier": "Slow", "part": "OW-1", "lead_days": 9},
        {"offer": 2, "supplier": "Quick", "part": "OW-1", "lead_days": 5},
    ],
    "suppliers": [
        {"supplier": "Slow", "calendar": "every weekday"},
        {"supplier": "Quick", "calendar": "every weekday"},
    ],
}  # fmt: skip


@pytest.fixture
def sent(shop_of, frame_of):
    """Return a function: when the next stage starts, to shop and ``outwork_days``."""

    def make(needed="2026-03-20", coming=(), jobs=("OW-1",), start="2026-03-11", **tables):
        shop = shop_of({"goods_in_days": "1"}, **{**TABLES, **tables})
        days = [
            {"build": "B1", "assembly": "engine", "stage": s, "start": d}
            for s, d in [("strip", "2026-03-09"), ("away", start), ("block", needed),
                         ("paint", "2026-03-12")]
        ]  # fmt: skip
        asked = [
            {"required": n, "build": "B1", "assembly": "engine", "stage": "away", "part": p}
            for n, p in enumerate((*jobs, *jobs, "PLUG"))
        ]
        frame = outwork_days(
            shop, frame_of("required", *asked), frame_of("stage_days", *days),
            frame_of("coming", *coming), calendars(shop, DAY),
        )  # fmt: skip
        return shop, OUTWORK_DAYS.check(frame)

    return make


def shown(row):
    return [f"{d:%m-%d}" for d in (row.out, row.back, row.usable, row.needed)]


def test_out_after_a_stage_and_back_after_its_own_lead_time(sent):
    """Out on the stage's first day, back from the quicker shop, wanted by the next bench stage."""
    _, frame = sent()
    (row,) = frame.itertuples(index=False)
    assert (row.job, row.name, row.supplier, row.lead_days) == (
        "OW-1",
        "clean the block",
        "Quick",
        5,
    )
    assert shown(row) == ["03-11", "03-18", "03-19", "03-20"]
    assert (row.in_time, row.days_late) == (True, 0)
    assert not list(outwork_findings(frame))


def test_a_job_that_is_back_too_late(sent):
    """Two working days, and what may be done."""
    _, frame = sent(needed="2026-03-17")
    assert (frame["in_time"].tolist(), frame["days_late"].tolist()) == ([False], [2])
    (finding,) = outwork_findings(frame)
    assert (
        "back from Quick and usable 2026-03-19, 2 working days after it is wanted"
        in finding.message
    )
    assert (finding.level, finding.about) == ("warn", "B1")


def test_the_promise_of_its_order_counts_instead(sent):
    """Of orders for this build; the latest where there are two."""
    order = {"order": "K1", "line": 1, "supplier": "Slow", "part": "OW-1", "build": "B1",
             "promised": "2026-03-25", "usable": "2026-03-26"}  # fmt: skip
    _, frame = sent(coming=[order, {**order, "line": 2, "promised": "2026-03-24"}])
    (row,) = frame.itertuples(index=False)
    assert (row.supplier, shown(row)[1:3], row.days_late) == ("Slow", ["03-25", "03-26"], 4)
    assert frame["lead_days"].isna().all()
    _, other = sent(coming=[{**order, "build": ""}])
    assert other["supplier"].tolist() == ["Quick"]


def test_a_job_that_nobody_offers(sent):
    """It is a job since the sheet names it, and nobody knows when it is back."""
    _, frame = sent(jobs=("OW-2",))
    assert (frame["job"].tolist(), frame["in_time"].tolist()) == (["OW-2"], [False])
    (finding,) = outwork_findings(frame)
    assert finding.message.startswith("build B1: balance has no offer")


def test_without_days_nothing_is_in_time(sent):
    """A build without a start: no day to go out, none to be back."""
    _, frame = sent(start=None)
    assert frame[["out", "back", "usable"]].isna().all(axis=None)
    (finding,) = outwork_findings(frame)
    assert "has no day to be back" in finding.message


def test_a_job_that_nothing_follows_is_in_time(sent):
    """Nobody waits for it."""
    _, frame = sent(stages=STAGES[:3])
    assert frame["needed"].isna().all()
    assert frame["in_time"].all()


def test_no_jobs_no_rows(sent):
    """A build without outwork has none."""
    _, frame = sent(jobs=())
    assert frame.empty


def test_the_list_of_what_was_taken_off(sent, frame_of):
    """Of this assembly and job, at joints that the build has; each says what to look for."""
    shop, frame = sent(jobs=("OW-1", "OW-2"))
    joints = frame_of("build_joints", {"build": "B1", "assembly": "engine", "joint": "gallery"})
    found = TAKEN_OFF.check(taken_off(shop, joints, frame))
    rows = {r.part: r for r in found.itertuples(index=False)}
    assert list(rows) == ["PLUG", "DOWEL", "KEY"]
    assert (rows["PLUG"].name, rows["PLUG"].quantity) == ("gallery plug", 3)
    assert "comes back loose" in rows["PLUG"].check
    assert "ask before the job goes out" in rows["DOWEL"].check
    assert "fitted again" in rows["KEY"].check
    assert f"{rows['PLUG'].day:%m-%d}" == "03-19"
    assert found["quantity"].isna().tolist() == [False, True, True]
    bare, _ = sent(outwork=[])
    assert taken_off(bare, joints, frame).empty


WORK = {
    "stages": [
        {"assembly": "engine", "stage": "strip"},
        {"assembly": "engine", "stage": "away", "after": "strip"},
        {"assembly": "engine", "stage": "block", "after": "away"},
        {"assembly": "engine", "stage": "head", "after": "block"},
        {"assembly": "pump", "stage": "open"},
        {"assembly": "pump", "stage": "close", "after": "open"},
    ],
    "lines": [
        {"line": n, "assembly": a, "stage": s, "part": p}
        for n, (a, s, p) in enumerate([("engine", "strip", "WIPE"), ("engine", "block", "PLUG"),
                        ("engine", "head", "PLUG"), ("pump", "open", "WIPE"),
                        ("pump", "close", "PLUG")])
    ],
}  # fmt: skip
DAYS = [
    ("engine", "strip", "2026-03-09", "2026-03-10"),
    ("engine", "away", "2026-03-11", "2026-03-17"),
    ("engine", "block", "2026-03-18", "2026-03-18"),
    ("engine", "head", "2026-03-20", "2026-03-20"),
    ("pump", "open", "2026-03-12", "2026-03-13"),
    ("pump", "close", "2026-03-26", "2026-03-26"),
]


@pytest.mark.parametrize(
    ("assembly", "stage", "expected"),
    [
        # The stage before is empty: the job is out in it and wanted by the one that asks.
        ("engine", "block", ["03-11", "03-18", "03-19", "03-18"]),
        # Further on, the nearest empty stage before counts.
        ("engine", "head", ["03-11", "03-18", "03-19", "03-20"]),
        # The empty stage itself asks: the next one wants it.
        ("engine", "away", ["03-11", "03-18", "03-19", "03-18"]),
        # No empty stage: the first stage takes it off, and it goes on the next working day.
        ("pump", "close", ["03-16", "03-23", "03-24", "03-26"]),
    ],
)
def test_a_job_is_out_while_nothing_is_done_on_the_bench(
    shop_of, frame_of, assembly, stage, expected
):
    """Five working days away and one in goods-in, from the day on which it can go."""
    shop = shop_of({"goods_in_days": "1"}, **{**TABLES, **WORK})
    days = [
        {"build": "B1", "assembly": a, "stage": s, "start": b, "finish": e} for a, s, b, e in DAYS
    ]
    asked = {"required": 1, "build": "B1", "assembly": assembly, "stage": stage, "part": "OW-1"}
    frame = outwork_days(
        shop, frame_of("required", asked), frame_of("stage_days", *days), frame_of("coming"),
        calendars(shop, DAY),
    )  # fmt: skip
    (row,) = OUTWORK_DAYS.check(frame).itertuples(index=False)
    assert shown(row) == expected
    assert row.days_late == (expected == ["03-11", "03-18", "03-19", "03-18"])


def test_a_job_before_everything_sends_nothing(shop_of, frame_of):
    """A crane that lifts the engine out: nothing of the build is away."""
    shop = shop_of(**{**TABLES, **WORK})
    asked = {"required": 1, "build": "B1", "assembly": "engine", "stage": "strip", "part": "OW-1"}
    days = [{"build": "B1", "assembly": "engine", "stage": "strip", "start": "2026-03-09"}]
    assert outwork_days(
        shop, frame_of("required", asked), frame_of("stage_days", *days), frame_of("coming"),
        calendars(shop, DAY),
    ).empty  # fmt: skip

"""How sure needs, stages and builds are; what decides it; what to do today."""

from __future__ import annotations

from datetime import date
from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest

from kitting.tables.outlook import CHANCE, DELIVERIES, DRIVERS, NEED_CHANCE, TODAY
from kitting.timing import (
    Planned,
    calendars,
    coming,
    lead_times,
    likely_days,
    look_ahead,
    offer_days,
    order_by,
    stage_days,
)

DAY = date(2026, 3, 9)  # a Monday
STAGES = [
    {"assembly": "engine", "stage": "strip", "work_days": 2.0},
    {"assembly": "engine", "stage": "block", "after": "strip", "work_days": 3.0},
    {"assembly": "engine", "stage": "paint", "after": "strip", "work_days": 1.0},
    {"assembly": "engine", "stage": "aboard", "after": "block", "deferred": True, "work_days": 1.0},
    {"assembly": "engine", "stage": "run", "after": "block; paint", "work_days": 1.0},
]
CLASSES = pd.DataFrame(
    [{"class": "any", "also": "", "by_days": True, "stated_from": 0, "p50": 0, "p90": 3,
      "on_time": 80, "source": "test"}]
)  # fmt: skip
NEXT = {"start": "2026-03-16"}  # strip Monday, block and paint Wednesday, run next Monday


def need(number, stage, part, day, **more):
    return {
        "need": number, "build": "B1", "assembly": "engine", "stage": stage, "part": part,
        "quantity": 1, "day": day, "deferred": stage == "aboard", **more,
    }  # fmt: skip


def order(name, part, promised, ordered="2026-03-02"):
    return {
        "order": name, "line": 1, "supplier": "Near", "part": part, "quantity": 1,
        "ordered": ordered, "promised": promised,
    }  # fmt: skip


@pytest.fixture
def look(shop_of, frame_of):
    """Return a function: orders, offers by part, and needs to the look ahead.

    A need of a part that is ordered is covered by its order, one that is offered by a buy, one in
    ``shelf`` from the shelf, any other by nothing.
    """

    def make(needs, orders=(), offers=None, shelf=(), builds=None, confidence="90", **tables):
        bought = {part: (n, *of) for n, (part, of) in enumerate((offers or {}).items(), 1)}
        shop = shop_of(
            {"confidence": confidence},
            suppliers=[{"supplier": "Near"}],
            orders=list(orders),
            offers=[
                {"offer": n, "supplier": "Near", "part": p, "lead_days": d}
                for p, (n, d, _) in bought.items()
            ],
            stages=STAGES,
            **tables,
        )
        made = calendars(shop, DAY)
        open_ = frame_of("builds", *(builds or [{"build": "B1", "assembly": "engine", **NEXT}]))
        inside = frame_of("built_in")
        on_way = coming(shop, DAY, made)
        lots = [{"part": p, "order": "", "from_day": "2026-03-09"} for p in shelf]
        lots += [
            {"part": r.part, "order": r.order, "from_day": r.usable}
            for r in on_way.itertuples()
        ]  # fmt: skip
        supply = frame_of("supply", *({"supply": n, **lot} for n, lot in enumerate(lots, 1)))
        lot_of = dict(zip(supply["part"], supply["supply"], strict=True))
        wanted = frame_of("needs", *needs)
        picks, pegs = [], []
        for row in wanted.itertuples():
            if row.part in lot_of:
                picks.append({"need": row.need, "supply": lot_of[row.part], "covers": 1})
            elif row.part in bought:
                pegs.append({"buy": bought[row.part][0], "need": row.need, "quantity": 1})
        buys = frame_of(
            "buys",
            *(
                {"buy": n, "offer": n, "supplier": "Near", "part": p, "arrives": arrives,
                 "day": min(r["day"] for r in needs if r["part"] == p)}
                for p, (n, _, arrives) in bought.items()
            ),
        )  # fmt: skip
        times = lead_times(shop, DAY, made, CLASSES)
        planned = Planned(
            stage_days=stage_days(shop, open_, inside, made),
            built_in=inside,
            needs=wanted,
            supply=supply,
            picks=frame_of("picks", *picks),
            coming=on_way,
            outwork=frame_of("outwork_days"),
            offer_days=offer_days(shop, DAY, made, None),
            buys=buys,
            buy_needs=frame_of("buy_needs", *pegs),
            order_by=order_by(shop, buys, made, likely_days(shop, times)),
        )
        ahead = look_ahead(shop, open_, DAY, made, times, planned)
        for table, frame in (
            (CHANCE, ahead.chance), (NEED_CHANCE, ahead.need_chance), (DRIVERS, ahead.drivers),
            (TODAY, ahead.today), (DELIVERIES, ahead.deliveries),
        ):  # fmt: skip
            table.check(frame)
        chance = {r.stage: r for r in ahead.chance.itertuples()}
        in_time = dict(
            zip(ahead.need_chance["need"], ahead.need_chance["chance_in_time"], strict=True)
        )
        return SimpleNamespace(
            chance=chance, need=in_time, drivers=ahead.drivers, today=ahead.today, times=times
        )

    return make


def test_what_is_on_the_shelf_is_sure(look):
    """Nothing awaited: every chance is 1, nothing decides, nothing to do."""
    found = look([need(1, "strip", "ring", "2026-03-16")], shelf=["ring"])
    assert {r.chance for r in found.chance.values()} == {1.0}
    assert {r.expected_late for r in found.chance.values()} == {0.0}
    assert found.need == {1: 1.0}
    assert found.drivers.empty
    assert found.today.empty


def test_a_buy_for_one_stage(look):
    """At the door on Tuesday when on time, usable on Wednesday, the day of the stage: 80 %."""
    found = look([need(1, "block", "ring", "2026-03-18")], offers={"ring": (6, "2026-03-17")})
    assert found.need[1] == pytest.approx(0.8)
    assert found.chance["strip"].chance == 1.0
    assert found.chance["block"].parts == pytest.approx(0.8)
    # What follows is late when it is late; paint is not.
    assert found.chance["run"].parts == 1.0
    assert found.chance["run"].chance == pytest.approx(0.8)
    assert found.chance["paint"].chance == 1.0
    assert found.chance[""].parts == pytest.approx(0.8)
    assert found.chance[""].chance == pytest.approx(0.8)
    assert found.chance[""].expected_late > 0.2
    assert found.chance["aboard"].chance == pytest.approx(0.8)


def test_slack_lets_a_stage_be_late_and_the_end_in_time(look):
    """Paint waits two days at no cost: its own chance is lower than that of the end."""
    found = look([need(1, "paint", "tin", "2026-03-18")], offers={"tin": (6, "2026-03-17")})
    assert found.chance["paint"].chance == pytest.approx(0.8)
    assert found.chance["run"].chance > 0.85
    assert found.chance[""].parts == pytest.approx(0.8)
    assert found.chance[""].chance == found.chance["run"].chance
    assert found.chance["paint"].expected_late > found.chance[""].expected_late


def test_one_delivery_counts_once_two_count_as_two(look):
    """Two parts of one order come together; of two orders they come each by its own chance."""
    needs = [need(1, "block", "ring", "2026-03-18"), need(2, "block", "pin", "2026-03-18")]
    together = look(needs, offers={"ring": (6, "2026-03-17"), "pin": (6, "2026-03-17")})
    assert together.chance["block"].chance == pytest.approx(0.8)
    apart = look(needs, offers={"ring": (6, "2026-03-17"), "pin": (5, "2026-03-16")})
    share = [apart.need[1], apart.need[2]]
    assert apart.chance["block"].chance == pytest.approx(share[0] * share[1])
    assert share[1] > share[0]


def test_what_nobody_brings_leaves_no_chance(look):
    """No source: chance 0, no days late that could be told, and it is to be found."""
    found = look(
        [need(1, "block", "ring", "2026-03-18"), need(2, "block", "core", "2026-03-18")],
        parts=[{"part": "core", "customer_supplied": True}, {"part": "ring"}],
    )
    assert found.need == {1: 0.0, 2: 0.0}
    assert found.chance["strip"].chance == 1.0
    assert found.chance["run"].chance == 0.0
    assert np.isnan(found.chance["run"].expected_late)
    assert found.chance["paint"].expected_late == 0.0
    rows = found.today.to_dict("records")
    assert [(r["do"], r["part"]) for r in rows] == [("find", "ring"), ("ask", "core")]
    worst = found.drivers.iloc[0]
    assert (worst["delivery"], worst["supplier"], worst["chance"]) == (-1, "", 0.0)


def test_deferred_stages_never_hold_the_bench(look):
    """A part for the stage aboard lowers its own chance and no other."""
    found = look([need(1, "aboard", "hose", "2026-03-23")])
    assert found.chance["aboard"].chance == 0.0
    assert found.chance["run"].chance == 1.0
    assert found.chance[""].chance == 1.0
    assert found.chance[""].parts == 1.0
    assert found.today.empty


def test_the_delivery_that_decides(look):
    """The least sure first, with what a day sooner would add."""
    found = look(
        [need(1, "block", "ring", "2026-03-18"), need(2, "run", "oil", "2026-03-23")],
        orders=[order("K7", "ring", "2026-03-18")],
        offers={"oil": (2, "2026-03-11")},
    )
    first, last = found.drivers.to_dict("records")
    assert (first["order"], last["order"], last["supplier"]) == ("K7", "", "Near")
    assert first["chance"] < last["chance"]
    whole = found.chance[""].parts
    assert whole == pytest.approx(first["chance"] * last["chance"])
    assert first["without"] == pytest.approx(last["chance"])
    assert first["gain"] > 0.5 * last["chance"]
    assert first["late_saved"] > 0.5


def test_what_to_chase(look):
    """What is overdue, and what is not sure enough; not what comes long before its day."""
    found = look(
        [
            need(1, "strip", "ring", "2026-03-16"),
            need(2, "block", "pin", "2026-03-18"),
            need(3, "run", "oil", "2026-03-23"),
        ],
        orders=[
            order("K1", "ring", "2026-03-13"),
            order("K2", "pin", "2026-03-05", "2026-02-23"),
            order("K3", "oil", "2026-03-09"),
            order("K4", "spare", "2026-03-05", "2026-02-23"),
        ],
        confidence="75",
    )
    rows = found.today.to_dict("records")
    assert {(r["do"], r["order"], r["stage"]) for r in rows} == {
        ("chase", "K1", "strip"), ("chase", "K2", "block"), ("chase", "K4", ""),
    }  # fmt: skip
    assert rows[0]["order"] == "K1"
    assert rows[0]["chance"] == found.need[1] < 0.75 < found.need[3]
    assert [pd.isna(r["chance"]) for r in rows] == [False, False, True]


def test_what_to_order_today(look):
    """Ordered today it is there with confidence, tomorrow it is not; what has time is not told."""
    # Likely within 6 + 3 days; needed on Monday the 23rd, at the door on Friday the 20th.
    found = look(
        [need(1, "run", "oil", "2026-03-23"), need(2, "run", "plug", "2026-03-23")],
        offers={"oil": (6, "2026-03-17"), "plug": (2, "2026-03-11")},
    )
    (row,) = found.today.to_dict("records")
    assert (row["do"], row["part"], row["supplier"]) == ("order", "oil", "Near")
    assert str(row["by"])[:10] == "2026-03-09"
    assert row["chance"] >= 0.9 > row["tomorrow"]


def test_builds_without_a_start_have_all_the_time(look):
    """No day, no hurry: what somebody brings is sure, what nobody brings is not."""
    builds = [{"build": "B1", "assembly": "engine"}]
    needs = [need(1, "block", "ring", pd.NaT), need(2, "run", "pin", pd.NaT)]
    found = look(needs[:1], orders=[order("K1", "ring", "2026-03-18")], builds=builds)
    assert found.need[1] > 0.99
    assert found.chance[""].chance > 0.99
    assert look(needs, shelf=["ring"], builds=builds).chance[""].chance == 0.0


def test_a_build_under_way_counts_from_today(look):
    """Its first stage began last week: what it lacks is due now, and all after it moves."""
    builds = [{"build": "B1", "assembly": "engine", "start": "2026-03-05"}]
    found = look(
        [need(1, "strip", "ring", "2026-03-09")],
        orders=[order("K1", "ring", "2026-03-10")],
        builds=builds,
    )
    assert found.need[1] == 0.0
    assert found.chance["strip"].chance == 0.0
    assert found.chance["run"].expected_late >= 2.0

"""The bench page: every stage of the day on its bench, with what it lacks."""

from __future__ import annotations

from datetime import date

import pandas as pd
import pytest
from outputs.browser import CHROMIUM, looked_at

from kitting.outputs.board import board_document, board_page
from kitting.plan import plan
from kitting.reading.catalogs import catalogs
from kitting.reading.references import references

MONDAY = date(2026, 3, 16)


@pytest.fixture(scope="module")
def busy(demo_shop):
    """Return the plan of a Monday on which two builds want one bay."""
    return plan(demo_shop, MONDAY, catalogs(), references(demo_shop))


@pytest.fixture(scope="module")
def board(busy):
    return board_document(busy)


def test_each_stage_of_the_day_is_on_its_bench(busy, board):
    """Bench stages with the day between start and finish, no other; those in the setting first."""
    day = pd.Timestamp(MONDAY)
    frame = busy.stage_days[~busy.stage_days["deferred"]]
    there = frame[(frame["start"] <= day) & (frame["finish"] >= day)]
    expected = set(zip(there["place"], there["build"], there["stage"], strict=True))
    found = {(b["place"], s["build"], s["stage"]) for b in board["benches"] for s in b["now"]}
    assert found == expected
    assert len(found) > 2
    names = [b["place"] for b in board["benches"]]
    assert names[:4] == ["bay 1", "bench 2", "bench 3", "run stand"]


def test_a_bench_that_too_many_want_is_told(board, demo_shop):
    """Bay 1 holds one build; with two bays nobody is in the way."""
    told = {b["place"]: b["too_many"] for b in board["benches"]}
    assert told["bay 1"]
    assert not told["run stand"]
    settings = demo_shop["shop"].copy()
    settings.loc[settings["setting"] == "benches", "value"] = "bay 1 = 2"
    shop = demo_shop.replaced(shop=settings)
    wider = board_document(plan(shop, MONDAY, catalogs(), references(shop)))
    assert not any(b["too_many"] for b in wider["benches"])


def test_what_a_stage_lacks_is_what_the_plan_lacks(busy, board):
    """The crane, the bags and the engine itself, for the barge."""
    (bay,) = (b for b in board["benches"] if b["place"] == "bay 1")
    (stage,) = (s for s in bay["now"] if s["build"] == "B26-03")
    short = busy.shortages
    own = short[(short["build"] == "B26-03") & (short["assembly"] == stage["assembly"])]
    expected = set(own.loc[own["stage"] == stage["stage"], "part"])
    assert {p["part"] for p in stage["lacks"] if p["state"] == "short"} == expected


def test_orders_that_are_promised_or_overdue(board):
    """Glow plugs were promised eleven days ago; the gasket set on Friday."""
    found = {a["order"]: a["overdue"] for a in board["arriving"]}
    assert found["SEW-26-010"]
    assert found["SEW-26-009"]


def test_names_are_text(demo_shop):
    """A bench that is called like a piece of a page is shown, not run."""
    stages = demo_shop["stages"]
    shop = demo_shop.replaced(stages=stages.assign(place=stages["place"] + "<script>x</script>"))
    page = board_page(plan(shop, MONDAY, catalogs(), references(shop)))
    assert "<script" not in page
    assert "&lt;script&gt;" in page


@pytest.mark.skipif(not CHROMIUM, reason="chromium is not installed")
@pytest.mark.parametrize("width", [390, 1280])
def test_a_browser_shows_all_benches_within_the_screen(busy, board, width, tmp_path):
    """On a phone and on the wall: nothing sticks out, every bench has its card."""
    said = looked_at(board_page(busy), width, tmp_path)
    assert said["wide"] <= width
    assert said["over"] == 0
    for bench in board["benches"]:
        assert bench["place"] in said["text"]

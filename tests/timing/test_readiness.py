"""How each stage stands."""

from __future__ import annotations

import pandas as pd
import pytest

from kitting.tables.flow import READINESS
from kitting.timing import readiness

STAGE = {"build": "B1", "assembly": "engine"}
START = "2026-03-20"


@pytest.fixture
def stands(frame_of):
    """Return a function: frames of one stage ``head`` to its state and the day it is ready."""

    def make(needs, picks=(), buys=(), buy_needs=(), deferred=False):
        frame = readiness(
            frame_of(
                "stage_days", {**STAGE, "stage": "head", "start": START, "deferred": deferred}
            ),
            frame_of(
                "needs",
                *(
                    {
                        **STAGE,
                        "stage": "head",
                        "quantity": 4,
                        "day": START,
                        "deferred": deferred,
                        **n,
                    }
                    for n in needs
                ),
            ),
            frame_of(
                "supply",
                {"supply": 1, "from_day": "2026-03-09"},
                {"supply": 2, "from_day": "2026-03-18", "order": "K1"},
                {"supply": 3, "from_day": "2026-03-24", "order": "K2"},
            ),
            frame_of("picks", *picks),
            frame_of("buys", *buys),
            frame_of("buy_needs", *buy_needs),
        )
        READINESS.check(frame)
        assert len(frame) == 1
        ready = frame["ready"][0]
        return frame["state"][0], "" if pd.isna(ready) else f"{ready:%m-%d}"

    return make


ONE = [{"need": 1}]
SHELF = {"need": 1, "supply": 1, "covers": 4}


def buy(number, usable, quantity, need=1):
    return {"buy": number, "usable": usable}, {"buy": number, "need": need, "quantity": quantity}


def test_all_from_the_shelf_is_whole(stands):
    assert stands(ONE, [SHELF]) == ("whole", "03-09")


def test_a_stage_without_needs_is_whole_at_its_start(stands):
    assert stands([]) == ("whole", "03-20")


def test_some_by_an_order_in_time_is_coming(stands):
    picks = [{**SHELF, "covers": 1}, {"need": 1, "supply": 2, "covers": 3}]
    assert stands(ONE, picks) == ("coming", "03-18")


def test_an_order_that_comes_after_the_start_is_late(stands):
    assert stands(ONE, [{"need": 1, "supply": 3, "covers": 4}]) == ("late", "03-24")


def test_a_buy_in_time_is_short(stands):
    bought, served = buy(1, "2026-03-20", 4)
    assert stands(ONE, [], [bought], [served]) == ("short", "03-20")


def test_a_buy_after_the_start_is_late(stands):
    bought, served = buy(1, "2026-03-23", 4)
    assert stands(ONE, [], [bought], [served]) == ("late", "03-23")


def test_what_nobody_offers_is_late_and_its_day_unknown(stands):
    assert stands(ONE) == ("late", "")


def test_a_buy_that_covers_too_little_in_time_is_late(stands):
    """Three come in time and one does not; or three are all that is bought."""
    first, second = buy(1, "2026-03-18", 3), buy(2, "2026-03-25", 1)
    assert stands(ONE, [], [first[0], second[0]], [first[1], second[1]]) == ("late", "03-25")
    assert stands(ONE, [], [first[0]], [first[1]]) == ("late", "")


def test_a_buy_whose_day_is_unknown_is_late(stands):
    bought, served = buy(1, None, 4)
    assert stands(ONE, [], [bought], [served]) == ("late", "")


def test_the_worst_need_decides(stands):
    needs = [{"need": n} for n in (1, 2, 3)]
    picks = [SHELF, {"need": 2, "supply": 2, "covers": 4}]
    bought, served = buy(1, "2026-03-12", 4, need=3)
    assert stands(needs, picks, [bought], [served]) == ("short", "03-18")


def test_a_deferred_stage_is_deferred_whatever_it_lacks(stands):
    assert stands(ONE, [], deferred=True) == ("deferred", "")
    assert stands(ONE, [SHELF], deferred=True) == ("deferred", "03-09")


def test_a_deferred_need_does_not_hold_a_bench_stage(stands):
    needs = [{"need": 1}, {"need": 2, "deferred": True}]
    assert stands(needs, [SHELF]) == ("whole", "03-09")


def test_a_need_without_a_day_has_all_the_time_there_is(stands):
    """A build without a start is short, not late, when its parts can be bought at all."""
    bought, served = buy(1, "2027-03-20", 4)
    timeless = [{"need": 1, "day": None}]
    assert stands(timeless, [], [bought], [served]) == ("short", "03-20")
    picks = [{"need": 1, "supply": 3, "covers": 4}]
    assert stands(timeless, picks) == ("coming", "03-24")


def test_stages_that_only_needs_name_are_not_lost(frame_of):
    """They come after the stages with days."""
    frame = readiness(
        frame_of("stage_days", {**STAGE, "stage": "head", "start": START}),
        frame_of("needs", {**STAGE, "stage": "sump", "need": 1, "quantity": 1}),
        *(frame_of(name) for name in ("supply", "picks")),
        *(frame_of(name) for name in ("buys", "buy_needs")),
    )
    assert frame["stage"].tolist() == ["head", "sump"]
    assert frame["state"].tolist() == ["whole", "late"]


def test_nothing_gives_an_empty_table(frame_of):
    names = ("stage_days", "needs", "supply", "picks", "buys", "buy_needs")
    assert READINESS.check(readiness(*(frame_of(name) for name in names))).empty

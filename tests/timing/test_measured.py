"""Sizes that are measured first: the day to order, and what to have on the shelf instead."""

from __future__ import annotations

from datetime import date

import pytest

from kitting.tables.times import ASSORTMENT, MEASURED_DAYS
from kitting.timing import calendars
from kitting.timing.measured import choices, marks, measured_days, measured_findings
from kitting.timing.sizes import assortment, shares_of, stated_shares

DAY = date(2026, 3, 9)  # a Monday
PARTS = [{"part": f"SH-{n}", "family": "shim", "unit": "piece"} for n in (200, 205, 210)]
SHEET = {
    "assembly": "engine", "stage": "strip", "joint": "lash", "parts": "SH-200; SH-205; SH-210",
    "sizes": "2.00; 2.05; 2.10", "middle": 2.05, "spread": 0.03,
}  # fmt: skip
OFFERS = [
    {"offer": 1, "supplier": "Near", "part": "SH-200", "pack": 1, "price": 400, "per": 1,
     "lead_days": 2, "least_packs": 1, "from_packs": 1},
    {"offer": 2, "supplier": "Near", "part": "SH-205", "pack": 1, "price": 400, "per": 1,
     "lead_days": 2, "least_packs": 1, "from_packs": 1},
    {"offer": 3, "supplier": "Far", "part": "SH-210", "pack": 1, "price": 300, "per": 1,
     "lead_days": 9, "least_packs": 1, "from_packs": 1},
    {"offer": 4, "supplier": "Near", "part": "SH-210", "pack": 10, "price": 5000, "per": 10,
     "lead_days": 4, "least_packs": 1, "from_packs": 1},
]  # fmt: skip
SUPPLIERS = [
    {"supplier": s, "calendar": "every weekday", "currency": "EUR"} for s in ("Near", "Far")
]


@pytest.fixture
def shop(shop_of):
    """Return a function that makes a shop with shims to measure, with tables exchanged."""

    def make(settings=None, **tables):
        given = {"parts": PARTS, "measured": [SHEET], "offers": OFFERS, "suppliers": SUPPLIERS}
        return shop_of({"goods_in_days": "1", **(settings or {})}, **{**given, **tables})

    return make


@pytest.fixture
def days_of(shop, frame_of):
    """Return a function: a shop and when the joint is closed, to ``measured_days``."""

    def make(made=None, needed="2026-03-20", day=DAY, **row):
        made = made or shop()
        stages = [
            {"build": "B1", "assembly": "engine", "stage": "strip", "start": "2026-03-09",
             "finish": "2026-03-11"},
            {"build": "B1", "assembly": "engine", "stage": "close", "start": needed,
             "finish": needed},
        ]  # fmt: skip
        asked = {"required": 7, "build": "B1", "assembly": "engine", "stage": "close",
                 "joint": "lash", "part": "SH-205", "quantity": 4, **row}  # fmt: skip
        other = {**asked, "required": 8, "joint": "cover"}
        return measured_days(
            made, frame_of("required", asked, other), frame_of("stage_days", *stages),
            calendars(made, day), day,
        )  # fmt: skip

    return make


def test_the_lead_time_starts_at_the_measurement(days_of):
    """Measured on Wednesday, ordered on Thursday, four days and goods-in for the slowest size."""
    (row,) = MEASURED_DAYS.check(days_of()).itertuples(index=False)
    assert (row.required, row.measures, row.stage) == (7, "strip", "close")
    found = [f"{d:%m-%d}" for d in (row.measured, row.order, row.usable, row.needed)]
    assert found == ["03-11", "03-12", "03-19", "03-20"]
    assert (row.slowest, row.in_time, row.days_late) == ("SH-210", True, 0)


def test_a_stage_that_cannot_start_in_time_is_told(days_of):
    """Two working days late, and what may be done."""
    frame = days_of(needed="2026-03-17")
    assert (frame["in_time"].tolist(), frame["days_late"].tolist()) == ([False], [2])
    (finding,) = measured_findings(frame)
    assert (finding.level, finding.sheet, finding.about) == ("warn", "measured", "B1")
    assert "SH-210 can be used 2026-03-19, and close starts 2026-03-17" in finding.message


def test_sizes_of_which_the_shelf_holds_enough_need_no_order(days_of, shop):
    """With four of the slowest on the shelf the next slowest decides; kept or old ones do not."""
    stock = [{"part": "SH-210", "place": "bin", "quantity": 4}]
    found = days_of(shop(stock=stock))
    assert found["slowest"].tolist() == ["SH-200"]
    assert f"{found['usable'].iloc[0]:%m-%d}" == "03-17"
    for spoilt in ({"held_for": "B9"}, {"use_by": "2026-03-08"}, {"quantity": 3}):
        still = days_of(shop(stock=[{**stock[0], **spoilt}]))
        assert still["slowest"].tolist() == ["SH-210"]
    full = [{"part": p["part"], "place": "bin", "quantity": 4} for p in PARTS]
    whole = days_of(shop(stock=full), needed="2026-03-12")
    assert (whole["slowest"].tolist(), whole["in_time"].tolist()) == ([""], [True])


def test_a_measurement_that_lies_behind_is_ordered_today(days_of):
    """On the twentieth, nothing can be ordered on the twelfth."""
    frame = days_of(day=date(2026, 3, 21))
    assert f"{frame['order'].iloc[0]:%m-%d}" == "03-23"


def test_a_size_that_nobody_offers_is_never_in_time(days_of, shop):
    """And it is named."""
    frame = days_of(shop(offers=OFFERS[:2]))
    assert frame["not_offered"].tolist() == ["SH-210"]
    assert frame["usable"].isna().all()
    (finding,) = measured_findings(frame)
    assert "may be SH-210, which nobody offers" in finding.message


def test_a_build_without_days_has_no_day_to_order(days_of):
    """Nothing is said to be in time, and the cause is told."""
    frame = days_of(build="B2")
    assert frame[["measured", "order", "usable"]].isna().all(axis=None)
    (finding,) = measured_findings(frame)
    assert "since strip has none" in finding.message


def test_sizes_may_be_told_by_their_family(shop, frame_of):
    """Every part of the family is a choice; sizes that do not match in number are left out."""
    made = shop(measured=[{**SHEET, "parts": "", "family": "Shim", "sizes": "2.00; 2.05"}])
    (choice,) = choices(made)
    assert choice.parts == ("SH-200", "SH-205", "SH-210")
    assert choice.sizes == ()
    rows = [
        {"required": n, "assembly": "engine", "joint": j, "part": p}
        for n, (j, p) in enumerate([("lash", "SH-200"), ("lash", "NUT"), ("x", "SH-200")], 1)
    ]
    assert set(marks(made, frame_of("required", *rows))) == {1}
    assert marks(shop(measured=[]), frame_of("required", *rows)) == {}


def test_stated_shares_are_those_of_the_nearest_size():
    """A normal spread of one step: 31, 38 and 31 % of three sizes; order does not matter."""
    found = stated_shares([2.0, 2.05, 2.1], 2.05, 0.05)
    assert found == pytest.approx([0.3085, 0.3829, 0.3085], abs=1e-4)
    turned = stated_shares([2.1, 2.0, 2.05], 2.05, 0.05)
    assert turned == pytest.approx([found[2], found[0], found[1]])
    assert sum(found) == pytest.approx(1)
    for sizes, middle, spread in (([], 2, 1), ([1, 2], float("nan"), 1), ([1, 2], 1, 0)):
        assert stated_shares(sizes, middle, spread) == []


def test_shares_learn_from_past_builds(shop, frame_of):
    """What was used at the joint, or without a joint, counts; other joints do not."""
    (choice,) = choices(shop())
    rows = [
        {"entry": n, "part": p, "quantity": q, "joint": j}
        for n, (p, q, j) in enumerate(
            [("SH-210", 20, "lash"), ("SH-210", 10, ""), ("SH-200", 99, "else"), ("X", 5, "lash")]
        )
    ]
    before, none = shares_of(choice, frame_of("used"))
    after, past = shares_of(choice, frame_of("used", *rows))
    assert (none, past) == ("stated spread", "past builds and stated spread")
    assert sum(after) == pytest.approx(1)
    assert after[2] == pytest.approx((10 * before[2] + 30) / 40)
    blind = choices(shop(measured=[{**SHEET, "spread": None}]))[0]
    assert shares_of(blind, frame_of("used")) == ([pytest.approx(1 / 3)] * 3, "nothing")
    assert shares_of(blind, frame_of("used", *rows))[1] == "past builds"


@pytest.fixture
def held(shop, frame_of):
    """Return a function: a shop, count of the joint and chance to the table ``assortment``."""

    def make(made=None, count=2, chance=0.9, builds=1):
        rows = [
            {"build": f"B{n}", "assembly": "engine", "joint": "lash", "count": count}
            for n in range(builds)
        ]
        return ASSORTMENT.check(
            assortment(made or shop(), frame_of("build_joints", *rows), DAY, chance)
        )

    return make


def test_what_to_have_on_the_shelf(held, shop):
    """Two places, 20, 60 and 20 %: two of the middle and one of each other reach 92 %."""
    frame = held()
    assert frame["share"].tolist() == pytest.approx([0.2023, 0.5953, 0.2023], abs=1e-4)
    assert frame["buy"].tolist() == [1, 2, 1]
    assert frame["cost"].tolist() == [400, 800, 300]
    assert frame["chance"].unique().tolist() == pytest.approx([1 - 2 * 0.2023**2], abs=1e-3)
    there = held(shop(stock=[{"part": "SH-205", "place": "bin", "quantity": 2}]))
    assert there["buy"].tolist() == [1, 0, 1]
    assert there["shelf"].tolist() == [0, 2, 0]


def test_places_of_all_builds_count_together(held):
    """Three builds of two places are six places."""
    assert held(builds=3)["places"].tolist() == [6, 6, 6]
    assert held(count=0).empty


def test_a_place_that_takes_two_of_a_size(held, shop):
    """The bill asks for two at each place, so twice as many are held."""
    line = {"line": 1, "assembly": "engine", "joint": "lash", "part": "SH-205", "quantity": 2}
    assert held(shop(lines=[line]))["buy"].tolist() == [2, 4, 2]


def test_packs_currencies_and_days_of_prices(held, shop):
    """Whole packs; a price in another currency by its rate, and none without; old ones never."""
    only = [{**OFFERS[0]}, {**OFFERS[1]}, OFFERS[3]]
    assert held(shop(offers=only))["buy"].tolist() == [1, 2, 10]
    dollars = [{"supplier": "Near", "calendar": "every weekday", "currency": "USD"}, SUPPLIERS[1]]
    converted = held(shop({"rate USD": "0.5"}, suppliers=dollars))
    assert converted["cost"].tolist() == [200, 400, 300]
    without = held(shop(suppliers=dollars))
    assert without["chance"].tolist() == [0, 0, 0]
    assert without["buy"].sum() == 0
    old = [*OFFERS[:2], {**OFFERS[2], "valid_to": "2026-03-08"}, OFFERS[3]]
    assert held(shop(offers=old))["buy"].tolist() == [1, 2, 10]


@pytest.mark.parametrize("chance", [0, 1, 1.5, float("nan")])
def test_a_chance_that_cannot_be_planned_for(held, chance):
    """Certainty has no price."""
    with pytest.raises(ValueError, match=r"such as 0\.9"):
        held(chance=chance)

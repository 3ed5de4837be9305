"""What the shelf and the orders on the way can serve, and what is past it."""

from __future__ import annotations

import pandas as pd
import pytest
from netting.frames import FIRST, frame, on

from kitting.netting import expired, supply
from kitting.tables.flow import COMING, SUPPLY
from kitting.tables.shop import BY_NAME, empty_shop
from kitting.terms.words import Level

NO_ORDERS = COMING.empty()


def shop(stock, parts=({"part": "RTV", "unit": "ml", "open_days": 30},)):
    """Make a shop of some lots and parts; a lot holds 80 ml of RTV unless a row says so."""
    usual = {"part": "RTV", "lot": "L1", "place": "A3", "quantity": 80_000, "unit": "ml"}
    return empty_shop().replaced(
        stock=frame(BY_NAME["stock"], [{**usual, **row} for row in stock]),
        parts=frame(BY_NAME["parts"], list(parts)),
    )


def coming(*rows):
    usual = {"part": "RTV", "quantity": 1, "usable": on(3)}
    return frame(COMING, [{"order": "K1", "line": i, **usual, **r} for i, r in enumerate(rows, 1)])


@pytest.mark.parametrize(
    ("lot", "use_by"),
    [
        ({}, None),  # sealed and unlimited
        ({"use_by": on(50)}, 50),
        ({"opened": on(-5)}, 25),  # opened life of 30 days
        ({"use_by": on(50), "opened": on(-5)}, 25),  # the earlier of the two
        ({"use_by": on(10), "opened": on(-5)}, 10),
        ({"use_by": on(0)}, 0),  # its last day is today
        ({"part": "OIL", "opened": on(-900)}, None),  # no opened life is known
    ],
)
def test_a_lot_is_usable_from_today_to_the_earlier_of_its_limits(lot, use_by):
    """Use-by, opened life, both or none."""
    out = SUPPLY.check(supply(shop([lot]), NO_ORDERS, FIRST))
    assert out["from_day"].tolist() == [on(0)]
    if use_by is None:
        assert out["use_by"].isna().all()
    else:
        assert out["use_by"].tolist() == [on(use_by)]


@pytest.mark.parametrize(
    "lot",
    [
        {"use_by": on(-1)},  # past its use-by
        {"opened": on(-31)},  # past its opened life
        {"quantity": 0},  # empty
    ],
)
def test_lots_past_it_and_empty_ones_stay_out(lot):
    """What cannot be fitted is not promised."""
    out = supply(shop([lot]), NO_ORDERS, FIRST)
    pd.testing.assert_frame_equal(out, SUPPLY.empty())


def test_an_order_line_is_usable_when_it_is_through_goods_in():
    """It keeps its order and its build; without a day it covers nothing."""
    lines = coming({"build": "B1"}, {"usable": pd.NaT}, {"quantity": 0})
    out = SUPPLY.check(supply(shop([]), lines, FIRST))
    assert len(out) == 1
    row = out.iloc[0]
    assert (row["order"], row["held_for"], row["from_day"]) == ("K1", "B1", on(3))
    assert pd.isna(row["use_by"])


def test_numbers_do_not_depend_on_the_order_of_rows():
    """Part, shelf before order, order, line, place and lot give the number."""
    stock = [{"place": "B"}, {"place": "A"}, {"part": "AAA"}]
    lines = coming({}, {"part": "AAA"})
    there = supply(shop(stock), lines, FIRST)
    turned = supply(shop(stock[::-1]), lines.iloc[::-1], FIRST)
    pd.testing.assert_frame_equal(there, turned)
    assert there["supply"].tolist() == [1, 2, 3, 4, 5]
    assert there["part"].tolist() == ["AAA", "AAA", "RTV", "RTV", "RTV"]
    assert there["order"].tolist() == ["", "K1", "", "", "K1"]
    assert there["place"].tolist() == ["A3", "", "A", "B", ""]


def test_an_expired_lot_is_named_with_its_place_and_what_to_do():
    """Which lot, where, how much, since when; the part is what it is about."""
    (found,) = expired(shop([{"use_by": on(-1), "held_for": "B7"}, {"lot": "L2"}]), FIRST)
    assert found.level is Level.WARN
    assert (found.sheet, found.about) == ("stock", "RTV")
    for words in ("lot L1 of RTV at A3", "kept for B7", "80 ml", "use-by 2026-03-01", "count it"):
        assert words in found.message


def test_a_lot_past_its_opened_life_says_when_it_was_opened():
    """The reason is the opened life and not the use-by."""
    (found,) = expired(shop([{"opened": on(-31), "use_by": on(99), "lot": ""}]), FIRST)
    assert "the unmarked lot of RTV" in found.message
    assert "opened 2026-01-30 and its opened life ended 2026-03-01" in found.message


@pytest.mark.parametrize("lot", [{"use_by": on(0)}, {"opened": on(-30)}, {"quantity": 0}])
def test_nothing_is_expired_on_its_last_day_or_empty(lot):
    """The last day still belongs to the lot."""
    assert expired(shop([{**lot}]), FIRST) == ()


def test_every_lot_is_either_supply_or_expired_or_empty():
    """No lot falls between the two."""
    stock = [
        {"lot": f"L{i}", "use_by": on(by), "opened": on(opened), "quantity": quantity}
        for i, (by, opened, quantity) in enumerate(
            (by, opened, quantity)
            for by in (None, -2, -1, 0, 1)
            for opened in (None, -32, -31, -30, -1)
            for quantity in (0, 5)
        )
    ]
    there = supply(shop(stock), NO_ORDERS, FIRST)
    past = expired(shop(stock), FIRST)
    assert len(there) + len(past) == len(stock) // 2

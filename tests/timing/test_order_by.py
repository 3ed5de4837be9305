"""The latest day to order."""

from __future__ import annotations

from datetime import date

import pandas as pd

from kitting.tables.flow import ORDER_BY
from kitting.timing import calendars, order_by

DAY = date(2026, 3, 9)


def latest(shop_of, frame_of, needed, lead, **supplier):
    """Order-by day of one buy, as text."""
    shop = shop_of(
        suppliers=[{"supplier": "Near", "cut_off": "15:30", **supplier}],
        offers=[{"offer": 4, "supplier": "Near", "lead_days": lead}],
    )
    buys = frame_of("buys", {"buy": 1, "supplier": "Near", "offer": 4, "day": needed})
    frame = ORDER_BY.check(order_by(shop, buys, calendars(shop, DAY)))
    assert frame["cut_off"].tolist() == ["15:30"]
    return str(frame["order_by"][0])[:10]


def test_the_day_to_order_is_one_on_which_orders_are_taken(shop_of, frame_of):
    """Two working days before Thursday the 19th is a Tuesday; those who take none then go back."""
    assert latest(shop_of, frame_of, "2026-03-20", 2, order_days="Tue; Thu") == "2026-03-17"
    assert latest(shop_of, frame_of, "2026-03-20", 2, order_days="Mon") == "2026-03-16"
    assert latest(shop_of, frame_of, "2026-03-20", 2, order_days="Wed Fri") == "2026-03-13"


def test_lead_time_and_goods_in_are_counted_back(shop_of, frame_of):
    """Needed Friday the 20th: at the door on Thursday, ordered two days before."""
    assert latest(shop_of, frame_of, "2026-03-20", 2) == "2026-03-17"
    assert latest(shop_of, frame_of, "2026-03-16", 2) == "2026-03-11"
    assert latest(shop_of, frame_of, "2026-03-15", 2) == "2026-03-10"


def test_the_day_may_have_passed(shop_of, frame_of):
    assert latest(shop_of, frame_of, "2026-03-10", 30) == "2026-01-26"


def test_the_order_must_go_out_on_a_day_the_shop_works(shop_of, frame_of):
    """Someone who ships on Sunday must be told on Friday."""
    assert latest(shop_of, frame_of, "2026-03-17", 1, calendar="every day") == "2026-03-13"


def test_no_day_of_need_and_a_day_before_the_calendars_are_blank(shop_of, frame_of):
    assert latest(shop_of, frame_of, None, 2) == "NaT"
    assert latest(shop_of, frame_of, "2026-03-20", 9999) == "NaT"


def test_no_buys_give_an_empty_table(shop_of, frame_of):
    shop = shop_of()
    assert ORDER_BY.check(order_by(shop, frame_of("buys"), calendars(shop, DAY))).empty


def test_frames_are_left_as_they_were(shop_of, frame_of):
    shop = shop_of(
        suppliers=[{"supplier": "Near"}], offers=[{"offer": 4, "supplier": "Near", "lead_days": 3}]
    )
    buys = frame_of("buys", {"buy": 1, "supplier": "Near", "offer": 4, "day": "2026-03-20"})
    before = {name: frame.copy() for name, frame in shop.tables.items()}
    buys_before = buys.copy()
    order_by(shop, buys, calendars(shop, DAY))
    pd.testing.assert_frame_equal(buys, buys_before)
    for name, frame in shop.tables.items():
        pd.testing.assert_frame_equal(frame, before[name])


def test_with_likely_days_the_stated_day_stays_beside(shop_of, frame_of):
    """Three days stated, five likely: two supplier days sooner, and the stated day is told too."""
    shop = shop_of(
        suppliers=[{"supplier": "Near"}],
        offers=[{"offer": 4, "supplier": "Near", "lead_days": 3}],
    )
    buys = frame_of("buys", {"buy": 1, "supplier": "Near", "offer": 4, "day": "2026-03-20"})
    likely = frame_of("likely_days", {"offer": 4, "stated": 3, "likely": 5})
    made = calendars(shop, DAY)
    frame = ORDER_BY.check(order_by(shop, buys, made, likely))
    assert frame[["order_by", "stated"]].astype(str).to_numpy().tolist() == [
        ["2026-03-12", "2026-03-16"]
    ]
    alone = order_by(shop, buys, made)
    assert alone["order_by"].tolist() == alone["stated"].tolist() == frame["stated"].tolist()

"""Deliveries as chances over the shop's days."""

from __future__ import annotations

from datetime import date

import numpy as np
import pandas as pd
import pytest

from kitting.reading.catalogs import catalogs
from kitting.tables.outlook import DELIVERIES
from kitting.timing import calendars, coming, lead_times
from kitting.timing.deliveries import NO_DAY, deliveries
from kitting.timing.survival import EARLIEST

DAY = date(2026, 3, 9)  # a Monday
CLASSES = catalogs().lead_classes
OFFERS = [
    {"offer": 1, "supplier": "Near", "part": "ring", "lead_days": 2},
    {"offer": 2, "supplier": "Near", "part": "pin", "lead_days": 10},
]


def line(order="K1", number=1, promised="2026-03-11", ordered="2026-03-02", **more):
    return {
        "order": order, "line": number, "supplier": "Near", "part": "ring", "quantity": 1,
        "ordered": ordered, "promised": promised, **more,
    }  # fmt: skip


def buy(number=1, offer=1, arrives="2026-03-11", **more):
    return {"buy": number, "supplier": "Near", "offer": offer, "arrives": arrives, **more}


@pytest.fixture
def found(shop_of, frame_of):
    """Return a function: order lines and buys to deliveries."""

    def make(lines=(), buys=(), day=DAY, settings=None, classes=CLASSES, counts=None, **tables):
        suppliers = tables.pop("suppliers", [{"supplier": "Near", "kind": "distributor"}])
        shop = shop_of(settings, orders=list(lines), suppliers=suppliers, offers=OFFERS, **tables)
        made = calendars(shop, day)
        times = lead_times(shop, day, made, classes)
        # What is learned from the open orders themselves is left out of these tests.
        bought = frame_of("buys", *buys).assign(counts=pd.Timestamp(counts or day))
        frames = coming(shop, day, made), bought
        out = deliveries(shop, day, made, times, *frames)
        DELIVERIES.check(out.table)
        return out, times

    return make


def assumed(times, late):
    """Share that comes by some days after the stated one."""
    return times.share("Near", "distributor")[late - EARLIEST]


def test_a_buy_comes_by_its_class(found):
    """Stated for Wednesday, a day of goods-in: usable on Thursday as often as it is on time."""
    out, times = found(buys=[buy()])
    share = out.arrives[out.of_buy[0]]
    assert share[:3].tolist() == [0.0, 0.0, 0.0]
    assert share[3:6] == pytest.approx([assumed(times, n) for n in range(3)])
    assert share[3] == pytest.approx(0.85)
    assert (np.diff(share) >= 0).all()


def test_goods_in_and_days_off_put_off_what_can_be_used(found):
    """Without goods-in a day sooner; the shop closed on Thursday: usable on Friday."""
    out, _ = found(buys=[buy()], settings={"goods_in_days": "0"})
    assert out.arrives[0, :3].tolist() == [0.0, 0.0, pytest.approx(0.85)]
    closed = [{"calendar": "shop", "day": "2026-03-12"}]
    out, _ = found(buys=[buy()], closures=closed)
    # Number 3 is now Friday.
    assert out.arrives[0, 2:4].tolist() == [0.0, pytest.approx(0.85)]
    assert out.scale.at(pd.Series(pd.to_datetime(["2026-03-13"])))[0] == 3


def test_the_shops_days_have_numbers(found):
    """Today is 0, what has passed too; a weekend is the Monday after; a blank has all the time."""
    out, _ = found(buys=[buy()])
    days = ["2026-03-09", "2026-03-02", "2026-03-13", "2026-03-14", "2026-03-16", None]
    numbers = out.scale.at(pd.Series(pd.to_datetime(days)))
    assert numbers.tolist() == [0, 0, 4, 5, 5, NO_DAY]


def test_an_order_that_has_not_come_is_known_not_to_have(found):
    """Promised for last Thursday: what could have come by today has not, the rest is scaled up."""
    out, times = found([line(promised="2026-03-05", ordered="2026-02-23")])
    share = out.arrives[0]
    # Today is two weekdays after the promise; it counts from tomorrow, and a day of goods-in.
    assert share[:2].tolist() == [0.0, 0.0]
    gone = assumed(times, 2)
    expected = [(assumed(times, 2 + n) - gone) / (1 - gone) for n in (1, 2, 10)]
    assert share[[2, 3, 11]] == pytest.approx(expected)


def test_the_longer_it_is_overdue_the_less_soon_it_comes(found):
    """Late ones are mostly a little late: who is ten days late will hardly come tomorrow."""
    fresh, _ = found([line(promised="2026-03-06", ordered="2026-02-23")])
    old, _ = found([line(promised="2026-02-20", ordered="2026-02-02")])
    assert old.arrives[0, 4] < fresh.arrives[0, 4]


def test_an_order_that_is_due_today_may_come_today(found):
    """It counts from today, and a day of goods-in."""
    out, _ = found([line(promised="2026-03-09")], classes=None)
    assert out.arrives[0, :3].tolist() == [0.0, 1.0, 1.0]


def test_lines_with_one_promise_come_together(found):
    """One delivery for each promise of an order, and for each day on which buys come."""
    lines = [line("K1", 1), line("K1", 2), line("K1", 3, "2026-03-20"), line("K2", 1)]
    buys = [buy(1), buy(2), buy(3, 2, "2026-03-23")]
    out, _ = found(lines, buys)
    assert out.of_line.tolist() == [0, 0, 1, 2]
    assert out.of_buy.tolist() == [3, 3, 4]
    assert out.table["order"].tolist() == ["K1", "K1", "K2", "", ""]
    assert out.table["stated"].tolist() == [7, 14, 7, 2, 10]


def test_without_a_promise_the_offers_days_count_from_the_order(found):
    """Two days after last Monday was last Wednesday: it is overdue."""
    out, _ = found([line(promised=pd.NaT)])
    assert str(out.table["expected"][0])[:10] == "2026-03-04"
    assert out.arrives[0, 2] > 0


def test_what_has_no_day_never_comes(found):
    """No arrival that the calendars know: no chance by any day."""
    out, _ = found(buys=[buy(arrives=pd.NaT)])
    assert not out.arrives.any()
    assert pd.isna(out.table["likely"][0])


def test_the_day_within_the_confidence(found):
    """85 % by the stated Wednesday, nine in ten two days later."""
    out, _ = found(buys=[buy()])
    assert str(out.table["likely"][0])[:10] == "2026-03-13"
    out, _ = found(buys=[buy()], settings={"confidence": "80"})
    assert str(out.table["likely"][0])[:10] == "2026-03-11"


def test_ordered_tomorrow_it_comes_a_day_later(found):
    """Buys move by the supplier's working day; what is on the way does not."""
    out, _ = found([line()], [buy()])
    on_way, bought = out.of_line[0], out.of_buy[0]
    assert out.tomorrow[bought, 1:] == pytest.approx(out.arrives[bought, :-1])
    assert out.tomorrow[on_way].tolist() == out.arrives[on_way].tolist()
    # On a Saturday, today and the next working day both count from Monday.
    out, _ = found(buys=[buy(arrives="2026-03-18")], day=date(2026, 3, 14))
    assert out.tomorrow[0].tolist() == out.arrives[0].tolist()
    # After the cut-off, today's order counts from tomorrow as tomorrow's does.
    out, _ = found(buys=[buy(arrives="2026-03-12")], counts="2026-03-10")
    assert out.tomorrow[0].tolist() == out.arrives[0].tolist()


def test_a_buy_never_comes_before_it_is_ordered(found):
    """A supplier that is always early is not there yesterday."""
    past = [
        line(f"P{n}", 1, "2026-02-23", ordered="2026-02-09", part="pin", quantity=1)
        for n in range(40)
    ]
    came = [
        {"receipt": f"R{n}", "order": f"P{n}", "line": 1, "part": "pin", "quantity": 1,
         "received": "2026-02-10"}
        for n in range(40)
    ]  # fmt: skip
    out, _ = found(past, [buy()], receipts=came)
    assert out.arrives[0, 0] == 0.0
    assert out.arrives[0, 1] > 0.8


def test_nothing_to_come(found):
    """No orders and no buys: no deliveries."""
    out, _ = found()
    assert out.table.empty
    assert out.arrives.shape[0] == 0

"""How goods come by the days of a supplier and of who brings them."""

from __future__ import annotations

from datetime import date

import pandas as pd
import pytest

from kitting.reading.catalogs import catalogs
from kitting.tables.flow import COMING, ORDER_BY
from kitting.timing import (
    add_days,
    calendars,
    coming,
    findings,
    lead_times,
    likely_days,
    offer_days,
    order_by,
)
from kitting.timing.deliveries import deliveries
from kitting.timing.roads import carriers_of_orders
from kitting.timing.survival import EARLIEST

DAY = date(2026, 3, 30)  # Monday before Easter
EASTER = {"carrier": "van", "calendar": "GB-ENG"}  # closed Friday 3 and Monday 6 April


@pytest.fixture
def by_van(shop_of):
    """Return a function: lead days and cells of the carrier to the shop of one offer."""

    def make(lead, carrier=None, supplier=None, offer=None, settings=None, **tables):
        return shop_of(
            {"goods_in_days": "1", **(settings or {})},
            suppliers=[{"supplier": "Near", "carrier": "van", **(supplier or {})}],
            carriers=[{**EASTER, **(carrier or {})}, {"carrier": "night", "days": 1}],
            offers=[
                {"offer": 1, "supplier": "Near", "part": "ring", "lead_days": lead, **(offer or {})}
            ],
            **tables,
        )

    return make


def door(shop, day=DAY):
    """Return when the offer, ordered on a day, is at the door, and when it can be used."""
    frame = offer_days(shop, day, calendars(shop, day), None)
    return tuple(f"{d:%m-%d}" for d in (frame["arrives"][0], frame["usable"][0]))


@pytest.mark.parametrize(
    ("lead", "days", "arrives"),
    [
        # Leaves on Thursday after three weekdays; taken along that day, two more of the van's.
        (5, 2, "04-08"),
        # Leaves on Good Friday, on which the supplier works: taken along on Tuesday.
        (6, 2, "04-09"),
        # All of the lead days are the road's, and no fewer than the road takes.
        (2, 2, "04-01"),
        (0, 2, "04-01"),
        # On the road for no day: on Good Friday it waits for the van's next day.
        (4, 0, "04-07"),
        # Not said: the last of the lead days is one that both work.
        (3, pd.NA, "04-02"),
        (4, pd.NA, "04-07"),
        (5, pd.NA, "04-07"),
    ],
)
def test_the_road_goes_by_the_carriers_days(by_van, lead, days, arrives):
    """The supplier works on weekdays, the van not at Easter."""
    assert door(by_van(lead, {"days": days}))[0] == arrives


def test_a_carrier_without_a_calendar_works_when_the_supplier_does(by_van):
    assert door(by_van(4, {"calendar": ""}))[0] == "04-03"
    assert door(by_van(4, {"calendar": "", "days": 2}))[0] == "04-03"


def test_closing_days_under_the_carriers_name_are_its_own(by_van):
    """Closed on Wednesday: two days on the road from Tuesday end on Friday, not on Thursday."""
    shut = [{"calendar": "van", "day": "2026-04-01"}]
    shop = by_van(3, {"calendar": "every weekday", "days": 2}, closures=shut)
    assert door(shop)[0] == "04-03"
    assert not [f for f in findings(shop, COMING.empty(), DAY) if f.sheet == "closures"]
    plain = by_van(3, {"calendar": "every weekday", "days": 2})
    assert door(plain)[0] == "04-02"


def test_an_offer_may_name_its_own_carrier(by_van):
    """By the night van, which works when the supplier does, over Easter as well."""
    assert door(by_van(4, {"days": 2}, offer={"carrier": "night"}))[0] == "04-03"


def test_days_that_never_meet_are_the_carriers(by_van):
    """A supplier of Sunday to Thursday by a van that never works on those days cannot be."""
    shop = by_van(1, {"calendar": "every day"}, {"calendar": "IL"})
    assert door(shop, date(2026, 3, 29))[0] == "03-30"


def test_inspection_is_the_suppliers_where_it_is_said(by_van):
    """On Thursday at the door; two days in goods-in end on Monday, none on Thursday itself."""
    for days, usable in ((pd.NA, "04-03"), (2, "04-06"), (0, "04-02")):
        assert door(by_van(3, supplier={"inspection_days": days}))[1] == usable


@pytest.mark.parametrize(
    ("lead", "days", "sent"),
    [(5, 2, "2026-03-30"), (2, 2, "2026-04-02"), (4, pd.NA, "2026-04-02"), (4, 0, "2026-04-02")],
)
def test_the_day_to_order_goes_the_same_way_back(by_van, frame_of, lead, days, sent):
    """Needed on Thursday 9 April, at the door on Wednesday, two of the van's days back: Thursday 2.

    With five lead days that leaves three of the supplier's, back to Monday.
    """
    shop = by_van(lead, {"days": days})
    buys = frame_of("buys", {"buy": 1, "supplier": "Near", "offer": 1, "day": "2026-04-09"})
    made = calendars(shop, DAY)
    frame = ORDER_BY.check(order_by(shop, buys, made))
    assert str(frame["order_by"][0])[:10] == sent
    assert offer_days(shop, frame["order_by"][0].date(), made, None)["usable"][0] <= pd.Timestamp(
        "2026-04-09"
    )


def line(name="K1", promised="2026-04-03", **more):
    return {
        "order": name, "line": 1, "supplier": "Near", "part": "ring", "quantity": 1,
        "ordered": "2026-03-26", "promised": promised, **more,
    }  # fmt: skip


def test_a_promise_for_a_day_without_delivery_counts_from_the_next(by_van):
    """Good Friday: the van comes on Tuesday; goods-in ends on Wednesday."""
    for promised, usable in (("2026-04-03", "04-08"), ("2026-04-02", "04-03"), (None, "04-08")):
        shop = by_van(6, orders=[line(promised=promised)])
        frame = COMING.check(coming(shop, DAY, calendars(shop, DAY)))
        assert f"{frame['usable'][0]:%m-%d}" == usable


def test_an_order_comes_by_the_carrier_that_its_offers_tell(by_van, shop_of):
    """By the supplier's number first; where offers differ nobody knows; else as its goods do."""
    offers = [
        {"offer": n, "supplier": "Near", "part": part, "supplier_part": number, "carrier": carrier}
        for n, (part, number, carrier) in enumerate(
            [("ring", "R1", ""), ("ring", "R1-N", "night"), ("pin", "P1", "night")], 1
        )
    ]
    shop = shop_of(
        suppliers=[{"supplier": "Near", "carrier": "van"}, {"supplier": "Far"}],
        carriers=[EASTER, {"carrier": "night"}],
        offers=offers,
        orders=[
            line("K1", supplier_part="R1"),
            line("K2", supplier_part="R1-N"),
            line("K3"),
            line("K4", part="pin", supplier_part="unknown"),
            line("K5", part="nut"),
            line("K6", supplier="Far"),
        ],
    )
    found = carriers_of_orders(shop, shop["orders"])
    assert found == ["van", "night", "", "night", "van", ""]
    without = by_van(3, orders=[line()]).replaced(carriers=shop["carriers"].iloc[:0])
    assert carriers_of_orders(without, without["orders"]) == [""]


def test_each_carrier_is_learned_by_itself(shop_of):
    """Twelve by the van, four days late, twelve by night on time: each foretells its own."""
    offers = [
        {"offer": 1, "supplier": "Near", "part": "ring", "lead_days": 3},
        {"offer": 2, "supplier": "Near", "part": "pin", "lead_days": 3, "carrier": "night"},
    ]
    orders, receipts = [], []
    for n in range(24):
        part, came = ("ring", "2026-03-11") if n % 2 else ("pin", "2026-03-05")
        name = f"K{n}"
        orders.append(line(name, "2026-03-05", part=part, ordered="2026-03-02"))
        receipts.append(
            {"receipt": name, "order": name, "line": 1, "part": part, "quantity": 1,
             "received": came}
        )  # fmt: skip
    shop = shop_of(
        suppliers=[{"supplier": "Near", "carrier": "van"}],
        carriers=[{"carrier": "van"}, {"carrier": "night"}],
        offers=offers,
        orders=orders,
        receipts=receipts,
    )
    times = lead_times(shop, DAY, calendars(shop, DAY))
    kind = times.class_of("Near", 3)
    late = [times.share("Near", kind, c)[-EARLIEST] for c in ("van", "", "night")]
    assert late[0] < 0.4 < late[1] < 0.8 < late[2]
    assert times.days("Near", 3, "van") == 7


def test_lead_days_that_are_fewer_than_the_roads_are_told(by_van):
    """One stated, two on the road: two are counted, and somebody should know."""
    found = findings(by_van(1, {"days": 2}), COMING.empty(), DAY)
    assert [f.about for f in found] == ["ring"]
    assert found[0].message.startswith("Near states 1 working day for ring, and van takes 2")
    assert not findings(by_van(2, {"days": 2}), COMING.empty(), DAY)


@pytest.mark.parametrize("lead", [1, 3, 6, 9])
@pytest.mark.parametrize("days", [pd.NA, 0, 2])
def test_ordered_by_the_day_it_comes_with_the_confidence(by_van, frame_of, lead, days):
    """The day to order and the chance tell the same: not less sure that day, less the next."""
    shop = by_van(lead, {"days": days}, {"inspection_days": 2}, settings={"confidence": "90"})
    made = calendars(shop, DAY)
    times = lead_times(shop, DAY, made, catalogs().lead_classes)
    buy = {"buy": 1, "supplier": "Near", "offer": 1, "day": "2026-05-08"}
    frame = order_by(shop, frame_of("buys", buy), made, likely_days(shop, times))
    sent = frame["order_by"].dt.date[0]

    def chance(day):
        offered = offer_days(shop, day, made, None)
        bought = frame_of("buys", buy | {"arrives": offered["arrives"][0]})
        bought = bought.assign(counts=offered["counts"])
        found = deliveries(shop, day, made, times, COMING.empty(), bought)
        return found.arrives[0, found.scale.at(bought["day"])[0]]

    following = add_days(sent, 1, made["shop"])[0].astype(object)
    assert chance(sent) >= 0.9 > chance(following)


def test_what_two_carriers_bring_on_one_day_is_two_deliveries(by_van, frame_of):
    """Of one supplier, at the door on one day: each may be late by itself; by one carrier, one."""
    offers = [
        {"offer": n, "supplier": "Near", "part": f"p{n}", "lead_days": 3, "carrier": carrier}
        for n, carrier in enumerate(("", "night", "night"), 1)
    ]
    shop = by_van(3).replaced(offers=frame_of("offers", *offers))
    made = calendars(shop, DAY)
    offered = offer_days(shop, DAY, made, None).set_index("offer")
    rows = [
        {"buy": n, "offer": n, "supplier": "Near", "arrives": offered["arrives"][n]}
        for n in (1, 2, 3)
    ]
    bought = frame_of("buys", *rows).assign(counts=offered["counts"].to_numpy())
    times = lead_times(shop, DAY, made)
    found = deliveries(shop, DAY, made, times, COMING.empty(), bought)
    assert found.table["expected"].nunique() == 1
    assert found.of_buy.tolist() == [0, 1, 1]
    assert found.table["carrier"].tolist() == ["van", "night"]

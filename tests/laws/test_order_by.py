"""Ordering by the latest day is in time; ordering on the shop's next working day is not."""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np
import pandas as pd
from hypothesis import given, settings
from hypothesis import strategies as st

from kitting.tables.flow import BUYS
from kitting.tables.shop import BY_NAME, empty_shop
from kitting.timing import add_days, calendars, offer_days, order_by

MONDAY = date(2026, 3, 9)
CALENDARS = st.sampled_from(["every weekday", "every day", "GB-ENG", "US", "IL", "DE-BY"])
NEARBY = st.integers(-30, 60).map(lambda n: MONDAY + timedelta(n))


def frame(table, **cells):
    """Return one row of a contract; what is not given is blank or zero."""
    blank = {"text": "", "whole": 0, "whole or blank": pd.NA, "real": 0.0, "yes or no": False}
    row = {c.name: cells.get(c.name, blank.get(c.kind, pd.NaT)) for c in table.columns}
    return table.conform(pd.DataFrame([row]))


@settings(deadline=None, max_examples=150)
@given(
    own=CALENDARS,
    theirs=CALENDARS,
    lead=st.integers(0, 40),
    goods_in=st.tuples(st.integers(0, 3), st.integers(0, 5) | st.none()),
    need=NEARBY,
    shut=st.sets(st.tuples(st.sampled_from(["shop", "Near", "van"]), NEARBY), max_size=8),
    road=st.none() | st.tuples(st.just("") | CALENDARS, st.none() | st.integers(0, 6)),
    taken=st.sampled_from(["", "Tue; Thu", "Sun"]),
)
def test_order_by_is_the_inverse_of_offer_days(
    own, theirs, lead, goods_in, need, shut, road, taken
):
    """Whatever the calendars of shop, supplier and carrier, closing days, roads and inspection."""
    goods_in, inspection = goods_in
    settings_of_shop = {"calendar": own, "goods_in_days": str(goods_in)}
    closures = pd.DataFrame(sorted(shut), columns=["calendar", "day"]).assign(note="")
    closures["day"] = pd.to_datetime(closures["day"])
    shop = empty_shop().replaced(
        shop=BY_NAME["shop"].conform(
            pd.DataFrame(settings_of_shop.items(), columns=["setting", "value"])
        ),
        closures=BY_NAME["closures"].conform(closures),
        suppliers=frame(
            BY_NAME["suppliers"],
            supplier="Near",
            calendar=theirs,
            carrier="van" if road else "",
            inspection_days=pd.NA if inspection is None else inspection,
            order_days=taken,
        ),
        carriers=frame(
            BY_NAME["carriers"],
            carrier="van",
            calendar=road[0] if road else "",
            days=pd.NA if road is None or road[1] is None else road[1],
        ),
        offers=frame(BY_NAME["offers"], offer=1, supplier="Near", lead_days=lead),
    )
    made = calendars(shop, MONDAY)
    buys = frame(BUYS, buy=1, supplier="Near", offer=1, day=pd.Timestamp(need))
    latest = order_by(shop, buys, made)["order_by"].to_numpy("datetime64[D]")

    def usable(sent):
        return offer_days(shop, sent.astype(object), made, None)["usable"].to_numpy()[0]

    assert usable(latest[0]) <= np.datetime64(need)
    assert usable(add_days(latest, 1, made["shop"])[0]) > np.datetime64(need)

"""By which day past builds would have had to order, by what is known of lead times today."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from kitting.tables.outlook import PAST_ORDERS
from kitting.timing.calendars import SHOP, by_supplier, inspection_days
from kitting.timing.order_by import order_by
from kitting.timing.survival import CELLS, EARLIEST
from kitting.timing.workdays import add_days, as_days, count, outside

if TYPE_CHECKING:
    from collections.abc import Mapping

    from numpy.typing import NDArray

    from kitting.tables.shop import Shop
    from kitting.terms.days import Calendar
    from kitting.timing.lead_times import LeadTimes


def past_orders(
    shop: Shop,
    required: pd.DataFrame,
    stage_days: pd.DataFrame,
    calendars: Mapping[str, Calendar],
    likely: pd.DataFrame,
    times: LeadTimes,
) -> pd.DataFrame:
    """Return the day to order, with the shop's confidence, of parts that once came late.

    Beside it stands the chance that the first order for the build, by its first promise, is through
    goods-in when the stage starts: as today's lead times know its supplier, not as it then came.

    Parameters
    ----------
    shop
        Reads ``forgotten``, ``offers``, ``orders`` and ``suppliers``.
    required, stage_days
        Tables of these names for the past builds.
    calendars
        From ``calendars``.
    likely
        Table ``likely_days``.
    times
        From ``lead_times``.

    Returns
    -------
    DataFrame
        Table ``past_orders``: by the offer that leaves the most time, and the day of the first
        order for the build, if one is on record.
    """
    late = shop["forgotten"].query("cause == 'late'")[["build", "part"]].drop_duplicates()
    rows = late.merge(required[["build", "assembly", "stage", "part"]], on=["build", "part"])
    rows = rows.merge(stage_days, on=["build", "assembly", "stage"]).sort_values("start")
    rows = rows.drop_duplicates(["build", "part"])[["build", "part", "start"]]
    rows = rows.merge(shop["offers"][["offer", "supplier", "part"]], on="part")
    if rows.empty:
        return PAST_ORDERS.empty()
    buys = rows.rename(columns={"start": "day"}).assign(buy=range(len(rows)))
    rows["order_by"] = order_by(shop, buys, calendars, likely)["order_by"].to_numpy()
    rows = rows.sort_values("order_by", kind="stable").drop_duplicates(
        ["build", "part"], keep="last"
    )
    sent = shop["orders"].sort_values("ordered", kind="stable").drop_duplicates(["build", "part"])
    sent = sent.assign(promised=sent["first_promised"].fillna(sent["promised"]))
    sent = sent[["build", "part", "ordered", "promised", "supplier"]]
    sent = sent.rename(columns={"supplier": "seller"})
    rows = rows.merge(sent, on=["build", "part"], how="left")
    rows["chance"] = float("nan")
    for seller, at in rows.groupby("seller").indices.items():
        some = rows.iloc[at]
        rows.iloc[at, rows.columns.get_loc("chance")] = _chances(
            shop, calendars, times, str(seller), some
        )
    rows = rows.assign(doubtful=rows["chance"] < times.confidence - 1e-9)
    return PAST_ORDERS.conform(rows[list(PAST_ORDERS.names)])


def _chances(
    shop: Shop, calendars: Mapping[str, Calendar], times: LeadTimes, seller: str, rows: pd.DataFrame
) -> NDArray[np.float64]:
    """Return the chance that goods promised for a day are through goods-in by the stage's start.

    NaN where a day is blank or the calendars do not reach it.
    """
    one = pd.Series([seller], dtype="str")
    lead = by_supplier(one, shop, calendars)[seller]
    days_in = int(inspection_days(shop, one)[0])
    days = [as_days(rows[c].to_numpy()) for c in ("ordered", "promised", "start")]
    known = ~np.logical_or.reduce([np.isnat(d) | outside(d, lead) for d in days])
    ordered, promised, start = (d[known] for d in days)
    door = add_days(start, -days_in, calendars[SHOP], back=True)
    # Working days of the seller from the promise to the last day at the door that will do.
    first, last = np.minimum(promised, door), np.maximum(promised, door)
    between = count(first + 1, last + 1, lead)
    room = np.where(door >= promised, between, -count(first, last, lead)) - EARLIEST
    shares = [
        times.share(seller, times.class_of(seller, stated))
        for stated in count(ordered, np.maximum(promised, ordered), lead).tolist()
    ]
    found = np.full(len(rows), np.nan)
    found[known] = [
        share[min(cell, CELLS - 1)] if cell >= 0 else 0.0
        for share, cell in zip(shares, room.tolist(), strict=True)
    ]
    return found

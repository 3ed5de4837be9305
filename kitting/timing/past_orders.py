"""By which day past builds would have had to order, by what is known of lead times today."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pandas as pd

from kitting.tables.outlook import PAST_ORDERS
from kitting.timing.calendars import SHOP, by_supplier, inspection_days
from kitting.timing.order_by import order_by
from kitting.timing.survival import CELLS, EARLIEST
from kitting.timing.workdays import add_days, as_days, count, outside

if TYPE_CHECKING:
    from collections.abc import Mapping

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
    chances = [
        _chance(shop, calendars, times, row) if row["promised"] is not pd.NaT else float("nan")
        for row in rows.to_dict("records")
    ]
    rows = rows.assign(chance=chances)
    rows = rows.assign(doubtful=rows["chance"] < times.confidence - 1e-9)
    return PAST_ORDERS.conform(rows[list(PAST_ORDERS.names)])


def _chance(
    shop: Shop, calendars: Mapping[str, Calendar], times: LeadTimes, row: Mapping[Any, Any]
) -> float:
    """Return the chance that goods promised for a day are through goods-in by the stage's start."""
    seller = pd.Series([row["seller"]], dtype="str")
    lead = by_supplier(seller, shop, calendars)[row["seller"]]
    days_in = int(inspection_days(shop, seller)[0])
    ordered, promised, start = as_days([row["ordered"], row["promised"], row["start"]])
    if outside(as_days([ordered, promised, start]), lead).any():
        return float("nan")
    door = add_days(start, -days_in, calendars[SHOP], back=True)[0]
    stated = int(count(ordered, promised, lead)[0])
    spare = (
        int(count(promised, door + 1, lead)[0]) - 1
        if door >= promised
        else -int(count(door, promised, lead)[0])
    )
    share = times.share(row["seller"], times.class_of(row["seller"], stated))
    at = spare - EARLIEST
    return float(share[min(at, CELLS - 1)]) if at >= 0 else 0.0

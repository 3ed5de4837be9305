"""By which day past builds would have had to order, by what is known of lead times today."""

from __future__ import annotations

from typing import TYPE_CHECKING

from kitting.tables.outlook import PAST_ORDERS
from kitting.timing.order_by import order_by

if TYPE_CHECKING:
    from collections.abc import Mapping

    import pandas as pd

    from kitting.tables.shop import Shop
    from kitting.terms.days import Calendar


def past_orders(
    shop: Shop,
    required: pd.DataFrame,
    stage_days: pd.DataFrame,
    calendars: Mapping[str, Calendar],
    likely: pd.DataFrame,
) -> pd.DataFrame:
    """Return the day to order, with the shop's confidence, of parts that once came late.

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
    sent = shop["orders"].groupby(["build", "part"])["ordered"].min().rename("ordered")
    rows = rows.merge(sent.reset_index(), on=["build", "part"], how="left")
    return PAST_ORDERS.conform(rows[list(PAST_ORDERS.names)])

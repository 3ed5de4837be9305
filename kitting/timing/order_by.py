"""The latest day to order: the lead time read backwards."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from kitting.tables.flow import ORDER_BY, ORDER_BY_NEED
from kitting.timing.calendars import SHOP, by_supplier, goods_in_days
from kitting.timing.workdays import add_days, as_days, roll

if TYPE_CHECKING:
    from collections.abc import Mapping

    from kitting.tables.shop import Shop
    from kitting.terms.days import Calendar


def order_by(shop: Shop, buys: pd.DataFrame, calendars: Mapping[str, Calendar]) -> pd.DataFrame:
    """Return, for each buy, the shop's latest working day on which ordering is still in time.

    Back from the day of need: to a shop working day, goods-in, to a supplier's working day, its
    lead days, and to a day on which the shop works and can send the order. An order sent on that
    day before the cut-off is usable in time; one sent on the shop's next working day is not. The
    day may have passed.

    Parameters
    ----------
    shop
        Reads ``offers``, ``suppliers`` and ``shop`` (setting ``goods_in_days``).
    buys
        Table ``buys``.
    calendars
        From ``calendars``.

    Returns
    -------
    DataFrame
        Table ``order_by``; the day is blank when the need has none, or when it lies before the
        days that the calendars know.

    Raises
    ------
    UnknownName
        When a supplier is not in ``suppliers``.
    InputError
        When the setting ``goods_in_days`` is not a whole number.
    """
    if buys.empty:
        return ORDER_BY.empty()
    whose = by_supplier(buys["supplier"], shop, calendars)
    suppliers = shop["suppliers"].set_index("supplier")
    lead = shop["offers"].set_index("offer")["lead_days"].reindex(buys["offer"]).to_numpy("int64")
    own = calendars[SHOP]
    at_door = add_days(
        as_days(buys["day"].to_numpy()), -goods_in_days(shop), own, back=True, blank_outside=True
    )
    latest = np.full(len(buys), np.datetime64("NaT", "D"))
    for supplier, rows in buys.groupby("supplier", sort=False).indices.items():
        latest[rows] = add_days(
            at_door[rows], -lead[rows], whose[str(supplier)], back=True, blank_outside=True
        )
    sent = roll(latest, own, back=True, blank_outside=True)
    frame = pd.DataFrame(
        {
            "buy": buys["buy"],
            "order_by": sent.astype("datetime64[s]"),
            "cut_off": suppliers["cut_off"].reindex(buys["supplier"]).to_numpy(),
        }
    )
    return ORDER_BY.conform(frame)


def order_by_need(
    shop: Shop,
    buys: pd.DataFrame,
    buy_needs: pd.DataFrame,
    needs: pd.DataFrame,
    calendars: Mapping[str, Calendar],
) -> pd.DataFrame:
    """Return, for each need that a buy covers, the latest day to order by that need's own day.

    One buy may serve several stages and builds; its own latest day is that of the earliest.

    Parameters
    ----------
    shop, calendars
        As for ``order_by``.
    buys, buy_needs, needs
        The tables of those names.

    Returns
    -------
    DataFrame
        Table ``order_by_need``.
    """
    if buy_needs.empty:
        return ORDER_BY_NEED.empty()
    pegs = buy_needs[["buy", "need"]].merge(buys.drop(columns="day"), on="buy", validate="m:1")
    pegs = pegs.merge(needs[["need", "day"]], on="need", validate="m:1")
    by_row = order_by(shop, pegs.assign(buy=range(len(pegs))), calendars)
    return ORDER_BY_NEED.conform(by_row.assign(buy=pegs["buy"], need=pegs["need"]))

"""The latest day to order: the lead time read backwards."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from kitting.tables.flow import ORDER_BY, ORDER_BY_NEED
from kitting.timing.calendars import SHOP, inspection_days, taking_orders
from kitting.timing.roads import Roads, carriers_of_buys
from kitting.timing.workdays import add_days, as_days, roll

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from numpy.typing import NDArray

    from kitting.tables.shop import Shop
    from kitting.terms.days import Calendar
    from kitting.timing.workdays import Days


def order_by(
    shop: Shop,
    buys: pd.DataFrame,
    calendars: Mapping[str, Calendar],
    likely: pd.DataFrame | None = None,
) -> pd.DataFrame:
    """Return, for each buy, the shop's latest working day on which ordering is still in time.

    Back from the day of need: to a shop working day, goods-in, the road of who brings it and the
    supplier's other lead days (``roads``), and to a day on which the supplier takes orders and the
    shop can send them. An order sent on that
    day before the cut-off is usable in time; one sent on the shop's next working day is not. The
    day may have passed. With ``likely`` that holds with the shop's confidence, instead of when the
    supplier keeps its stated days; the day by those stays beside it.

    Parameters
    ----------
    shop
        Reads ``offers``, ``suppliers``, ``carriers`` and ``shop`` (setting ``goods_in_days``).
    buys
        Table ``buys``.
    calendars
        From ``calendars``.
    likely
        Table ``likely_days``; ``None`` = the stated days.

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
    roads = Roads(shop, calendars, buys["supplier"])
    suppliers = shop["suppliers"].set_index("supplier")
    stated = shop["offers"].set_index("offer")["lead_days"].reindex(buys["offer"])
    days = [stated.to_numpy("int64")]
    if likely is not None:
        days.append(likely.set_index("offer")["likely"].reindex(buys["offer"]).to_numpy("int64"))
    own = calendars[SHOP]
    goods_in = inspection_days(shop, buys["supplier"])
    at_door = add_days(
        as_days(buys["day"].to_numpy()), -goods_in, own, back=True, blank_outside=True
    )
    takes = taking_orders(shop, roads.whose)
    brings = carriers_of_buys(shop, buys)
    by_stated, *by_likely = (
        _sent(buys["supplier"], brings, (at_door, lead), (roads, takes), own) for lead in days
    )
    frame = pd.DataFrame(
        {
            "buy": buys["buy"],
            "order_by": by_likely[0] if by_likely else by_stated,
            "cut_off": suppliers["cut_off"].reindex(buys["supplier"]).to_numpy(),
            "stated": by_stated,
        }
    )
    return ORDER_BY.conform(frame)


def _sent(
    names: pd.Series[str],
    carriers: Sequence[str],
    due: tuple[Days, NDArray[np.int64]],
    by: tuple[Roads, Mapping[str, Calendar]],
    own: Calendar,
) -> Days:
    """Return the shop's latest working day to send each order that is to be at the door.

    ``due`` holds that day and the lead days; ``by`` how goods come, and the days on which
    suppliers take orders.
    """
    (at_door, lead), (roads, takes) = due, by
    latest = np.full(len(names), np.datetime64("NaT", "D"))
    for name, road, rows in roads.groups(names, carriers):
        counted = road.counts_by(at_door[rows], lead[rows])
        latest[rows] = roll(counted, takes[name], back=True, blank_outside=True)
    return roll(latest, own, back=True, blank_outside=True).astype("datetime64[s]")


def order_by_need(
    shop: Shop,
    buys: pd.DataFrame,
    buy_needs: pd.DataFrame,
    needs: pd.DataFrame,
    calendars: Mapping[str, Calendar],
    likely: pd.DataFrame | None = None,
) -> pd.DataFrame:
    """Return, for each need that a buy covers, the latest day to order by that need's own day.

    One buy may serve several stages and builds; its own latest day is that of the earliest.

    Parameters
    ----------
    shop, calendars, likely
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
    by_row = order_by(shop, pegs.assign(buy=range(len(pegs))), calendars, likely)
    return ORDER_BY_NEED.conform(by_row.assign(buy=pegs["buy"], need=pegs["need"]))

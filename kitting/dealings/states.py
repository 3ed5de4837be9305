"""What became of each order line: sent, promised, part received, closed, cancelled."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from kitting.tables.dealings import ORDER_STATES

if TYPE_CHECKING:
    from kitting.tables.shop import Shop


def order_states(shop: Shop) -> pd.DataFrame:
    """Return each order line with how much came, how much is owed and since when it is so.

    A receipt with a line counts on that line; one without counts on the lines of its order that
    ask for its part, in line order. What was called off is not owed.

    Parameters
    ----------
    shop
        Reads ``orders``, ``receipts``, ``order_facts`` and ``claims``.

    Returns
    -------
    DataFrame
        Table ``order_states``, in the order of the lines.
    """
    orders = shop["orders"].reset_index(drop=True)
    if orders.empty:
        return ORDER_STATES.empty()
    come, last = _come(orders, shop["receipts"])
    off = orders["cancelled"].notna()
    owed = (orders["quantity"] - come).clip(lower=0).where(~off, 0)
    full, some = come >= orders["quantity"], come > 0
    told = _last_fact(shop["order_facts"], orders, "promised")
    state = np.select(
        [full | (off & some), off, some, orders["promised"].notna()],
        ["closed", "cancelled", "part received", "promised"],
        default="sent",
    )
    since = np.select(
        [full, off, some, orders["promised"].notna() & told.notna()],
        [last, orders["cancelled"], last, told],
        default=orders["ordered"],
    )
    keys = pd.MultiIndex.from_frame(orders[["order", "line"]])
    frame = orders.assign(
        come=come,
        owed=owed,
        state=state,
        since=since,
        first_promised=orders["first_promised"].fillna(orders["promised"]),
        claims=open_claims(shop).reindex(keys, fill_value=0).to_numpy("int64"),
    )
    return ORDER_STATES.conform(frame)


def open_claims(shop: Shop) -> pd.Series[int]:
    """Return how many claims are open on each order line, indexed by order and line."""
    last = shop["claims"].drop_duplicates("claim", keep="last")
    still = last[~last["event"].isin(["kept", "settled", "withdrawn"])]
    return still.groupby(["order", "line"])["claim"].nunique()


def _come(orders: pd.DataFrame, receipts: pd.DataFrame) -> tuple[pd.Series, pd.Series]:
    """Return how much of each line came and on which day the last of it."""
    come: list[int] = []
    days: list[pd.Timestamp] = []
    by_line = receipts[receipts["line"].notna()].groupby(["order", "line"])
    sums, ends = by_line["quantity"].sum(), by_line["received"].max()
    loose_rows = receipts[receipts["line"].isna()].groupby(["order", "part"])
    loose, loose_ends = loose_rows["quantity"].sum().to_dict(), loose_rows["received"].max()
    last_line = orders.groupby(["order", "part"])["line"].max()
    asked = orders[["order", "line", "part", "quantity"]].sort_values(["order", "line"])
    for order, line, part, quantity in asked.itertuples(index=False):
        there = int(sums.get((order, line), 0))
        left = int(loose.get((order, part), 0))
        more = left if last_line[order, part] == line else min(left, max(0, quantity - there))
        loose[order, part] = left - more
        come.append(there + more)
        seen = [ends.get((order, line)), loose_ends.get((order, part)) if more else None]
        days.append(max((d for d in seen if pd.notna(d)), default=pd.NaT))
    return (
        pd.Series(come, index=asked.index, dtype="int64").reindex(orders.index),
        pd.Series(days, index=asked.index, dtype="datetime64[s]").reindex(orders.index),
    )


def _last_fact(facts: pd.DataFrame, orders: pd.DataFrame, what: str) -> pd.Series:
    """Return the day of the last fact of a kind of each line."""
    last = facts[facts["what"] == what].groupby(["order", "line"])["day"].last()
    found = last.reindex(pd.MultiIndex.from_frame(orders[["order", "line"]]))
    return pd.Series(found.to_numpy("datetime64[s]"), index=orders.index)

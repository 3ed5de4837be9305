"""What came of past orders: the days each line took, those still open censored."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from kitting.tables.outlook import DELIVERED
from kitting.timing.roads import Roads, carriers_of_orders
from kitting.timing.spoilt import spoilt
from kitting.timing.workdays import as_days, count, outside

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import date

    from numpy.typing import NDArray

    from kitting.tables.shop import Shop
    from kitting.terms.days import Calendar
    from kitting.timing.workdays import Days

_KEPT = ("order", "line", "supplier", "part", "ordered")


def delivered(shop: Shop, day: date, calendars: Mapping[str, Calendar]) -> pd.DataFrame:
    """Return how long each order line took, or how long it has been open.

    Only what was known on ``day`` counts: orders sent and receipts that came up to it. A line has
    come when all of it has; its first piece is kept beside. A line called off is open until that
    day. Lines without a day of ordering, or outside the calendars, are left out.

    Parameters
    ----------
    shop
        Reads ``orders``, ``receipts``, ``claims``, ``offers``, ``suppliers`` and ``carriers``.
    day
        The day of the plan.
    calendars
        From ``calendars``; days are working days of the supplier's.

    Returns
    -------
    DataFrame
        Table ``delivered``.

    Raises
    ------
    UnknownName
        When an order's supplier is not in ``suppliers``.
    """
    today = np.datetime64(day, "D")
    orders, receipts = shop["orders"], shop["receipts"]
    orders = orders[as_days(orders["ordered"].to_numpy()) <= today]
    if orders.empty:
        return DELIVERED.empty()
    receipts = receipts[as_days(receipts["received"].to_numpy()) <= today]
    first, last = _came(orders, receipts)
    called_off = as_days(orders["cancelled"].to_numpy())
    awaited = np.where(called_off < today, called_off, today)
    begun, ended = (np.where(np.isnat(days), awaited, days) for days in (first, last))
    promised = _first_promised(orders)
    measured = _measured(shop, orders, (promised, begun, ended), calendars)
    frame = pd.DataFrame(
        {name: orders[name].array for name in _KEPT}
        | measured
        | {
            "promised": promised.astype("datetime64[s]"),
            "carrier": carriers_of_orders(shop, orders),
            "came": ~np.isnat(last),
            "unusable": spoilt(shop, orders, receipts, today),
        }
    )
    known = measured["days"] >= 0
    return DELIVERED.conform(frame if known.all() else frame[known])


def _first_promised(orders: pd.DataFrame) -> Days:
    first, last = (as_days(orders[c].to_numpy()) for c in ("first_promised", "promised"))
    return np.where(np.isnat(first), last, first)


def _came(orders: pd.DataFrame, receipts: pd.DataFrame) -> tuple[Days, Days]:
    """Return the day of each line's first piece and the day it was complete; blank = not yet.

    A receipt without a line counts on the lines of its order that ask for its part, in line order.
    """
    lines = list(zip(orders["order"].tolist(), orders["line"].tolist(), strict=True))
    asks = list(zip(orders["order"].tolist(), orders["part"].tolist(), strict=True))
    at_line = {key: [n] for n, key in enumerate(lines)}
    at_part: dict[tuple[str, str], list[int]] = {}
    for n in sorted(range(len(lines)), key=lambda n: lines[n][1]):
        at_part.setdefault(asks[n], []).append(n)
    first, last = (np.full(len(lines), np.datetime64("NaT", "D")) for _ in range(2))
    left = orders["quantity"].tolist()
    received = as_days(receipts["received"].to_numpy())
    columns = [receipts[c].tolist() for c in ("order", "line", "part", "quantity")]
    rows = list(zip(*columns, strict=True))
    for row in np.argsort(received, kind="stable").tolist():
        order, line, part, quantity = rows[row]
        fits = at_part.get((order, part), []) if line is pd.NA else at_line.get((order, line), [])
        for n in fits:
            took = min(quantity, left[n])
            if took <= 0:
                continue
            if np.isnat(first[n]):
                first[n] = received[row]
            left[n] -= took
            quantity -= took
            if not left[n]:
                last[n] = received[row]
    return first, last


def _measured(
    shop: Shop,
    orders: pd.DataFrame,
    ends: tuple[Days, Days, Days],
    calendars: Mapping[str, Calendar],
) -> dict[str, NDArray[np.int64]]:
    """Count from order to promises, first piece and last piece [working days]; -1 = unknown.

    Parameters
    ----------
    ends
        Day of the first promise, of the first piece and of the last.
    """
    columns = ("ordered", "promised", "requested")
    sent, promised, requested = (as_days(orders[c].to_numpy()) for c in columns)
    until = dict(zip(("stated", "first_days", "days"), ends, strict=True))
    until |= {"last_stated": promised, "requested_days": requested}
    names = orders["supplier"]
    roads = Roads(shop, calendars, names)
    counted = {name: np.full(len(orders), -1, dtype="int64") for name in until}
    for supplier, calendar in roads.whose.items():
        rows = np.flatnonzero((names == supplier).to_numpy() & ~outside(sent, calendar))
        for name, to in until.items():
            known = rows[~np.isnat(to[rows]) & ~outside(to[rows], calendar)]
            counted[name][known] = np.maximum(count(sent[known], to[known], calendar), 0)
    for name in ("stated", "last_stated"):
        if (counted[name] < 0).any():
            counted[name] = np.where(counted[name] < 0, usual_days(shop, orders), counted[name])
    return counted


def usual_days(shop: Shop, lines: pd.DataFrame) -> NDArray[np.int64]:
    """Return the days that the supplier's offers state for each line [working days].

    Those of the part, else the middle of all that the supplier offers, else 0.

    Parameters
    ----------
    shop
        Reads ``offers``.
    lines
        Has ``supplier`` and ``part``.
    """
    offers = shop["offers"]
    by_part: dict[tuple[str, str], int] = {}
    every: dict[str, list[int]] = {}
    columns = (offers[c].tolist() for c in ("supplier", "part", "lead_days"))
    for supplier, part, days in zip(*columns, strict=True):
        every.setdefault(supplier, []).append(days)
        by_part[supplier, part] = min(days, by_part.get((supplier, part), days))
    middle = {supplier: int(np.median(days)) for supplier, days in every.items()}
    pairs = zip(lines["supplier"].tolist(), lines["part"].tolist(), strict=True)
    found = [by_part.get((s, p), middle.get(s, 0)) for s, p in pairs]
    return np.array(found, dtype="int64")

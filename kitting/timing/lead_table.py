"""What each supplier states, and what is to be expected of it, as a table to look at."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np
import pandas as pd

from kitting.tables.outlook import LEAD_TIMES
from kitting.timing.lead_times import classes_of, weights
from kitting.timing.survival import EARLIEST, quantile

if TYPE_CHECKING:
    from datetime import date

    from kitting.tables.shop import Shop
    from kitting.timing.lead_times import LeadTimes


def lead_table(shop: Shop, times: LeadTimes, day: date) -> pd.DataFrame:
    """Return what each supplier states and what is to be expected, by class of offer.

    Parameters
    ----------
    shop
        Reads ``offers``.
    times
        From ``lead_times``.
    day
        The day of the plan.

    Returns
    -------
    DataFrame
        Table ``lead_times``.
    """
    past, offers = times.past, shop["offers"]
    stated: dict[tuple[str, str], list[int]] = {}
    pairs = zip(offers["supplier"].tolist(), offers["lead_days"].tolist(), strict=True)
    for supplier, days in (*pairs, *zip(past["supplier"], past["stated"], strict=True)):
        stated.setdefault((supplier, times.class_of(supplier, days)), []).append(int(days))
    seen: dict[tuple[str, str], list[_Line]] = {}
    names = classes_of(past, times.classes, times.kinds)
    columns = (past[c].tolist() for c in ("supplier", "first_days", "days", "came", "unusable"))
    for name, supplier, first, days, came, spoilt, weight in zip(
        names, *columns, weights(past, day).tolist(), strict=True
    ):
        line = _Line(came, first < days, spoilt, weight)
        seen.setdefault((supplier, name), []).append(line)
    rows = [
        {"supplier": supplier, "class": name}
        | _row(times, (supplier, name), int(np.median(days)), seen.get((supplier, name), []))
        for (supplier, name), days in stated.items()
    ]
    return LEAD_TIMES.conform(pd.DataFrame(rows)) if rows else LEAD_TIMES.empty()


class _Line(NamedTuple):
    came: bool
    in_parts: bool
    unusable: bool
    weight: float


def _row(times: LeadTimes, of: tuple[str, str], stated: int, seen: list[_Line]) -> dict[str, Any]:
    """Return what is known of one supplier's offers of one class."""
    supplier, name = of
    share = times.share(supplier, name)
    whole = [line for line in seen if line.came]
    learned = "own orders" if seen else "orders of its class"
    return {
        "stated": stated,
        "orders": sum(line.weight for line in seen),
        "lines": len(seen),
        "open": len(seen) - len(whole),
        "on_time": share[-EARLIEST],
        "in_parts": sum(line.in_parts for line in whole) / len(whole) if whole else np.nan,
        "unusable": sum(line.unusable for line in whole) / len(whole) if whole else np.nan,
        "basis": learned if (name,) in times.learned else "assumption",
    } | {f"p{p}": max(stated + quantile(share, p / 100), 0) for p in (50, 80, 90)}

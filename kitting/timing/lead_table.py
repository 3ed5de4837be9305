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
    columns = (past[c].tolist() for c in _Line._fields[:-1])
    whose = past["supplier"].tolist()
    rows_of = zip(*columns, weights(past, day).tolist(), strict=True)
    for name, supplier, row in zip(names, whose, rows_of, strict=True):
        seen.setdefault((supplier, name), []).append(_Line(*row))
    rows = [
        {"supplier": supplier, "class": name}
        | _row(times, (supplier, name), int(np.median(days)), seen.get((supplier, name), []))
        for (supplier, name), days in stated.items()
    ]
    return LEAD_TIMES.conform(pd.DataFrame(rows)) if rows else LEAD_TIMES.empty()


class _Line(NamedTuple):
    """One row of table ``delivered`` and what it counts for."""

    stated: int
    last_stated: int
    requested_days: int
    first_days: int
    days: int
    came: bool
    unusable: bool
    weight: float


def _kept(seen: list[_Line], until: str) -> float:
    """Return the share that came within some days, of what came or has been open longer."""
    lines = [(line, getattr(line, until)) for line in seen]
    decided = [
        line.came and line.days <= days
        for line, days in lines
        if days >= 0 and (line.came or line.days > days)
    ]
    return sum(decided) / len(decided) if decided else np.nan


def _share(marks: list[bool]) -> float:
    return sum(marks) / len(marks) if marks else np.nan


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
        "kept_first": _kept(seen, "stated"),
        "kept_last": _kept(seen, "last_stated"),
        "kept_requested": _kept(seen, "requested_days"),
        "in_parts": _share([line.first_days < line.days for line in whole]),
        "unusable": _share([line.unusable for line in seen if line.came or line.unusable]),
        "basis": learned if (name,) in times.learned else "assumption",
    } | {f"p{p}": max(stated + quantile(share, p / 100), 0) for p in (50, 80, 90)}

"""Until when to order what, day by day, on leaves of a calendar."""

from __future__ import annotations

from calendar import Calendar
from collections import defaultdict
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

import pandas as pd

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from kitting.outputs.arrivals import Arrival
    from kitting.outputs.check import Document
    from kitting.tables.plan import Plan

_MOST_LEAVES = 6


@dataclass(slots=True)
class OrderDay:
    """What must be ordered from one supplier by one day.

    Parameters
    ----------
    by
        The last day, never before today; ``None`` = no day is known.
    overdue
        The last day has passed: it may come too late.
    cut_off
        Time of day; blank = any.
    parts
        Their numbers.
    cents, currency
        What the lines cost.
    """

    by: date | None
    supplier: str
    overdue: bool
    cut_off: str
    parts: list[str] = field(default_factory=list)
    cents: int = 0
    currency: str = ""


@dataclass(slots=True)
class Cell:
    """A day of a leaf: how many lines to order by then, deliveries promised, stages that start."""

    day: date
    inside: bool
    today: bool
    order: int = 0
    comes: int = 0
    starts: int = 0


def order_days(plan: Plan, builds: Sequence[str]) -> list[OrderDay]:
    """Return what some builds must order, the soonest first.

    Parameters
    ----------
    plan
        A plan that covers them.
    builds
        Their names.
    """
    own = plan.needs.loc[plan.needs["build"].isin(builds), "need"]
    pegs = plan.order_by_need[plan.order_by_need["need"].isin(own)]
    first = pegs.sort_values("order_by", kind="stable").drop_duplicates("buy")
    rows = first.merge(plan.buys, on="buy", validate="1:1")
    found: dict[tuple[Any, ...], OrderDay] = {}
    for row in rows.sort_values(["order_by", "supplier", "part"], kind="stable").itertuples():
        by = _day(row.order_by)
        overdue = by is not None and by < plan.day
        key = (max(by, plan.day) if by else None, row.supplier, overdue)
        one = found.setdefault(key, OrderDay(key[0], row.supplier, overdue, row.cut_off))
        one.parts.append(row.part)
        one.cents += int(row.cost)
        one.currency = row.currency
    return list(found.values())


def leaves(
    today: date,
    orders: Sequence[OrderDay],
    arrivals: Sequence[Arrival],
    documents: Sequence[Document],
) -> list[tuple[str, list[list[Cell]]]]:
    """Return a leaf for each month from today to the last day that something is marked on.

    Returns
    -------
    list
        Name of the month and its weeks of seven days, Monday first.
    """
    marks: dict[date, list[int]] = defaultdict(lambda: [0, 0, 0])
    for order in orders:
        if order.by:
            marks[order.by][0] += len(order.parts)
    for day in {(a.order, a.supplier, a.expected) for a in arrivals if a.order}:
        if day[2]:
            marks[day[2]][1] += 1
    for document in documents:
        for stage in document["stages"]:
            if stage["start"]:
                marks[pd.Timestamp(stage["start"]).date()][2] += 1
    last = max([today, *marks])
    months: list[tuple[str, list[list[Cell]]]] = []
    year, month = today.year, today.month
    while (year, month) <= (last.year, last.month) and len(months) < _MOST_LEAVES:
        weeks = Calendar().monthdatescalendar(year, month)
        name = f"{weeks[1][0]:%B %Y}"
        filled = [[Cell(d, d.month == month, d == today) for d in week] for week in weeks]
        for cell in (c for week in filled for c in week if c.inside and c.day in marks):
            cell.order, cell.comes, cell.starts = marks[cell.day]
        months.append((name, filled))
        year, month = (year + month // 12, month % 12 + 1)
    return months


def _day(value: Any) -> date | None:
    return None if pd.isna(value) else pd.Timestamp(value).date()

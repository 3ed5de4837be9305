"""How sure a build and its stages are, as part of the kit check's document and text."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pandas as pd

if TYPE_CHECKING:
    from kitting.tables.plan import Plan

Document = dict[str, Any]

SURE = 0.995
"""A chance that is written as 100 % is not worth a line."""


def build_chance(plan: Plan, build: str) -> Document | None:
    """Return how sure a build is and what decides it; ``None`` when it has no stages.

    Parameters
    ----------
    plan
        A plan that covers the build.
    build
        Name of an open build.

    Returns
    -------
    dict
        ``parts_in_time`` (every part there by its stage's first day), ``in_time`` (the bench work
        ends on its day), ``days_late`` to expect, and ``deciding``: the deliveries that may hold it
        up, the least sure first.
    """
    rows = plan.chance[(plan.chance["build"] == build) & (plan.chance["stage"] == "")]
    if rows.empty:
        return None
    whole = rows.iloc[0]
    deciding = plan.drivers[(plan.drivers["build"] == build) & (plan.drivers["chance"] < SURE)]
    known = plan.deliveries.set_index("delivery")[["expected", "build"]]
    known = known.reindex(deciding["delivery"])
    return {
        "parts_in_time": share(whole["parts"]),
        "in_time": share(whole["chance"]),
        "days_late": share(whole["expected_late"]),
        "deciding": [
            {
                "order": row.order or None,
                "supplier": row.supplier or None,
                "expected": _day(day),
                "job": bool(job) and not pd.isna(job),
                "chance_in_time": share(row.chance),
                "a_day_sooner_adds": share(row.gain),
                "a_day_sooner_saves_days": share(row.late_saved),
            }
            for row, day, job in zip(
                deciding.itertuples(), known["expected"], known["build"], strict=True
            )
        ],
    }


def stage_chances(plan: Plan, build: str) -> dict[tuple[str, str], Document]:
    """Return how sure each stage of a build is, by assembly and stage."""
    rows = plan.chance[plan.chance["build"] == build]
    return {
        (row.assembly, row.stage): {
            "parts_in_time": share(row.parts),
            "chance_in_time": share(row.chance),
            "days_late": share(row.expected_late),
        }
        for row in rows.itertuples()
    }


def today_rows(plan: Plan, build: str) -> list[Document]:
    """Return what to do today for a build."""
    rows = plan.today[plan.today["build"] == build]
    return [
        {
            "do": row.do,
            "supplier": row.supplier or None,
            "order": row.order or None,
            "part": row.part,
            "stage": row.stage,
            "needed": _day(row.needed),
            "by": _day(row.by),
            "chance_in_time": share(row.chance),
            "chance_tomorrow": share(row.tomorrow),
        }
        for row in rows.itertuples()
    ]


def share(value: float) -> float | None:
    """Return a chance or a number of days to four digits; ``None`` when it is not known."""
    return None if pd.isna(value) else round(float(value), 4)


def _day(value: Any) -> str | None:
    return None if pd.isna(value) else pd.Timestamp(value).date().isoformat()


def chance_line(chance: Document | None) -> str:
    """Say how sure it is that every part is there in time, and what decides it; blank when sure."""
    if chance is None or chance["parts_in_time"] >= SURE:
        return ""
    deciding = chance["deciding"]
    if not deciding:
        return f"chance that every part is there in time: {percent(chance['parts_in_time'])}"
    worst = next((d for d in deciding if d["supplier"] is None), deciding[0])
    if worst["supplier"] is None:
        what = "some have no source"
    elif worst["order"]:
        what = f"{worst['order']} decides it"
    elif worst["job"]:
        what = f"a job at {worst['supplier']} decides it"
    else:
        what = f"what is ordered from {worst['supplier']} decides it"
    return f"chance that every part is there in time: {percent(chance['parts_in_time'])}; {what}"


def percent(chance: float) -> str:
    """Write a chance as whole percents; what is neither sure nor impossible is never 0 or 100."""
    if 0.0 < chance < 0.01:
        return "under 1 %"
    return f"{min(int(chance * 100 + 0.5), 99 if chance < 1.0 else 100)} %"

"""How sure a build is by drawn courses of events: a part of the kit check that is asked for."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click
import pandas as pd

from kitting.outputs.sureness import percent, share
from kitting.outputs.text import fit, long_day, short_day, wrapped

if TYPE_CHECKING:
    from collections.abc import Iterator

    from kitting.tables.plan import Plan

Document = dict[str, Any]


def sampled_document(
    plan: Plan, build: str, sampled: pd.DataFrame, courses: int, seed: int
) -> Document | None:
    """Return the chances by sampling beside the exact ones, ready for JSON.

    Parameters
    ----------
    plan
        A plan that covers the build.
    build
        Name of an open build.
    sampled
        Table ``sampled``, of that build.
    courses, seed
        With what it was drawn.

    Returns
    -------
    dict
        ``courses, seed, finish`` (the bench work) and ``stages``; ``None`` when it has no stages.
    """
    if sampled.empty:
        return None
    keys = ["assembly", "stage"]
    days = plan.stage_days[plan.stage_days["build"] == build]
    exact = plan.chance[plan.chance["build"] == build].rename(columns={"chance": "exact"})
    rows = sampled.merge(exact[[*keys, "exact"]], on=keys)
    rows = rows.merge(days[[*keys, "start"]], on=keys, how="left")
    told = [
        {
            "assembly": row.assembly,
            "stage": row.stage,
            "day": _day(row.start),
            "chance": share(row.chance),
            "error": share(row.error),
            "exact": share(row.exact),
            "half_by": _day(row.half),
            "nine_in_ten_by": _day(row.nine_in_ten),
        }
        for row in rows.itertuples(index=False)
    ]
    finish, *stages = told
    finish["day"] = _day(days.loc[~days["deferred"], "finish"].max(skipna=False))
    return {"courses": courses, "seed": seed, "finish": finish, "stages": stages}


def sampled_text(document: Document | None) -> Iterator[str]:
    """Write the chances by sampling for a terminal."""
    if document is None:
        yield "There is nothing to draw: the build has no stages."
        return
    yield click.style(f"Drawn {document['courses']} times, seed {document['seed']}", bold=True)
    yield from wrapped(
        "  what one supplier sends is late together, and stages with least and most work days take "
        "days between them; exact: each delivery for itself, and the days of the plan",
        2,
    )
    yield "  stage                  planned     drawn  exact  half by     nine in ten by"
    several = len({s["assembly"] for s in document["stages"]}) > 1
    for row in document["stages"]:
        name = f"{row['assembly']} {row['stage']}" if several else row["stage"]
        yield _line(name, row)
    yield _line("end of the bench work", document["finish"])
    finish = document["finish"]
    if not all(row["nine_in_ten_by"] for row in (*document["stages"], finish)):
        yield "  ? = not known: it waits for what nobody brings, or for more than a year"
    if finish["half_by"] and finish["nine_in_ten_by"]:
        yield from wrapped(
            f"  As likely as not the bench work ends by {long_day(finish['half_by'])}; nine times "
            f"in ten by {long_day(finish['nine_in_ten_by'])}.",
            2,
        )


def _line(name: str, row: Document) -> str:
    return (
        f"  {fit(name, 22)} {short_day(row['day']):10} {percent(row['chance']):>6} "
        f"{percent(row['exact']):>6}  {short_day(row['half_by']):10}  "
        f"{short_day(row['nine_in_ten_by'])}"
    )


def _day(value: Any) -> str | None:
    return None if pd.isna(value) else pd.Timestamp(value).date().isoformat()

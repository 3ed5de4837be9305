"""A proposed schedule as a document and as text: which stage is on which bench on which days."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click
import pandas as pd

from kitting.outputs.text import fit, leveled, long_day, plural, short_day, wrapped
from kitting.terms.words import Level

if TYPE_CHECKING:
    from collections.abc import Iterator
    from datetime import date

    from kitting.tables.plan import Scheduled
    from kitting.tables.shop import Shop

Document = dict[str, Any]
_STAGE_DAYS = ("start", "finish", "latest")
_BUILD_DAYS = ("start", "finish", "not_after")


def schedule_document(shop: Shop, scheduled: Scheduled, day: date) -> Document:
    """Return a schedule, ready for JSON; days are ISO text, unknown ones ``None``.

    Parameters
    ----------
    shop
        The shop that was scheduled; its settings tell the benches and people.
    scheduled
        The schedule.
    day
        The day of the plan.

    Returns
    -------
    dict
        ``as_of, benches, people, stages, builds, findings``; stages in the order of their start.
    """
    frame = scheduled.schedule.sort_values(["begins", "build", "order"], kind="stable")
    asked = dict(zip(shop["builds"]["build"], shop["builds"]["start"], strict=True))
    return {
        "as_of": day.isoformat(),
        "benches": shop.setting("benches"),
        "people": shop.setting("people"),
        "stages": [
            {
                **{c: getattr(row, c) for c in ("build", "assembly", "stage", "name", "place")},
                **{c: _day(getattr(row, c)) for c in _STAGE_DAYS},
                "deferred": bool(row.deferred),
                "work_days": float(row.work_days),
                "people": int(row.people),
                "slack": _number(row.slack),
                "critical": bool(row.critical),
                "waits": float(row.waits),
                "waits_for": row.waits_for,
                "behind": row.behind,
            }
            for row in frame.itertuples(index=False)
        ],
        "builds": [
            {
                "build": row.build,
                "asked": _day(asked.get(row.build)),
                **{c: _day(getattr(row, c)) for c in _BUILD_DAYS},
                "days_late": int(row.days_late),
                "waits": _number(row.waits),
                "chance": _number(row.chance),
            }
            for row in scheduled.build_days.itertuples(index=False)
        ],
        "findings": [
            {"level": str(f.level), "where": f.where(), "message": f.message}
            for f in scheduled.findings
        ],
    }


def schedule_text(document: Document) -> str:
    """Write a schedule for a terminal, bench by bench."""
    builds = plural(len(document["builds"]), "open build", "open builds")
    limits = f"benches {document['benches'] or 'without limit'}"
    people = "any number of people"
    if document["people"]:
        people = plural(document["people"], "person", "people")
    lines = list(
        wrapped(
            f"{builds} as of {long_day(document['as_of'])}: {limits}; {people}. A "
            "proposal: no sheet is changed. * = may not slip.",
            0,
        )
    )
    stages = document["stages"]
    places = dict.fromkeys(s["place"] for s in stages if not s["deferred"])
    width = max([7, *(len(s["build"]) for s in stages)])
    for place in places:
        lines += ["", click.style(place or "no place given", bold=True)]
        own = [s for s in stages if s["place"] == place and not s["deferred"]]
        for stage in own:
            lines += _stage(stage, min(width, 14))
    lines += ["", click.style("Builds on the bench", bold=True)]
    for build in document["builds"]:
        lines += _build(build, min(width, 14))
    order = list(Level)
    findings = sorted(document["findings"], key=lambda f: order.index(Level(f["level"])))
    if findings:
        lines.append("")
    for finding in findings:
        lines += leveled(finding["level"], finding["message"])
    return "\n".join(lines)


def _stage(stage: Document, width: int) -> Iterator[str]:
    mark = "*" if stage["critical"] else " "
    what = f"{stage['stage']}: {stage['name']}" if stage["name"] else stage["stage"]
    text = f"{mark} {_span(stage):23} {fit(stage['build'], width)} "
    yield text + fit(what, 78 - len(text)).rstrip()
    if stage["waits_for"]:
        others = [b for b in stage["behind"].split("; ") if b != stage["build"]]
        behind = f" behind {', '.join(others)}" if others else ""
        yield from wrapped(f"    waits {_days(stage['waits'])} for {stage['waits_for']}{behind}", 6)


def _build(build: Document, width: int) -> Iterator[str]:
    said = []
    if build["asked"] and build["start"] and build["asked"] != build["start"]:
        said.append(f"asked for {short_day(build['asked'])}")
    if build["waits"]:
        said.append(f"{_days(build['waits'])} later than alone")
    if build["days_late"]:
        late = plural(build["days_late"], "day", "days")
        said.append(click.style(f"{late} after its date {short_day(build['not_after'])}", fg="red"))
    elif build["not_after"]:
        said.append(f"keeps its date {short_day(build['not_after'])}")
    yield from wrapped(
        f"  {_span(build):23} {fit(build['build'], width)} {'; '.join(said)}".rstrip(), 28 + width
    )


def _span(row: Document) -> str:
    if row["start"] == row["finish"]:
        return short_day(row["start"])
    return f"{short_day(row['start'])} - {short_day(row['finish'])}"


def _days(days: float) -> str:
    return f"{days:.3g} day{'' if days == 1 else 's'}"


def _day(value: Any) -> str | None:
    return None if pd.isna(value) else pd.Timestamp(value).date().isoformat()


def _number(value: float) -> float | None:
    return None if pd.isna(value) else round(float(value), 4)

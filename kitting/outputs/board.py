"""The bench page: which build is on which bench today, what comes next, and what it still lacks."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pandas as pd

from kitting.outputs.arrivals import arrivals
from kitting.outputs.check import check_document
from kitting.outputs.drawing import drawing, mark, markup
from kitting.outputs.pages import page
from kitting.outputs.sureness import percent
from kitting.outputs.text import long_day, short_day
from kitting.terms.benches import parse_benches

if TYPE_CHECKING:
    from collections.abc import Iterator
    from datetime import date

    from markupsafe import Markup

    from kitting.outputs.check import Document
    from kitting.tables.plan import Plan

_MOST_NAMED = 4
_SOON = 7
"""Days ahead in which deliveries are shown."""


def board_document(plan: Plan) -> Document:
    """Return what stands on each bench, what follows, what it lacks, and what is to be done today.

    Stages are where the sheets put them: a bench that two builds want on one day has both.

    Parameters
    ----------
    plan
        The plan of every open build.

    Returns
    -------
    dict
        ``as_of, benches, today, arriving, leaving``; days are ISO text.
    """
    today = plan.day.isoformat()
    documents = {build: check_document(plan, build) for build in plan.builds}
    places = _places(plan)
    stages = [
        _stage(plan, document, stage, places)
        for document in documents.values()
        for stage in document["stages"]
        if stage["start"] and stage["state"] != "deferred" and stage["finish"] >= today
    ]
    stages.sort(key=lambda s: (s["start"], s["build"]))
    hold = _hold(plan.shop.setting("benches"))
    order = dict.fromkeys([*hold, *(s["place"] for s in stages)])
    return {
        "as_of": today,
        "benches": [_bench(place, hold.get(place, 0), stages, today) for place in order],
        "today": [row for document in documents.values() for row in _to_do(document)],
        "arriving": list(_arriving(plan)),
        "leaving": [
            {"build": build, "day": max(s["finish"] for s in own), "whole": document["whole"]}
            for build, document in documents.items()
            if (own := [s for s in stages if s["build"] == build])
        ],
    }  # fmt: skip


def board_page(plan: Plan) -> str:
    """Return the bench page: one file, without script, that fetches nothing.

    Parameters
    ----------
    plan
        The plan of every open build.
    """
    return page(
        "board.html",
        board=board_document(plan),
        shop=plan.shop.setting("name"),
        shape=_shape,
        percent=percent,
        long_day=long_day,
        short_day=short_day,
    )


def _shape(state: str) -> Markup:
    root = drawing(16, 16, state)
    root.set("width", "16")
    mark(root, state, 8, 8, 6)
    return markup(root)


def _places(plan: Plan) -> dict[tuple[str, str, str], str]:
    columns = ("build", "assembly", "stage", "place")
    rows = zip(*(plan.stage_days[c].tolist() for c in columns), strict=True)
    return {(build, assembly, stage): place for build, assembly, stage, place in rows}


def _stage(
    plan: Plan, document: Document, stage: Document, places: dict[tuple[str, str, str], str]
) -> Document:
    """Return a stage with its bench and what it lacks."""
    build, called = document["build"], plan.shop["kits"]
    several = len({s["assembly"] for s in document["stages"]}) > 1
    done = (
        (called["build"] == build)
        & (called["assembly"] == stage["assembly"])
        & (called["stage"] == stage["stage"])
    )
    return {
        **{k: stage[k] for k in ("assembly", "stage", "name", "start", "finish", "state")},
        "build": build,
        "several": several,
        "place": places.get((build, stage["assembly"], stage["stage"]), ""),
        "kit_complete": bool(done.any()),
        "lacks": list(_lacks(stage)),
    }


def _lacks(stage: Document) -> Iterator[Document]:
    """Yield the parts of a stage that are short or on their way, each once."""
    found: dict[tuple[str, str], Document] = {}
    for part in stage["parts"]:
        for state in ("short", "coming"):
            if part[state]:
                one = found.setdefault(
                    (part["part"], state),
                    {"part": part["part"], "name": part["name"], "state": state, "quantity": 0,
                     "unit": part["unit"], "comes": part["comes"] if state == "coming" else None},
                )  # fmt: skip
                one["quantity"] = round(one["quantity"] + part[state], 6)
    yield from sorted(found.values(), key=lambda p: (p["state"] == "coming", p["part"]))


def _hold(benches: str) -> dict[str, int]:
    """Return how many builds each bench of the setting holds; none where it says nothing clear."""
    try:
        return parse_benches(benches)
    except ValueError:
        return {}


def _bench(place: str, holds: int, stages: list[Document], today: str) -> Document:
    """Return a bench; ``holds`` is how many builds it holds, 0 = any number."""
    own = [s for s in stages if s["place"] == place]
    now = [s for s in own if s["start"] <= today]
    later = [s for s in own if s["start"] > today]
    return {
        "place": place,
        "now": now,
        "next": later[:1],
        "too_many": 0 < holds < len({s["build"] for s in now}),
    }


def _to_do(document: Document) -> Iterator[Document]:
    for row in document["today"]:
        yield {"build": document["build"], **row}


def _arriving(plan: Plan) -> Iterator[Document]:
    """Yield the orders that are promised up to some days from now, overdue ones too."""
    last = (pd.Timestamp(plan.day) + pd.Timedelta(days=_SOON)).date()
    found: dict[tuple[str, date], Document] = {}
    for build in plan.builds:
        for one in arrivals(plan, build):
            if not one.order or one.expected is None or one.expected > last:
                continue
            held = found.setdefault(
                (one.order, one.expected),
                {"order": one.order, "supplier": one.supplier, "day": one.expected.isoformat(),
                 "overdue": one.expected < plan.day, "for": {}},
            )  # fmt: skip
            held["for"][build] = list(one.parts)
    for (_, _), row in sorted(found.items(), key=lambda pair: (pair[0][1], pair[0][0])):
        yield row


def bench_words(bench: dict[str, Any]) -> str:
    """Say in a line how a bench stands, for a terminal.

    Parameters
    ----------
    bench
        A bench of ``board_document``.
    """
    there = bench["now"]
    now = ", ".join(f"{_called(s)} ({s['state']})" for s in there[:_MOST_NAMED])
    if len(there) > _MOST_NAMED:
        now += f" and {len(there) - _MOST_NAMED} more"
    after = "".join(
        f"; then {_called(s)} from {short_day(s['start'])} ({s['state']})" for s in bench["next"]
    )
    clash = "; TOO MANY AT ONCE" if bench["too_many"] else ""
    return f"{bench['place'] or 'no place given'}: {now or 'free'}{clash}{after}"


def _called(stage: dict[str, Any]) -> str:
    of = f"{stage['assembly']} " if stage["several"] else ""
    return f"{stage['build']} {of}{stage['stage']}"

"""The kit check on a terminal: 80 columns, the first line says whole or not."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING, Any, NamedTuple

import click

from kitting.outputs.elsewhere import first_stages, told_elsewhere
from kitting.outputs.sureness import chance_line, percent
from kitting.outputs.text import (
    WIDTH,
    fit,
    leveled,
    long_day,
    middle,
    plural,
    short_day,
    wrapped,
)
from kitting.terms.words import LENT_ROLES, Level, StageState

if TYPE_CHECKING:
    from collections.abc import Iterator

    from kitting.outputs.check import Document

# Colour never stands alone: each state and level has its own mark in front.
_MARKS = {
    StageState.WHOLE: ("[x]", "green"),
    StageState.COMING: ("[>]", "cyan"),
    StageState.DEFERRED: ("[~]", "white"),
    StageState.SHORT: ("[!]", "yellow"),
    StageState.LATE: ("[!!]", "red"),
}
_NOTES_SHOWN = 8
_NO_CHANCE = 0.005
_NOTHING = {"coming": 0, "short": 0, "comes": None, "late": False}


def check_text(document: Document, *, everything: bool = False, why: bool = False) -> str:
    """Write the kit check for a terminal.

    Parameters
    ----------
    document
        What ``check_document`` returns.
    everything
        Also list the parts that are there and every note.
    why
        Print rule and source under each gap, and how to waive it.
    """
    lines = [*_head(document), ""]
    shown = [_shown(stage, everything=everything) for stage in document["stages"]]
    columns = _columns([part for parts in shown for part in parts])
    first = first_stages(document["stages"])
    for n, (stage, parts) in enumerate(zip(document["stages"], shown, strict=True)):
        told = {part for part, at in first.items() if at == n}
        lines += _stage(stage, parts, columns, document, told)
    if any(document[k] for k in ("outwork", "measured", "hand_over", "clashes")):
        from kitting.outputs.beyond import beyond_text

        lines += beyond_text(document)
    for section in (_gaps, _left_overs, _cautions, _findings):
        lines += section(document, everything, why)
    return "\n".join(lines)


def _head(document: Document) -> Iterator[str]:
    day = long_day(document["as_of"])
    stops, short = _stops(document), _short(document)
    if document["whole"]:
        first = click.style(f"{document['build']} is WHOLE", fg="green", bold=True)
        yield f"{first} as of {day}: every part is there or comes in time."
    else:
        name = f"{document['build']} is NOT WHOLE"
        parts = len({s["part"] for s in short})
        counts = [plural(parts, "part short", "parts short")] if short else []
        if waits := len({part["part"] for _, part in _late(document)}):
            counts.append(plural(waits, "part late", "parts late"))
        if jobs := _jobs_late(document):
            counts.append(plural(len(jobs), "job back late", "jobs back late"))
        if stops:
            counts.append(plural(len(stops), "gap that stops", "gaps that stop"))
        if told := sum(row["level"] == Level.STOP for row in document["cautions"]):
            counts.append(plural(told, "caution that stops", "cautions that stop"))
        why = ", ".join(counts) or "see what stops it below"
        first, *rest = wrapped(f"{name} as of {day}: {why}.", 10)
        yield first.replace(name, click.style(name, fg="red", bold=True), 1)
        yield from rest
    yield from wrapped("Do first: " + do_first(document), 10)
    if line := chance_line(document["chance"]):
        yield from wrapped(line, 10)
    options = f", {document['options']}" if document["options"] else ""
    yield from wrapped(
        f"{document['assembly']}, on the bench {long_day(document['start'])}{options}", 10
    )


def _stops(document: Document) -> list[Any]:
    return [g for g in document["gaps"] if g["level"] == Level.STOP]


def _short(document: Document) -> list[Any]:
    return [s for s in document["shortages"] if not s["deferred"]]


def _jobs_late(document: Document) -> list[Document]:
    """Return the jobs that are back too late for a stage that does not come later."""
    later = {
        (s["assembly"], s["stage"]) for s in document["stages"] if s["state"] == StageState.DEFERRED
    }
    jobs = [job for job in document["outwork"] if not job["in_time"]]
    return [job for job in jobs if (job["assembly"], job["stage"]) not in later]


def _late(document: Document) -> list[tuple[Document, Document]]:
    """Return the stages that do not come later, with what their orders bring after its day."""
    stages = [s for s in document["stages"] if s["state"] != StageState.DEFERRED]
    return [(stage, part) for stage in stages for part in stage["parts"] if part["late"]]


def do_first(document: Document) -> str:
    """Say in one sentence what to do first about a build.

    Parameters
    ----------
    document
        What ``check_document`` returns.
    """
    stops, short = _stops(document), _short(document)
    unoffered = [s for s in short if s["supplier"] is None]
    if unoffered and unoffered[0]["ask"] not in ("", "customer"):
        what = _thing(unoffered[0], short)
        return f"ask {unoffered[0]['ask']} for price and days of {what}; no offer is whole."
    if unoffered and unoffered[0]["ask"]:
        by = long_day(unoffered[0]["needed"])
        return f"ask the customer for {_thing(unoffered[0], short)}, by {by}."
    if unoffered:
        return f"find a source for {_thing(unoffered[0], short)}: no supplier offers it."
    if short:
        soonest = min(short, key=lambda s: s["order_by"] or "")
        by = _until(soonest, document["as_of"])
        same_day = {s["part"] for s in short if s["order_by"] == soonest["order_by"]}
        more = f" and {plural(len(same_day) - 1, 'other part', 'other parts')} by then"
        return f"order {_thing(soonest, short)} from {soonest['supplier']}, {by}" + (
            f",{more}." if len(same_day) > 1 else "."
        )
    if late := _late(document):
        stage, part = max(late, key=lambda pair: pair[1]["comes"])
        day = long_day(part["comes"])
        places = part["place"].split("; ")
        order = next((p for p in places if p.startswith("order ")), part["place"])
        return f"chase {order}: it brings {_named(part)} to {stage['stage']} on {day}."
    if jobs := _jobs_late(document):
        job = jobs[0]
        back = f", which is back {long_day(job['usable'])}" if job["usable"] else ""
        what = job["name"] or job["job"]
        return f"move {job['stage']}, or find who is sooner with {what}{back}."
    if stops:
        gap = stops[0]
        return f"fill or waive the empty {gap['role']} at {gap['joint']} ({gap['stage']})."
    if told := [row for row in document["cautions"] if row["level"] == Level.STOP]:
        return f"settle what stops {told[0]['subject']}: see the cautions."
    if not document["whole"]:
        return "settle what stops it: see below."
    starting = [s for s in document["stages"] if s["state"] == StageState.COMING]
    if starting:
        return "nothing to order; watch the orders that are on their way."
    return "nothing; pick the kit."


def _thing(shortage: Document, short: list[Any]) -> str:
    """Name a part and how much of it is short on the whole build: ``2 x ring (OR-12)``."""
    same = [s["short"] for s in short if s["part"] == shortage["part"]]
    total = max(same) if shortage["role"] in LENT_ROLES else sum(same)
    unit = " x" if shortage["unit"] == "piece" else f" {shortage['unit']} of"
    return f"{total:g}{unit} {_named(shortage)}"


def _named(row: Document) -> str:
    number = "" if row["name"] in ("", row["part"]) else f" ({row['part']})"
    return f"{row['name'] or row['part']}{number}"


def _until(shortage: Document, as_of: str) -> str:
    """Say until when to order, or how sure it still is."""
    if (shortage["order_by"] or "") >= as_of:
        return f"by {_by(shortage)}"
    if (shortage["order_by_stated"] or "") < as_of or shortage["chance_in_time"] < _NO_CHANCE:
        return "now, already late"
    return f"today, {percent(shortage['chance_in_time'])} sure to be in time"


def _by(shortage: Document) -> str:
    cut_off = f" {shortage['cut_off']}" if shortage["cut_off"] else ""
    return f"{long_day(shortage['order_by'])}{cut_off}"


def _shown(stage: Document, *, everything: bool) -> list[Document]:
    """Return a stage's parts that are to be listed, shortages first."""
    parts = _by_part([p for p in stage["parts"] if everything or not p["from_set"]])
    there = [p for p in parts if not p["short"] and (everything or p["coming"])]
    there.sort(key=lambda part: not part["late"])
    return [*(p for p in parts if p["short"]), *there]


def _stage(
    stage: Document,
    shown: list[Document],
    columns: _Columns,
    document: Document,
    told: set[str],
) -> Iterator[str]:
    mark, colour = _MARKS[StageState(stage["state"])]
    several = len({s["assembly"] for s in document["stages"]}) > 1
    of = f"{stage['assembly']} " if several else ""
    what = f": {stage['name']}" if stage["name"] else ""
    label = f"{mark:4} {of}{stage['stage']}{what}"
    state = f"{stage['state']}, starts {long_day(stage['start'])}"
    yield (
        click.style(fit(label, WIDTH - len(state) - 2), bold=True)
        + "  "
        + click.style(state, fg=colour)
    )
    if not shown:
        return
    yield f"     {'part':{columns.part}} {'what':{columns.what}} {'need':>{columns.need}}" + (
        "  have coming short order by"
    )
    orders: dict[str, list[Document]] = {}
    for s in document["shortages"]:
        if s["stage"] == stage["stage"] and s["assembly"] == stage["assembly"]:
            orders.setdefault(s["part"], []).append(s)
    for part in shown:
        yield _part_line(part, columns, orders.get(part["part"], []), document["as_of"])
        if part["short"] and part["part"] in told:
            yield from told_elsewhere(orders.get(part["part"], []))


class _Columns(NamedTuple):
    """Widths of the stages' tables, and the names that must keep their ends to differ."""

    part: int
    what: int
    need: int
    alike: frozenset[str]


def _columns(shown: list[Document]) -> _Columns:
    need = max([5, *(len(_need(p)) for p in shown)])
    part = min(14, max([4, *(len(p["part"]) for p in shown)]))
    what = 42 - need - part
    names = {p["name"] for p in shown if len(p["name"]) > what}
    cut = Counter(fit(name, what) for name in names)
    alike = frozenset(name for name in names if cut[fit(name, what)] > 1)
    return _Columns(part, what, need, alike)


def _by_part(parts: list[Document]) -> list[Document]:
    """Add up the rows of one part in a stage; the JSON keeps them apart by joint and role."""
    sums: dict[tuple[str, bool, str], Document] = {}
    for part in parts:
        lent = part["role"] in LENT_ROLES
        key_of = (part["part"], lent, part["from_set"])
        held = sums.setdefault(key_of, {**part, "need": 0, "have": 0} | _NOTHING)
        for key in ("need", "have", "coming", "short"):
            held[key] = max(held[key], part[key]) if lent else held[key] + part[key]
        held["late"] |= part["late"]
        held["comes"] = max(filter(None, (held["comes"], part["comes"])), default=None)
    return list(sums.values())


def _need(part: Document) -> str:
    return f"{round(part['need'], 3):g}" + ("" if part["unit"] == "piece" else f" {part['unit']}")


def _part_line(part: Document, columns: _Columns, shortages: list[Document], as_of: str) -> str:
    sign = "!" if part["short"] or part["late"] else (">" if part["coming"] else " ")
    cut = middle if part["name"] in columns.alike else fit
    text = (
        f"   {sign} {fit(part['part'], columns.part)} {cut(part['name'], columns.what)} "
        f"{_need(part):>{columns.need}} "
        f"{_number(part['have'], 5)} {_number(part['coming'], 6)} {_number(part['short'], 5)} "
    )
    if part["short"] and shortages:
        return text + _when_to_order(shortages, as_of)
    if part["coming"]:
        return text + f"due {short_day(part['comes'])[4:]}"
    return text + fit(part["place"], WIDTH - len(text)).rstrip()


def _number(number: float, width: int) -> str:
    """Write a number without blank zeros, cut to a width: 9.888, 1200."""
    text = f"{round(number, 3):g}"
    return f"{text if len(text) <= width else f'{number:.0f}':>{width}}"


def _when_to_order(shortages: list[Document], as_of: str) -> str:
    if any(s["supplier"] is None for s in shortages):
        whom = next((s["ask"] for s in shortages if s["supplier"] is None), "")
        told = {"customer": "ask owner", "": "no offer"}.get(whom, "ask price")
        return click.style(told, fg="red")
    if not all(s["in_time"] for s in shortages):
        return click.style("LATE", fg="red")
    day = min(s["order_by"] or "" for s in shortages)
    if day and day <= as_of:
        return click.style("today", fg="yellow")
    return short_day(day or None)


def _gaps(document: Document, everything: bool, why: bool) -> Iterator[str]:
    gaps = document["gaps"]
    if not gaps:
        return
    yield ""
    counts = ", ".join(
        f"{n} {word}"
        for level, word in ((Level.STOP, "stop"), (Level.WARN, "warn"), (Level.NOTE, "note"))
        if (n := sum(g["level"] == level for g in gaps))
    )
    yield click.style(f"Gaps at joints, found by what each joint needs: {counts}", bold=True)
    shown = [g for level in Level for g in gaps if g["level"] == level]
    if not everything:
        shown = [g for g in shown if g["level"] != Level.NOTE]
    told: set[str] = set()
    for gap in shown:
        yield from leveled(
            gap["level"],
            f"{gap['joint'] or gap['stage']} ({gap['stage']}), {gap['role']}: {gap['message']}",
        )
        if why:
            yield from _why(gap, told)
    if len(shown) < len(gaps):
        yield f"  and {plural(len(gaps) - len(shown), 'note', 'notes')}; --all shows them"


def _why(gap: Document, told: set[str]) -> Iterator[str]:
    """Give rule and source of a gap; what was told before stands there once."""
    text = gap.get("why") or f"source: {gap['source']}"
    first, *rest = text.splitlines()
    if text in told and rest:
        first, rest = f"{first}, as above", []
    told.add(text)
    for line in (first, *rest):
        yield from wrapped(f"         {line}", 11)


def _left_overs(document: Document, everything: bool, why: bool) -> Iterator[str]:
    rows = document["left_overs"]
    if not rows or not everything:
        return
    yield ""
    yield click.style("Left over from sets, expected", bold=True)
    for row in rows:
        yield from wrapped(
            f"       {row['quantity']:g} {row['unit']} {row['name']} ({row['part']}) of set "
            f"{row['set']}: {row['fits']}",
            7,
        )


def _cautions(document: Document, everything: bool, why: bool) -> Iterator[str]:
    rows = document["cautions"]
    if not rows:
        return
    yield ""
    yield click.style("Cautions", bold=True)
    for row in rows:
        source = f" [{row['source']}]" if row["source"] else ""
        yield from leveled(row["level"], f"{row['subject']}: {row['message']}{source}")


def _findings(document: Document, everything: bool, why: bool) -> Iterator[str]:
    rows = document["findings"]
    if not rows:
        return
    yield ""
    rows = [r for level in Level for r in rows if r["level"] == level]
    shown = rows if everything else [r for r in rows if r["level"] != Level.NOTE][:_NOTES_SHOWN]
    if not shown:
        yield f"{plural(len(rows), 'note', 'notes')} for the whole shop; --all shows them"
        return
    yield click.style("For the whole shop", bold=True)
    for row in shown:
        place = f"{row['where']}: " if row["where"] else ""
        yield from leveled(row["level"], f"{place}{row['message']}")
    if len(shown) < len(rows):
        yield f"  and {len(rows) - len(shown)} more; --all shows them"

"""Jobs sent out, sizes to measure and what is owed at the end: parts of the kit check."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click
import pandas as pd

from kitting.outputs.both_units import amount_text
from kitting.outputs.sureness import percent
from kitting.outputs.text import fit, plural, short_day, wrapped
from kitting.terms.money import show_cents
from kitting.terms.units import Unit, unit

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from kitting.tables.plan import Beyond

Document = dict[str, Any]
_NAMES = ("assembly", "stage", "joint", "part", "name", "note")
_OFF, _STAGE, _PART = "comes off", "stage to do", "part to fit"


def beyond_document(
    beyond: Beyond, build: str, units: Mapping[str, Unit], short: set[int]
) -> Document:
    """Return what a build has to do beyond the shelf and the bench, ready for JSON.

    Parameters
    ----------
    beyond
        Of every open build.
    build
        Name of the build.
    units
        Unit by part.
    short
        Rows of the table ``required`` that are short.

    Returns
    -------
    dict
        ``outwork`` (each with what it takes off), ``measured``, ``sizes`` (what to have on the
        shelf beforehand), ``hand_over`` and ``clashes`` (benches that others want as well).
    """
    measured = _of_build(beyond.measured, build)
    asked = {(row["assembly"], row["joint"]) for row in measured}
    return {
        "outwork": _outwork(beyond, build, units),
        "measured": [
            {
                **{c: row[c] for c in ("assembly", "stage", "joint", "part", "measures")},
                **{c: _day(row[c]) for c in ("measured", "order", "usable", "needed")},
                **{c: row[c] for c in ("in_time", "days_late", "not_offered")},
            }
            for row in measured
        ],
        "sizes": [
            {
                **{c: row[c] for c in ("assembly", "joint", "part", "known_from")},
                "share": round(row["share"], 4),
                "shelf": _amount(row["shelf"], row["part"], units),
                "buy": _amount(row["buy"], row["part"], units),
                "cost": row["cost"],
                "chance": round(row["chance"], 4),
            }
            for row in beyond.assortment.to_dict("records")
            if (row["assembly"], row["joint"]) in asked
        ],
        "hand_over": _hand_over(beyond.hand_over, build, units, short),
        "clashes": [
            {
                **{c: row[c] for c in ("place", "holds")},
                **{c: _day(row[c]) for c in ("first", "last")},
                "builds": others,
            }
            for row in beyond.clashes.to_dict("records")
            if build in (others := row["builds"].split("; "))
        ],
    }


def _of_build(frame: pd.DataFrame, build: str) -> list[dict[str, Any]]:
    """Return the rows of one build, by column."""
    return [row for row in frame.to_dict("records") if row["build"] == build]


def _outwork(beyond: Beyond, build: str, units: Mapping[str, Unit]) -> list[Document]:
    off = _of_build(beyond.taken_off, build)
    return [
        {
            **{c: job[c] for c in ("assembly", "stage", "job", "name")},
            "supplier": job["supplier"] or None,
            **{c: _day(job[c]) for c in ("out", "back", "usable", "needed")},
            **{c: job[c] for c in ("in_time", "days_late")},
            "taken_off": [
                {
                    **{c: taken[c] for c in ("joint", "part", "name", "check")},
                    "quantity": _amount(taken["quantity"], taken["part"], units),
                }
                for taken in off
                if (taken["assembly"], taken["job"]) == (job["assembly"], job["job"])
            ],
        }
        for job in _of_build(beyond.outwork, build)
    ]


def _hand_over(
    frame: pd.DataFrame, build: str, units: Mapping[str, Unit], short: set[int]
) -> Document:
    own = _of_build(frame, build)
    return {
        "stages": [
            {**{c: row[c] for c in ("assembly", "stage", "name")}, "day": _day(row["day"])}
            for row in own
            if row["what"] == _STAGE
        ],
        "comes_off": [
            {**{c: row[c] for c in _NAMES}, "day": _day(row["day"])}
            for row in own
            if row["what"] == _OFF
        ],
        "owed": [
            {
                **{c: row[c] for c in _NAMES},
                "quantity": _amount(row["quantity"], row["part"], units),
                "short": row["required"] in short,
            }
            for row in own
            if row["what"] == _PART
        ],
    }


def beyond_text(document: Document) -> Iterator[str]:
    """Write it in short for a terminal; nothing where there is nothing.

    Parameters
    ----------
    document
        A kit check that holds what ``beyond_document`` returns.
    """
    if document["outwork"]:
        yield from ("", click.style("Sent out and back", bold=True))
    for job in document["outwork"]:
        yield _job_line(job)
        if taken := "; ".join(t["name"] or t["part"] for t in job["taken_off"]):
            yield from wrapped(f"       takes off: {taken}", 9)
    if document["measured"]:
        yield from ("", click.style("Sizes that are measured first", bold=True))
    for size in document["measured"]:
        days = (short_day(size[c])[4:] for c in ("measured", "usable", "needed"))
        known, there, needed = days
        late = "" if size["in_time"] else f", {_late(size)}: hold the sizes on the shelf"
        yield from wrapped(
            f"  {'   ' if size['in_time'] else '!! '} {size['joint']}: measured {known}, any size "
            f"there {there}, needed {needed}{late}",
            7,
        )
        yield from _to_hold(document["sizes"], size)
    yield from _owed(document["hand_over"])
    yield from _in_the_way(document)


def _job_line(job: Document) -> str:
    mark = "   " if job["in_time"] else "!! "
    when = f"out {short_day(job['out'])[4:]}, back {short_day(job['usable'])[4:]}"
    text = f"  {mark} {fit(job['name'] or job['job'], 32)} {when:25} "
    return text + ("in time" if job["in_time"] else click.style(_late(job), fg="red"))


def _late(row: Document) -> str:
    days = row["days_late"]
    if days:
        return f"{plural(days, 'day', 'days')} LATE"
    return "no day" if row.get("supplier", "") is not None else "no offer"


def _to_hold(sizes: list[Document], size: Document) -> Iterator[str]:
    """Say which sizes to buy beforehand, and how sure it is then that one of them is right."""
    own = [s for s in sizes if (s["assembly"], s["joint"]) == (size["assembly"], size["joint"])]
    buy = [f"{s['buy']} x {s['part']}" for s in own if s["buy"] != "0"]
    if own and own[0]["chance"]:
        do = f"buy {', '.join(buy)} beforehand" if buy else "the shelf holds enough sizes"
        yield from wrapped(
            f"       {do}: {percent(own[0]['chance'])} sure to find the right one", 9
        )


def _owed(owed: Document | None) -> Iterator[str]:
    if owed is None or not (owed["stages"] or owed["comes_off"]):
        return
    yield from ("", click.style("Owed when it leaves the bench", bold=True))
    if owed["stages"]:
        stages = ", ".join(f"{s['stage']} {short_day(s['day'])[4:]}" for s in owed["stages"])
        lacking = sum(p["short"] for p in owed["owed"])
        parts = plural(len(owed["owed"]), "line of parts", "lines of parts")
        short = f", {lacking} short" if lacking else ""
        yield from wrapped(f"       to do: {stages}; {parts}{short}", 7)
    for thing in owed["comes_off"]:
        at = f" at {thing['joint']}" if thing["joint"] else ""
        yield from wrapped(f"  off  {thing['name'] or thing['part']}{at}: {thing['note']}", 7)


def _in_the_way(document: Document) -> Iterator[str]:
    """Say which benches others want as well, the first time for each bench and company."""
    if not document["clashes"]:
        return
    yield from ("", click.style("Benches that others want as well", bold=True))
    told: dict[tuple[str, str], list[str]] = {}
    for row in document["clashes"]:
        others = ", ".join(b for b in row["builds"] if b != document["build"])
        told.setdefault((row["place"], others), []).append(_span(row))
    for (place, others), spans in told.items():
        more = f" and {plural(len(spans) - 1, 'later span', 'later spans')}" if spans[1:] else ""
        yield from wrapped(f"       {place}: {others} too, {spans[0]}{more}", 9)
    yield "       kitting schedule proposes days"


def _span(row: Document) -> str:
    if row["first"] == row["last"]:
        return short_day(row["first"])
    return f"{short_day(row['first'])} to {short_day(row['last'])}"


def _amount(quantity: Any, part: str, units: Mapping[str, Unit]) -> str:
    return "" if pd.isna(quantity) else amount_text(int(quantity), units.get(part, unit("")))


def _day(value: Any) -> str | None:
    return None if pd.isna(value) else pd.Timestamp(value).date().isoformat()


def money_of_sizes(sizes: list[Document], currency: str) -> list[Document]:
    """Return the sizes to hold by joint: what to buy, what it costs, and how sure it is then.

    Parameters
    ----------
    sizes
        As ``beyond_document`` returns them.
    currency
        Of the shop.
    """
    found: dict[tuple[str, str], Document] = {}
    for size in sizes:
        one = found.setdefault(
            (size["assembly"], size["joint"]),
            {"joint": size["joint"], "buy": [], "cents": 0, "chance": size["chance"],
             "known_from": size["known_from"]},
        )  # fmt: skip
        if size["buy"] != "0":
            one["buy"].append(f"{size['buy']} x {size['part']}")
        one["cents"] += size["cost"]
    return [one | {"cost": show_cents(one["cents"], currency)} for one in found.values()]

"""The audit of forgotten parts: as a document for ``--json`` and for the terminal."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click
import pandas as pd

from kitting.outputs.text import fit, leveled, plural, short_day, wrapped
from kitting.terms.money import show_cents

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from kitting.tables.shop import Shop
    from kitting.terms.findings import Finding

Document = dict[str, Any]
_TABLES = {
    "part": "By part",
    "family": "By family of parts",
    "kind": "By kind of joint",
    "joint": "By joint",
    "role": "By role",
    "stage": "By stage",
    "supplier": "By supplier",
    "cause": "By cause",
}
_BRIEFLY = ("part", "joint", "supplier", "cause")
_ROWS = 6


def audit_document(
    shop: Shop,
    tallies: Mapping[str, pd.DataFrame],
    caught: pd.DataFrame,
    suggestions: pd.DataFrame,
    findings: tuple[Finding, ...],
) -> Document:
    """Return the audit, ready for JSON; money in cents, blank days and rates as ``None``.

    Parameters
    ----------
    shop
        The shop that was audited.
    tallies
        Tables ``tally`` by aspect, and ``trend``.
    caught, suggestions
        Tables of those names.
    findings
        What is odd about the entries.
    """
    return {
        "currency": shop.setting("currency"),
        "forgotten": len(shop["forgotten"]),
        "all": as_rows(tallies["all"]),
        **{f"by_{name}": as_rows(tallies[name]) for name in _TABLES},
        "trend": as_rows(tallies["trend"]),
        "progress": next(iter(as_rows(tallies["progress"])), None),
        "suggestions": as_rows(suggestions),
        "caught": as_rows(caught),
        "findings": [
            {"level": str(f.level), "where": f.where(), "message": f.message} for f in findings
        ],
    }


def as_rows(frame: pd.DataFrame) -> list[Document]:
    """Return the rows of a frame, ready for JSON: blanks and what is infinite as ``None``."""
    return [{key: _plain(value) for key, value in row.items()} for row in frame.to_dict("records")]


def _plain(value: Any) -> Any:
    if pd.isna(value) or value in (float("inf"), float("-inf")):
        return None
    return value.date() if hasattr(value, "date") else value


def audit_text(document: Document, *, everything: bool = False) -> str:
    """Write the audit for a terminal: totals, rankings, trend, what would be caught today."""
    if not document["forgotten"]:
        return "No forgotten part is noted yet; note one with: kitting forgot BUILD PART"
    lines = [*_head(document), ""]
    for name, title in _TABLES.items():
        if everything or name in _BRIEFLY:
            lines += _table(title, document[f"by_{name}"], document["currency"], everything)
    lines += _trend(document["trend"], document["progress"])
    lines += _suggested(document["suggestions"])
    lines += _caught(document["caught"], everything)
    for row in document["findings"]:
        lines += leveled(row["level"], f"{row['where']}: {row['message']}")
    return "\n".join(lines)


def _head(document: Document) -> Iterator[str]:
    total = document["all"][0] if document["all"] else None
    missed = sum(not c["caught"] for c in document["caught"])
    if total is None:
        yield plural(document["forgotten"], "part was forgotten.", "parts were forgotten.")
        return
    yield click.style(
        f"{plural(total['events'], 'part', 'parts')} forgotten on {total['builds']} of "
        f"{plural(total['could'], 'finished build', 'finished builds')}",
        bold=True,
    ) + (
        f": {plural(total['hours_lost'], 'hour', 'hours')} and "
        f"{show_cents(total['money_lost'], document['currency'])} lost."
    )
    yield (
        f"Today's bill and checks would catch {len(document['caught']) - missed} of "
        f"{len(document['caught'])}."
    )


def _table(title: str, rows: list[Document], currency: str, everything: bool) -> Iterator[str]:
    if not rows:
        return
    yield click.style(
        f"{title:27} {'times':>5} {'builds':>7}  rate (95 %)    expect  hours", bold=True
    ) + (click.style(f" {currency:>7}", bold=True))
    for row in rows if everything else rows[:_ROWS]:
        name = row["name"] if not row["label"] else f"{row['name']} {row['label']}"
        if row["rate"] is None:
            rate = " " * 14
        else:
            span = f"{100 * row['low']:.0f}-{100 * row['high']:.0f}"
            rate = f"{100 * row['rate']:3.0f} % {'(' + span + ')':9}"
        of = f"{row['builds']}/{row['could']}"
        yield (
            f"  {fit(name, 25)} {row['events']:>5} {of:>7}  {rate} {100 * row['expected']:>4.0f} % "
            f"{row['hours_lost']:>6g} "
            f"{show_cents(row['money_lost']):>7}"
        )
    if not everything and len(rows) > _ROWS:
        yield f"  and {len(rows) - _ROWS} more; --all lists them"
    yield ""


def _trend(rows: list[Document], progress: Document | None) -> Iterator[str]:
    if not rows or progress is None:
        return
    yield click.style("Build by build, in order of finish (one o for each part)", bold=True)
    for row in rows[-12:]:
        bar = "o" * row["events"] or "-"
        finished = row["finished"].isoformat()
        yield (
            f"  {fit(row['build'], 12)} {fit(short_day(finished), 11)} {finished[:4]} "
            f"{fit(bar, 20)} mean of last five {row['recent']:.1f}"
        )
    yield from wrapped(f"  {better(progress)}", 2)
    yield ""


def better(progress: Document) -> str:
    """Say whether it gets better."""
    verdict = {"better": "It gets better", "worse": "It gets worse"}.get(
        progress["verdict"], "Whether it gets better cannot be told yet"
    )
    if progress["factor"] is None and progress["low"] in (0.0, None) and progress["high"] is None:
        return f"{verdict}: too few builds or parts."
    at = "without end" if progress["factor"] is None else f"{progress['factor']:.2g} times"
    end = "any" if progress["high"] is None else f"{progress['high']:.2g}"
    return (
        f"{verdict}: at the last build {at} the rate of the first "
        f"(95 %: {progress['low']:.2g} to {end})."
    )


def _suggested(rows: list[Document]) -> Iterator[str]:
    """List what open builds may lack, by what past builds used together."""
    if not rows:
        return
    yield click.style("What open builds may lack, by what past builds used together", bold=True)
    for row in rows:
        yield from wrapped(f"  {row['build']}: {row['reason']}; the kit has none", 4)
    yield ""


def _caught(rows: list[Document], everything: bool) -> Iterator[str]:
    missed = [r for r in rows if not r["caught"]]
    yield click.style(
        f"Would today's bill catch it? {len(rows) - len(missed)} yes, {len(missed)} no", bold=True
    )
    for row in rows if everything else missed:
        sign = "yes" if row["caught"] else "NO "
        at = row["joint"] or row["stage"]
        yield from wrapped(
            f"  {sign} {row['part']} on {row['build']}, {at} ({row['cause']}): {row['reason']}", 6
        )
    if missed and not everything:
        yield "  --all also lists what would be caught"

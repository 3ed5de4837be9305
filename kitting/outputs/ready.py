"""What to keep for a promise: as a document and as text."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from kitting.outputs.text import fit, leveled, plural, wrapped
from kitting.terms.money import show_cents
from kitting.terms.units import counted, unit

if TYPE_CHECKING:
    from collections.abc import Iterator
    from datetime import date

    from kitting.tables.plan import Ready
    from kitting.tables.shop import Shop

Document = dict[str, Any]
_MOST_CHOICES = 8


def ready_document(ready: Ready, shop: Shop, asked: Document, day: date) -> Document:
    """Return what to keep, ready for JSON; quantities in base units, amounts in cents.

    Parameters
    ----------
    ready
        What sourcing found.
    asked
        ``assembly``, ``options``, ``within`` and ``exchange`` as they were asked for.
    """
    rows = ready.keep.to_dict("records")
    return {
        "as_of": day.isoformat(),
        **asked,
        "currency": shop.setting("currency"),
        "builds_a_year": round(ready.yearly, 1),
        "possible": asked["within"] >= ready.soonest,
        "soonest": ready.soonest,
        "cost": sum(row["cost"] for row in rows),
        "keep": [row for row in rows if row["keep"]],
        "not_kept": [row for row in rows if not row["keep"]],
        "choices": [{"within": n, "cost": cost} for n, cost in ready.choices],
        "findings": [
            {"level": str(f.level), "where": f.where(), "message": f.message}
            for f in ready.findings
        ],
    }


def ready_text(document: Document) -> str:
    """Write what to keep for a terminal, 80 columns; what lacks has a star."""
    return "\n".join([*_head(document), *_table(document), *_foot(document)])


def _head(document: Document) -> Iterator[str]:
    what = f"{document['assembly']}{' (exchange unit)' if document['exchange'] else ''}"
    within = plural(document["within"], "working day", "working days")
    if not document["possible"]:
        yield click.style(f"{what} cannot be promised within {within}", bold=True)
        yield from wrapped(
            f"  At least {document['soonest']}: that long take the stages and the jobs that are "
            "away, whatever lies on the shelf.", 4
        )  # fmt: skip
        return
    yield click.style(f"To promise {what} within {within}", bold=True)


def _table(document: Document) -> Iterator[str]:
    if not document["possible"]:
        return
    if not document["keep"]:
        yield "  Nothing need be kept: all comes in time when ordered on the customer's word."
    else:
        yield (
            f"    {'':12} {'':20} {'keep':>9} {'to spare':>9} {'bridges':>8} "
            f"{document['currency'] + ' a year':>11}"
        )
    for row in document["keep"]:
        sign = "*" if row["have"] < row["keep"] else " "
        yield (
            f"  {sign} {fit(row['item'], 12)} {fit(row['name'] or 'built ahead', 20)} "
            f"{_much(row, 'keep'):>9} {_much(row, 'have'):>9} "
            f"{plural(row['bridges'], 'day', 'days'):>8} {show_cents(row['cost']):>11}"
        )
    if document["keep"]:
        yield f"    {'in all':12} {show_cents(document['cost']):>61}"


def _much(row: Document, column: str) -> str:
    """Write a quantity shortly: pieces without their unit."""
    text = counted(row[column], unit(row["unit"]))
    return text.removesuffix("s").removesuffix(" piece")


def _foot(document: Document) -> Iterator[str]:
    yield ""
    if document["possible"]:
        yield "  Proposed, not ordered."
    told = [f"{c['within']} days {show_cents(c['cost'])}" for c in document["choices"]]
    if len(told) > _MOST_CHOICES:
        told = [*told[: _MOST_CHOICES - 1], "...", told[-1]]
    money = f"{document['currency']} a year"
    yield from wrapped(f"  To promise within so many days costs ({money}): {', '.join(told)}.", 4)
    if document["possible"] and document["not_kept"]:
        parts = plural(len(document["not_kept"]), "part needs", "parts need")
        yield from wrapped(f"  {parts} no stock; --json lists them.", 4)
    if document["keep"]:
        yield from wrapped(
            "  To spare: on the shelf and on order, less what open builds need. A year: the "
            "setting holding_rate on all that is kept; what is built ahead counts as its parts.", 4
        )  # fmt: skip
    yield from wrapped(
        f"  {document['builds_a_year']:g} builds a year by those finished. What other assemblies "
        "take from the same shelf comes on top.", 4
    )  # fmt: skip
    lacking = sum(row["have"] < row["keep"] for row in document["keep"])
    if lacking:
        yield from wrapped(f"  * less to spare than to keep: {lacking}.", 4)
    for row in document["findings"]:
        place = f"{row['where']}: " if row["where"] else ""
        yield from leveled(row["level"], f"{place}{row['message']}")

"""Levels to keep: as a document, as text, and as a sheet to hang by the shelf."""

from __future__ import annotations

from itertools import groupby
from typing import TYPE_CHECKING, Any

import click

from kitting.outputs.text import fit, leveled, plural, wrapped
from kitting.terms.money import show_cents
from kitting.terms.units import counted, unit

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from datetime import date
    from pathlib import Path

    import pandas as pd

    from kitting.tables.shop import Shop
    from kitting.terms.findings import Finding

Document = dict[str, Any]
_SPARE = (
    "To spare: on the shelf and on order, less what open builds need; below zero builds are short."
)
NOTE = (
    f"Proposed, not ordered. {_SPARE} Order at: what is to spare when to order again. Covered: "
    "chance that it lasts until more can be used."
)


def levels_document(
    levels: pd.DataFrame, shop: Shop, findings: Sequence[Finding], day: date, files: Sequence[Path]
) -> Document:
    """Return the levels, ready for JSON; quantities in base units, amounts in cents.

    Parameters
    ----------
    levels
        Table ``levels``.
    findings
        What sourcing says.
    files
        Workbooks that were written.
    """
    return {
        "as_of": day.isoformat(),
        "currency": shop.setting("currency"),
        "levels": levels.to_dict("records"),
        "files": [str(f) for f in files],
        "findings": [
            {"level": str(f.level), "where": f.where(), "message": f.message} for f in findings
        ],
    }


def levels_text(document: Document) -> str:
    """Write the levels for a terminal, 80 columns; what is low stands first with a star."""
    return "\n".join([*_table(document), *_lots(document), *_together(document), *_foot(document)])


def _table(document: Document) -> Iterator[str]:
    if not document["levels"]:
        yield "nothing is known to be always used"
        return
    yield click.style("What is always used: levels proposed, nothing ordered", bold=True)
    yield (
        f"    {'part':12} {'a year':>9} {'to spare':>9}  {'order at':>9}  {'order':>10} "
        f"{document['currency']:>8} from"
    )
    for row in document["levels"]:
        sign = "*" if row["low"] else " "
        if not row["supplier"]:
            yield f"  {sign} {fit(row['part'], 12)} {_much(row, 'use'):>9} {_much(row, 'have'):>9}"
            continue
        yield (
            f"  {sign} {fit(row['part'], 12)} {_much(row, 'use'):>9} {_much(row, 'have'):>9}  "
            f"{_much(row, 'level'):>9}  {_much(row, 'quantity'):>10} {show_cents(row['cost']):>8} "
            f"{fit(row['supplier'], 11).rstrip()}"
        )


def _much(row: Document, column: str) -> str:
    """Write a quantity shortly: pieces without their unit."""
    text = use_of(row) if column == "use" else counted(row[column], unit(row["unit"]))
    return text.removesuffix("s").removesuffix(" piece")


def use_of(row: Document) -> str:
    """Write the use of a year to the whole unit, since it is an estimate."""
    of = unit(row["unit"])
    return counted(round(round(row["use"] / of.factor) * of.factor), of)


def _lots(document: Document) -> Iterator[str]:
    rows = [row for row in document["levels"] if row["lots"]]
    if not rows:
        return
    yield ""
    yield click.style("What open builds are short of would best be ordered so", bold=True)
    for row in rows:
        yield from wrapped(f"  {row['part']}: {row['lots']}", 6)


def _together(document: Document) -> Iterator[str]:
    """Say for each supplier of several parts how often to order, and what each time."""
    rows = sorted((r for r in document["levels"] if r["cycle"]), key=lambda r: r["supplier"])
    if not rows:
        return
    yield ""
    yield click.style("Ordered together, freight and parcel are paid once", bold=True)
    for supplier, group in groupby(rows, key=lambda r: r["supplier"]):
        parts = sorted(group, key=lambda r: (r["turn"], r["part"]))
        cost = show_cents(parts[0]["order_cost"], document["currency"])
        yield from wrapped(f"  {supplier}: {often(parts[0]['cycle'])}, {cost} an order", 6)
        for row in parts:
            packs = plural(row["turn_packs"], "pack", "packs")
            yield f"    {fit(row['part'], 12)} {packs:>9}  {turn_of(row)}".rstrip()


def turn_of(row: Document) -> str:
    """Say in which of its supplier's orders a part is; blank = in each."""
    return "" if row["turn"] == 1 else f"in 1 order of {row['turn']}"


def often(days: int) -> str:
    """Write working days as weeks of five once there are some."""
    weeks = round(days / 5)
    if weeks < 2:
        return "every working day" if days == 1 else f"every {days} working days"
    return f"every {weeks} weeks"


def _foot(document: Document) -> Iterator[str]:
    if document["levels"]:
        yield ""
        yield from wrapped(f"  {_SPARE}", 4)
        low = sum(row["low"] for row in document["levels"])
        said = f"* at its level or below: {low} of {len(document['levels'])}. " if low else ""
        running = sum(row["running"] for row in document["levels"])
        said += "Each ordered alone, orders, holding and waiting come to "
        yield from wrapped(f"  {said}{show_cents(running, document['currency'])} a year.", 4)
    for row in document["findings"]:
        place = f"{row['where']}: " if row["where"] else ""
        yield from leveled(row["level"], f"{place}{row['message']}")
    for name in document["files"]:
        yield f"  wrote {name}"


def write_levels(levels: pd.DataFrame, shop: Shop, folder: Path, day: date) -> Path:
    """Write the levels as a workbook that prints one page wide.

    Parameters
    ----------
    levels
        Table ``levels``, at least one row.
    folder
        Where it goes; made when it is not there.

    Raises
    ------
    KittingError
        When it cannot be written.
    """
    from kitting.outputs.folder import staging
    from kitting.outputs.levels_book import levels_book

    with staging(folder) as staged:
        name = f"levels {day.isoformat()}"
        staged.add(name, ".xlsx", levels_book(levels, shop, day), beside_old=True)
        placed = staged.place()
    return placed[0] if placed else folder / f"{name}.xlsx"

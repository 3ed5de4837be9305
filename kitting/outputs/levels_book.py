"""The sheet of levels to hang by the shelf, and what is ordered together."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from openpyxl import Workbook
from openpyxl.utils import get_column_letter

from kitting.outputs import cells
from kitting.outputs.levels import NOTE, often, turn_of, use_of
from kitting.outputs.text import plural
from kitting.terms.units import counted, unit

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    import pandas as pd
    from openpyxl.worksheet.worksheet import Worksheet

    from kitting.tables.shop import Shop

Columns = tuple[tuple[str, int], ...]
COLUMNS: Columns = (
    ("Part", 16), ("Description", 34), ("Used in a year", 14), ("To spare", 12), ("Order at", 12),
    ("Packs", 7), ("Order", 13), ("Cost", 10), ("From", 16), ("Covered", 9), ("", 8),
)  # fmt: skip
TOGETHER: Columns = (
    ("From", 16), ("Order", 22), ("Cost of an order", 16), ("Part", 16), ("Description", 34),
    ("Packs", 10), ("In", 18),
)  # fmt: skip
_RIGHT = {"Used in a year", "To spare", "Order at", "Packs", "Order", "Cost", "Covered"}
_RIGHT_TOGETHER = {"Cost of an order", "Packs"}
_ONCE = (
    "Parts of one supplier ordered together: freight and parcel are paid once. "
    "Proposed, not ordered."
)
_HEADING = 3


def levels_book(levels: pd.DataFrame, shop: Shop, day: date) -> bytes:
    """Return the workbook: a row for each part, and a sheet of what is ordered together.

    Parameters
    ----------
    levels
        Table ``levels``, at least one row.
    day
        The day of the proposal.
    """
    book = Workbook()
    sheet = book.active
    assert sheet is not None
    sheet.title = "Levels"
    title = f"Levels, {shop.setting('name')}, {day.isoformat()}"
    records = levels.to_dict("records")
    _begin(sheet, (title, NOTE), COLUMNS, _RIGHT)
    _rows(sheet, [_cells(row) for row in records], COLUMNS, _RIGHT)
    cells.set_up_page(sheet, _HEADING, title, shop.setting("paper"))
    together = sorted(
        (row for row in records if row["cycle"]),
        key=lambda r: (r["supplier"], r["turn"], r["part"]),
    )
    if together:
        other = book.create_sheet("Ordered together")
        told = title.replace("Levels", "Ordered together", 1)
        _begin(other, (told, _ONCE), TOGETHER, _RIGHT_TOGETHER)
        _rows(other, _shared(together), TOGETHER, _RIGHT_TOGETHER)
        cells.set_up_page(other, _HEADING, told, shop.setting("paper"))
    return cells.saved(book, cells.Values(), day)


def _begin(sheet: Worksheet, told: tuple[str, str], columns: Columns, right: set[str]) -> None:
    """Write title, note and headings and set the widths."""
    for row, (text, font) in enumerate(zip(told, (cells.TITLE, cells.PLAIN), strict=True), start=1):
        sheet.merge_cells(start_row=row, start_column=1, end_row=row, end_column=len(columns))
        cells.put_text(cells.cell_at(sheet, row, 1), text)
        cells.dress(cells.cell_at(sheet, row, 1), font)
    wide = sum(width for _, width in columns)
    sheet.row_dimensions[1].height = 24
    sheet.row_dimensions[2].height = cells.lines_of(told[1], wide) * cells.LINE_POINTS + 3
    for number, (text, width) in enumerate(columns, start=1):
        sheet.column_dimensions[get_column_letter(number)].width = width
        cell = cells.cell_at(sheet, _HEADING, number)
        cells.put_text(cell, text)
        cells.dress(cell, cells.BOLD, _side(text, right), cells.RULE)
    sheet.freeze_panes = cells.cell_at(sheet, _HEADING + 1, 1)


def _rows(
    sheet: Worksheet, rows: Sequence[tuple[str | int, ...]], columns: Columns, right: set[str]
) -> None:
    """Write rows below the headings; whole numbers are cents."""
    for place, texts in enumerate(rows, start=_HEADING + 1):
        high = 1
        for number, ((head, width), value) in enumerate(zip(columns, texts, strict=True), start=1):
            cell = cells.cell_at(sheet, place, number)
            if isinstance(value, int):
                cells.put_cents(cell, value)
            else:
                cells.put_text(cell, value)
                high = max(high, cells.lines_of(value, width))
            cells.dress(cell, cells.PLAIN, _side(head, right), cells.HAIR)
        sheet.row_dimensions[place].height = high * cells.LINE_POINTS + 3


def _side(heading: str, right: set[str]) -> str:
    """Return the side of a column: numbers to the right, what follows them set apart."""
    if heading in right:
        return "right"
    return "indent" if heading in {"From", "", "In"} else "left"


def _cells(row: dict[str, Any]) -> tuple[str | int, ...]:
    """Write the cells of a part."""
    of = unit(row["unit"])
    use, have = use_of(row), counted(row["have"], of)
    if not row["supplier"]:
        return (row["part"], row["name"], use, have, "", "", "", "", "no offer", "", "")
    return (
        *(row["part"], row["name"], use, have, counted(row["level"], of), str(row["packs"])),
        *(counted(row["quantity"], of), int(row["cost"]), row["supplier"]),
        *(_covered(row["service"]), "order" if row["low"] else ""),
    )


def _covered(service: float) -> str:
    """Write a chance in tenths of a percent; what is not sure is never 100."""
    return f"{service if service >= 1 else min(service, 0.999):.1%}"


def _shared(rows: list[dict[str, Any]]) -> list[tuple[str | int, ...]]:
    """Write the cells of parts that are ordered together; their supplier once."""
    found: list[tuple[str | int, ...]] = []
    before = ""
    for row in rows:
        first = row["supplier"] != before
        before = row["supplier"]
        terms = (before, often(row["cycle"]), int(row["order_cost"])) if first else ("", "", "")
        packs = plural(row["turn_packs"], "pack", "packs")
        found.append((*terms, row["part"], row["name"], packs, turn_of(row) or "each order"))
    return found

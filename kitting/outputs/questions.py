"""Requests for quotation: a workbook for each supplier that is to be asked something."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import pandas as pd
from openpyxl import Workbook
from openpyxl.utils import get_column_letter

from kitting.errors import UnitError
from kitting.outputs import cells
from kitting.outputs.order_book import Sender, sender_of
from kitting.terms.units import counted, unit

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from datetime import date

    from openpyxl.styles import Font
    from openpyxl.worksheet.worksheet import Worksheet

    from kitting.outputs.folder import Staging
    from kitting.tables.shop import Shop

ASK = (
    "Please quote for the parts below: price without tax and the pack it is for, working days "
    "from our order to our door, and how long the price holds. Where a number is superseded or "
    "you cannot supply, write so."
)
ANYONE = "whoever may know"
# Heading and width [digits]; the last four are for the supplier to fill in.
COLUMNS = (
    ("Line", 6), ("Your number", 15), ("Our number", 15), ("Description", 27), ("Maker", 14),
    ("Quantity", 11), ("Needed by", 12), ("We ask for", 20),
    ("Price", 11), ("for", 10), ("Days", 8), ("Holds until, notes", 20),
)  # fmt: skip
_BLANK_FROM = 9


@dataclass(frozen=True, slots=True)
class Asked:
    """Whom to ask.

    Parameters
    ----------
    name, address, account
        As on an order; the name says ``whoever may know`` where nobody is known.
    """

    name: str
    address: str
    account: str


def stage_questions(staged: Staging, shop: Shop, questions: pd.DataFrame, day: date) -> None:
    """Write the workbooks of the questions beside a folder, one for each supplier.

    A name that the folder holds already gets a number, so that asking again is never refused; the
    same questions on the same day are not written again.

    Parameters
    ----------
    staged
        Where orders of the same go are staged.
    questions
        Table ``questions``.
    day
        The day of asking.

    Raises
    ------
    KittingError
        When one cannot be written.
    """
    sender = sender_of(shop)
    suppliers = shop["suppliers"].set_index("supplier").to_dict("index")
    for supplier, rows in questions.groupby("supplier", sort=False):
        of = suppliers.get(supplier, {})
        known = Asked(
            str(of.get("name", "")) or str(supplier) or ANYONE,
            str(of.get("address", "")),
            str(of.get("account", "")),
        )
        data = question_book(rows.to_dict("records"), known, sender, day)
        name = f"questions {day.isoformat()} {supplier or 'anyone'}"
        staged.add(name, ".xlsx", data, beside_old=True)


def question_book(
    rows: Sequence[Mapping[str, Any]], asked: Asked, sender: Sender, day: date
) -> bytes:
    """Return the workbook that asks one supplier.

    Parameters
    ----------
    rows
        Rows of table ``questions``, at least one.
    asked, sender
        Who is asked and who asks.
    day
        The day of asking.
    """
    book = Workbook()
    sheet = book.active
    assert sheet is not None
    sheet.title = "Questions"
    for number, (_, width) in enumerate(COLUMNS, start=1):
        sheet.column_dimensions[get_column_letter(number)].width = width
    heading = _head(sheet, asked, sender, day) + 1
    for number, (title, _) in enumerate(COLUMNS, start=1):
        cell = cells.cell_at(sheet, heading, number)
        cells.put_text(cell, title)
        cells.dress(cell, cells.BOLD, "left", cells.RULE)
    for line, row in enumerate(rows, start=1):
        _line(sheet, heading + line, line, row)
    sheet.freeze_panes = cells.cell_at(sheet, heading + 1, 1)
    footer = f"Request for quotation, {sender.name}, {day.isoformat()}"
    cells.set_up_page(sheet, heading, footer, sender.paper)
    return cells.saved(book, cells.Values(), day)


def _head(sheet: Worksheet, asked: Asked, sender: Sender, day: date) -> int:
    """Write who asks whom, and what for; return the last row."""
    texts: list[tuple[str, Font]] = [
        (f"Request for quotation, {day.isoformat()}", cells.TITLE),
        (sender.name, cells.BOLD),
        (sender.address, cells.PLAIN),
        (sender.contact, cells.PLAIN),
        (f"To: {asked.name}", cells.BOLD),
        (asked.address, cells.PLAIN),
        (f"Our account with you: {asked.account}" if asked.account else "", cells.PLAIN),
        (ASK, cells.PLAIN),
    ]
    told = [(text, font) for text, font in texts if text]
    width = sum(width for _, width in COLUMNS)
    for row, (text, font) in enumerate(told, start=1):
        sheet.merge_cells(start_row=row, start_column=1, end_row=row, end_column=len(COLUMNS))
        cell = cells.cell_at(sheet, row, 1)
        cells.put_text(cell, text)
        cells.dress(cell, font)
        scale = (font.size or 10) / 10
        lines = cells.lines_of(text, width / scale)
        sheet.row_dimensions[row].height = lines * cells.LINE_POINTS * scale + 2
    return len(told)


def _line(sheet: Worksheet, row: int, line: int, of: Mapping[str, Any]) -> None:
    """Write one question; the cells to fill in stay blank."""
    needed = "" if pd.isna(of["day"]) else f"{of['day']:%Y-%m-%d}"
    texts = (
        str(line), of["supplier_part"], of["part"], of["name"], of["maker"],
        _quantity(int(of["quantity"]), str(of["unit"])), needed, of["ask"],
    )  # fmt: skip
    high = 1
    for number, (_, width) in enumerate(COLUMNS, start=1):
        cell = cells.cell_at(sheet, row, number)
        if number < _BLANK_FROM:
            cells.put_text(cell, texts[number - 1])
            high = max(high, cells.lines_of(texts[number - 1], width))
        cells.dress(cell, cells.PLAIN, "left", cells.HAIR if number < _BLANK_FROM else cells.BOX)
    # High enough to be filled in by hand.
    sheet.row_dimensions[row].height = max(high * cells.LINE_POINTS, 20) + 4


def _quantity(quantity: int, name: str) -> str:
    """Write a quantity with its unit; one that is not known is told in pieces."""
    try:
        return counted(quantity, unit(name))
    except UnitError:
        return counted(quantity, unit("piece"))

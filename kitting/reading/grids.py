"""A sheet as it was found, cell by cell, before anything is understood."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta

_ERRORS = {"#N/A", "#REF!", "#VALUE!", "#DIV/0!", "#NAME?", "#NUM!", "#NULL!", "#SPILL!", "#CALC!"}
_CONTROL = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f\ud800-\udfff\ufffe\uffff]")
_NO_WIDTH = "\ufeff\u200b \xa0\t\r\n"


@dataclass(frozen=True, slots=True)
class Spoiled:
    """A cell that holds nothing usable, and why."""

    why: str


Cell = str | float | date | time | timedelta | Spoiled
"""What a cell may hold; ``date`` includes ``datetime``, blank is ``""``."""


@dataclass(frozen=True, slots=True)
class Limits:
    """What is refused as too big.

    Parameters
    ----------
    rows
        Rows of one sheet.
    columns
        Columns of one sheet.
    text
        Characters of one cell.
    file_bytes
        Bytes of one file.
    unpacked_bytes, unpacked_ratio
        Bytes that a workbook may unpack to, in all and as a multiple of the file.
    """

    rows: int = 1_000_000
    columns: int = 200
    text: int = 10_000
    file_bytes: int = 200_000_000
    unpacked_bytes: int = 2_000_000_000
    unpacked_ratio: int = 200


@dataclass(frozen=True, slots=True)
class Grid:
    """One sheet as found; ``cells[0]`` is its row 1.

    Parameters
    ----------
    name
        Name of the tab, or of the file without its ending.
    cells
        Rows of cells; rows may differ in length.
    merged
        Merged ranges: first row, first column, last row, last column, from 0.
    """

    name: str
    cells: list[list[Cell]]
    merged: tuple[tuple[int, int, int, int], ...] = ()


def tidy(cell: object, longest: int) -> Cell:
    """Bring a cell to one of the kinds of ``Cell``; text loses the space around it."""
    if isinstance(cell, str):
        return tidy_text(cell, longest)
    if isinstance(cell, bool):
        return "TRUE" if cell else "FALSE"
    if isinstance(cell, int | float):
        return float(cell)
    if isinstance(cell, datetime):
        return cell.date() if cell.time() == time() else cell
    if isinstance(cell, date | time | timedelta):
        return cell
    return ""


def tidy_text(text: str, longest: int) -> Cell:
    """Strip a text and refuse what no cell should hold."""
    text = text.strip()
    if text.isprintable():
        if len(text) <= longest:
            return Spoiled(f"{text}: a formula's error, not a value") if text in _ERRORS else text
    else:
        text = text.strip(_NO_WIDTH).strip().replace("\r\n", "\n").replace("\r", "\n")
    if len(text) > longest:
        return Spoiled(f"the cell has {len(text):,} characters; at most {longest:,} are read")
    if _CONTROL.search(text):
        return Spoiled("the cell has control characters that are not text; type it again")
    return text


def show(cell: Cell) -> str:
    """Write a cell in a message."""
    if isinstance(cell, float):
        return f"{cell:.15g}"
    if isinstance(cell, date | time):
        return cell.isoformat()
    text = " ".join(str(cell).splitlines())
    return f"{text[:37]}..." if len(text) > 40 else text


def column_letter(index: int) -> str:
    """Return a column's letter; 0 is ``A``."""
    letters = ""
    index += 1
    while index:
        index, rest = divmod(index - 1, 26)
        letters = chr(65 + rest) + letters
    return letters

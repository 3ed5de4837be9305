"""From a grid to a frame in the contract's columns, but for quantities, which need the parts."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from kitting.reading import cells as cell_readers
from kitting.reading.cells import each
from kitting.reading.doors import DOORS, ORDINALS
from kitting.reading.findings import Log
from kitting.reading.grids import show
from kitting.reading.headings import lay_out
from kitting.reading.near import instead
from kitting.tables.shop import BY_NAME
from kitting.terms.words import Level

if TYPE_CHECKING:
    from collections.abc import Callable

    import pandas as pd

    from kitting.reading.doors import Door
    from kitting.reading.grids import Cell, Grid
    from kitting.reading.headings import Laid

DELAYED = ("quantity", "ratio")
"""Kinds of column that are converted once the parts are known."""


@dataclass
class Sheet:
    """One sheet while it is read.

    Parameters
    ----------
    name
        Its name.
    log
        What was found in it.
    values
        Lists by column of the contract, all as long as ``log.rows``.
    raw
        Cells of the columns that are converted later.
    given
        Columns that the sheet had.
    readable
        Its headings could be understood.
    untouched
        It held its example row and nothing else.
    unnumbered
        Positions of rows whose ordinal was not given.
    """

    name: str
    log: Log
    values: dict[str, list[Any]] = field(default_factory=dict)
    raw: dict[str, list[Cell]] = field(default_factory=dict)
    given: frozenset[str] = frozenset()
    readable: bool = True
    untouched: bool = False
    unnumbered: frozenset[int] = frozenset()

    def __len__(self) -> int:
        return len(self.log.rows)

    def frame(self) -> pd.DataFrame:
        """Return every row, those at fault too, in the contract's columns."""
        import pandas as pd

        table = BY_NAME[self.name]
        made = {c.name: pd.Series(self.values[c.name], dtype=c.dtype) for c in table.columns}
        return table.conform(pd.DataFrame(made))


def understand(name: str, grid: Grid) -> Sheet:
    """Read every column of a sheet that can be read without the others.

    Parameters
    ----------
    name
        The sheet that the grid is.
    grid
        Its cells.
    """
    log = Log(name)
    laid = lay_out(name, grid, log)
    if laid is None:
        return Sheet(name, log, readable=False)
    sheet = Sheet(name, log, given=frozenset(laid.columns), untouched=laid.untouched)
    count = len(laid.rows)
    for door in DOORS[name]:
        column = laid.columns.get(door.name, [""] * count)
        if door.must:
            _check_filled(door, column, log)
        if door.kind in DELAYED:
            sheet.raw[door.name] = column
        else:
            sheet.values[door.name] = _column(door, column, log)
    _keep_notes(sheet, laid)
    _number(sheet)
    return sheet


def _number(sheet: Sheet) -> None:
    """Give numbers to the rows of sheets whose rows have ordinals."""
    ordinal = "line" if sheet.name == "orders" else ORDINALS.get(sheet.name)
    if ordinal is None:
        return
    given = sheet.values[ordinal]
    sheet.unnumbered = frozenset(i for i, number in enumerate(given) if not number)
    if sheet.name == "orders":
        sheet.values[ordinal] = _running(sheet.values["order"], given)
    else:
        sheet.values[ordinal] = _numbered(given, list(sheet.log.rows))


def _check_filled(door: Door, column: list[Cell], log: Log) -> None:
    blank = [i for i, cell in enumerate(column) if cell == ""]
    if blank:
        log.cell(Level.STOP, f"the cell is blank; write the {door.name}", blank, door.name)


def _column(door: Door, column: list[Cell], log: Log) -> list[Any]:
    one, blank = _reader(door)
    values, wrong = each(column, one, blank)
    log.cells(Level.STOP, wrong, door.name)
    if door.kind == "name":
        _warn_turned(door, column, log)
    return values


def _reader(door: Door) -> tuple[Callable[[Cell], Any], Any]:
    """Return what reads a filled cell of a column, and what a blank one stands for."""
    least, most = door.least, door.most
    readers: dict[str, tuple[Callable[[Cell], Any], Any]] = {
        "name": (cell_readers.name, ""),
        "text": (cell_readers.free, ""),
        "conditions": (cell_readers.conditions, ""),
        "word": (lambda cell: _word(cell, door), ""),
        "unit": (cell_readers.unit_name, ""),
        "yes or no": (cell_readers.yes, False),
        "whole": (lambda cell: cell_readers.whole(cell, least, most), None),
        "real": (lambda cell: cell_readers.real(cell, least, most), None),
        "money": (cell_readers.money, None),
        "day": (cell_readers.day, None),
        "clock": (cell_readers.clock, ""),
        "gtin": (cell_readers.gtin, ""),
    }
    one, blank = readers[door.kind]
    if door.blank is not None:
        blank = door.blank
    elif door.must and door.kind in ("whole", "money"):
        blank = 0
    return one, blank


def _word(cell: Cell, door: Door) -> str:
    text = " ".join(cell_readers.name(cell).split()).casefold().replace("_", " ")
    if text in door.words:
        return text
    raise ValueError(
        f'"{show(cell)}" is not one of {", ".join(door.words)}{instead(text, door.words)}'
    )


def _warn_turned(door: Door, column: list[Cell], log: Log) -> None:
    """Tell of names that a spreadsheet holds as numbers, or may have shortened."""
    numbers = [i for i, c in enumerate(column) if isinstance(c, float) and c.is_integer()]
    numbers = [i for i in numbers if i not in log.bad]
    if numbers:
        first = column[numbers[0]]
        log.cell(
            Level.WARN,
            f"{show(first)} is a number and was read as the text {show(first)}; leading zeros may "
            "be lost: format the column as text and type them again",
            numbers,
            door.name,
        )
    doubts: dict[str, list[int]] = {}
    for i, cell in enumerate(column):
        if isinstance(cell, str) and "E" in cell and (why := cell_readers.doubtful(cell)):
            doubts.setdefault(why, []).append(i)
    log.cells(Level.WARN, doubts, door.name)


def _keep_notes(sheet: Sheet, laid: Laid) -> None:
    """Append the columns that the sheet does not know to its notes."""
    if "note" not in sheet.values:
        return
    notes = sheet.values["note"]
    for heading, column in laid.extra.items():
        kept, wrong = each(column, cell_readers.free, "")
        sheet.log.cells(Level.STOP, wrong, heading)
        for i, text in enumerate(kept):
            if text:
                notes[i] = f"{notes[i]}; {heading}: {text}" if notes[i] else f"{heading}: {text}"


def _numbered(given: list[int | None], rows: list[int]) -> list[int]:
    """Give rows that have no number their sheet row, or one above all if that is taken."""
    taken = {n for n in given if n}
    above = max([*taken, *rows], default=0)
    out = []
    for number, row in zip(given, rows, strict=True):
        if not number:
            number = row if row not in taken else (above := above + 1)
        out.append(number)
    return out


def _running(orders: list[str], given: list[int | None]) -> list[int]:
    """Give an order's lines that have no number the next ones, from 1 or the highest given."""
    last: dict[str, int] = {}
    for order, number in zip(orders, given, strict=True):
        last[order] = max(last.get(order, 0), number or 0)
    out = []
    for order, number in zip(orders, given, strict=True):
        if not number:
            number = last[order] = last[order] + 1
        out.append(number)
    return out

"""The empty workbook: a tab for each sheet, with headings, an example row and drop-down lists."""

from __future__ import annotations

from typing import TYPE_CHECKING

from kitting.reading.doors import DOORS, meaning
from kitting.reading.grids import column_letter
from kitting.reading.headings import EXAMPLE
from kitting.reading.workbook import LISTS
from kitting.reading.writing import written_whole
from kitting.tables.shop import BY_NAME
from kitting.tables.workbooks import packed
from kitting.terms.units import UNITS

if TYPE_CHECKING:
    from collections.abc import Iterable
    from pathlib import Path

    from openpyxl.worksheet.worksheet import Worksheet

    from kitting.reading.doors import Door

_LAST_ROW = 5000
"""Drop-down lists reach down to this row."""
_AS_TEXT = "@"
_FORMATS = {"whole": "0", "real": "General", "money": "0.00", "day": "yyyy-mm-dd"}
_FORMATS["quantity"] = "General"


def write_template(path: Path, kinds: Iterable[str] = ()) -> None:
    """Write the empty workbook that a shop fills in.

    Columns that hold names or numbers of things are formatted as text, so that a spreadsheet keeps
    ``0012`` and ``3-4`` as typed. The example row is left out when the workbook is read.

    Parameters
    ----------
    path
        The workbook, ending in ``.xlsx``; it appears whole or not at all.
    kinds
        Names of the joint kinds for the drop-down list.

    Raises
    ------
    KittingError
        When the file cannot be written.
    """
    from openpyxl import Workbook

    lists = _lists(tuple(kinds))
    book = Workbook()
    first = book.active
    if first is not None:
        book.remove(first)
    for sheet, doors in DOORS.items():
        tab = book.create_sheet(sheet)
        _headings(tab, sheet, doors)
        _example(tab, doors)
        _drop_downs(tab, sheet, doors, lists)
    _list_tab(book.create_sheet(LISTS), lists)
    data = packed(book)
    with written_whole([path]) as (beside,):
        beside.write_bytes(data)


def _lists(kinds: tuple[str, ...]) -> dict[tuple[str, ...], str]:
    """Return each list of words with the formula that names its cells."""
    found: dict[tuple[str, ...], str] = {}
    words = [d.words for doors in DOORS.values() for d in doors if d.words]
    for values in (*words, ("yes", "no"), tuple(u.name for u in UNITS), kinds):
        if values and values not in found:
            letter = column_letter(len(found))
            found[values] = f"{LISTS}!${letter}$1:${letter}${len(values)}"
    return found


def _words(sheet: str, door: Door, lists: dict[tuple[str, ...], str]) -> tuple[str, ...]:
    if door.kind == "yes or no":
        return ("yes", "no")
    if door.kind == "unit":
        return tuple(u.name for u in UNITS)
    if sheet == "joints" and door.name == "kind":
        named = {"yes", "piece", *(w for d in DOORS.values() for x in d for w in x.words)}
        return next((values for values in lists if values[0] not in named), ())
    return door.words


def _headings(tab: Worksheet, sheet: str, doors: tuple[Door, ...]) -> None:
    from openpyxl.comments import Comment
    from openpyxl.styles import Alignment, Font, PatternFill

    for i, door in enumerate(doors):
        cell = tab.cell(1, i + 1, door.name)
        cell.font = Font(bold=True)
        cell.fill = PatternFill("solid", fgColor="FFE3E8EE" if _needed(door) else "FFF5F5F5")
        cell.alignment = Alignment(vertical="top")
        note = Comment(_about(sheet, door), "kitting")
        note.width, note.height = 260, 130
        cell.comment = note
        letter = column_letter(i)
        tab.column_dimensions[letter].number_format = _FORMATS.get(door.kind, _AS_TEXT)
        tab.column_dimensions[letter].width = max(12, len(door.name) + 4, len(door.example) + 4)
    tab.freeze_panes = "A2"


def _needed(door: Door) -> bool:
    return door.must or door.there


def _about(sheet: str, door: Door) -> str:
    """Say what a column means, how to write it, and give an example."""
    lines = [f"{BY_NAME[sheet].meaning}: {meaning(sheet, door)}."]
    if door.must:
        lines.append("Must be filled.")
    if door.words:
        lines.append(f"One of: {', '.join(door.words)}.")
    if door.hint:
        lines.append(f"Write it {door.hint}." if door.hint.startswith("in ") else f"{door.hint}.")
    if door.example:
        lines.append(f"Example: {door.example}")
    return "\n".join(lines)


def _example(tab: Worksheet, doors: tuple[Door, ...]) -> None:
    """Write the example row, grey and slanted; its first cell marks it."""
    from openpyxl.comments import Comment
    from openpyxl.styles import Font

    for i, door in enumerate(doors):
        text = f"{EXAMPLE} {door.example}" if i == 0 else door.example
        cell = tab.cell(2, i + 1, text)
        cell.number_format = _AS_TEXT
        cell.font = Font(italic=True, color="FF808080")
    tab.cell(2, 1).comment = Comment(
        f'This row is an example. A row that begins with "{EXAMPLE}" is never read; write your '
        "own rows below it, or over it.",
        "kitting",
    )


def _drop_downs(
    tab: Worksheet, sheet: str, doors: tuple[Door, ...], lists: dict[tuple[str, ...], str]
) -> None:
    from openpyxl.worksheet.datavalidation import DataValidation

    for i, door in enumerate(doors):
        words = _words(sheet, door, lists)
        if not words:
            continue
        strict = door.kind == "word"
        rule = DataValidation(
            type="list",
            formula1=lists[words],
            allow_blank=True,
            showErrorMessage=True,
            errorStyle="stop" if strict else "warning",
            errorTitle=door.name,
            error=f"Choose from the list: {', '.join(words)}"[:220],
        )
        rule.add(f"{column_letter(i)}2:{column_letter(i)}{_LAST_ROW}")
        tab.add_data_validation(rule)


def _list_tab(tab: Worksheet, lists: dict[tuple[str, ...], str]) -> None:
    """Write the words of the drop-down lists on a hidden tab."""
    for i, words in enumerate(lists):
        for row, word in enumerate(words):
            tab.cell(row + 1, i + 1, word)
    tab.sheet_state = "hidden"

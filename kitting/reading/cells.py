"""From a cell to its value: each function takes one filled cell and raises ``ValueError``.

A message says what was seen and what to write.
"""

from __future__ import annotations

import re
import unicodedata
from datetime import date, datetime, time, timedelta
from fractions import Fraction
from typing import TYPE_CHECKING, TypeVar

from kitting.errors import UnitError
from kitting.reading.grids import Cell, Spoiled, show
from kitting.terms.conditions import parse_when
from kitting.terms.days import FIRST_DAY, LAST_DAY, parse_clock, parse_day
from kitting.terms.gtin import gtin_fault
from kitting.terms.money import parse_cents
from kitting.terms.units import Unit, parse_number, to_base, unit

if TYPE_CHECKING:
    from collections.abc import Callable, Hashable, Sequence

T = TypeVar("T")
K = TypeVar("K", bound="Hashable")

MOST = 10**15
"""No number in a sheet is larger, in base units or otherwise."""
MOST_CENTS = 10**11
"""No amount of money in a sheet is larger [cents]; a bar code in a column of prices is."""
_EXACT = 10**15
_MIDNIGHT = re.compile(r"[T ]00:00(:00(\.0+)?)?$")
_WITH_UNIT = re.compile(r"^([0-9]+(?:\.[0-9]+)?(?:\s*/\s*[0-9]+)?)\s*([^0-9\s.,/-].{0,30})$")
_SCIENTIFIC = re.compile(r"^[0-9][.,][0-9]+E\+?[0-9]+$", re.IGNORECASE)
_EPOCHS = {"1900": date(1899, 12, 30), "1904": date(1904, 1, 1)}
_TRUE = {"yes", "y", "true", "1", "x"}
_FALSE = {"no", "n", "false", "0"}


def each(
    cells: Sequence[K], one: Callable[[K], T], blank: T
) -> tuple[list[T], dict[str, list[int]]]:
    """Convert a column; equal cells are converted once.

    Returns
    -------
    tuple
        The values, ``blank`` where a cell is ``""`` or wrong; and the positions of the wrong cells
        by message.
    """
    done: dict[K, tuple[T, str]] = {}
    values: list[T] = []
    wrong: dict[str, list[int]] = {}
    for position, cell in enumerate(cells):
        if cell == "":
            values.append(blank)
            continue
        found = done.get(cell)
        if found is None:
            try:
                found = one(cell), ""
            except (ValueError, ArithmeticError) as fault:
                found = blank, str(fault)
            done[cell] = found
        if found[1]:
            wrong.setdefault(found[1], []).append(position)
        values.append(found[0])
    return values, wrong


def _typed(cell: Cell, wanted: str) -> Cell:
    if isinstance(cell, Spoiled):
        raise ValueError(cell.why)
    if isinstance(cell, timedelta):
        raise ValueError(f"{cell} is a length of time; write {wanted}")
    return cell


def name(cell: Cell) -> str:
    """Read a name or number that must stay as it was typed."""
    cell = _typed(cell, "the name as text")
    if isinstance(cell, str):
        if "\n" in cell or "\t" in cell:
            raise ValueError(f'"{show(cell)}" has a line break or tab; write it on one line')
        return cell if cell.isascii() else _plain(cell)
    if isinstance(cell, float):
        if cell.is_integer() and abs(cell) < _EXACT:
            return str(int(cell))
        raise ValueError(
            f"{show(cell)} is a number that a spreadsheet may have turned or rounded; format the "
            "column as text and type it again"
        )
    raise ValueError(
        f"{show(cell)} is a date or time that a spreadsheet made of something like 3-4; format "
        "the column as text and type it again"
    )


def _plain(text: str) -> str:
    """Write a name so that names which look the same are the same: one form, one kind of space."""
    composed = unicodedata.normalize("NFC", text)
    spaced = "".join(" " if unicodedata.category(c) == "Zs" else c for c in composed)
    hidden = [c for c in spaced if not c.isprintable()]
    if hidden:
        code = f"U+{ord(hidden[0]):04X}"
        what = unicodedata.name(hidden[0], "a character without a name").lower()
        raise ValueError(
            f'"{show(text)}" has an invisible character ({code}, {what}); type it again'
        )
    return spaced


def doubtful(text: str) -> str:
    """Say why a name in a text file looks turned by a spreadsheet; blank when it does not."""
    if _SCIENTIFIC.match(text):
        return (
            f'"{text}" looks like a long number that a spreadsheet shortened; if so, format the '
            "column as text and type it again"
        )
    return ""


def free(cell: Cell) -> str:
    """Read free text; numbers and days are written out."""
    cell = _typed(cell, "it as text")
    return cell if isinstance(cell, str) else show(cell)


def number(cell: Cell) -> Fraction:
    """Read a number exactly; a float counts as the 15 digits that a spreadsheet shows."""
    cell = _typed(cell, "a number")
    if isinstance(cell, float):
        if not abs(cell) <= MOST:
            raise ValueError(f"{show(cell)} is out of range; at most {MOST:,} is read")
        return Fraction(f"{cell:.15g}")
    if not isinstance(cell, str):
        raise ValueError(
            f"{show(cell)} is a date or time that a spreadsheet made of something like 1/2; "
            "format the cell as a number and write 0.5"
        )
    if len(cell) > 60:
        raise ValueError(f'"{show(cell)}" is too long for a number')
    try:
        value = parse_number(cell)
    except ValueError as fault:
        figure, of = split_unit(cell)
        if of:
            raise ValueError(
                f'"{cell}" is a number with a unit; write only {figure} here, and {of} in the '
                "column unit"
            ) from None
        raise ValueError(f"{fault}") from None
    if abs(value) > MOST:
        raise ValueError(f"{show(cell)} is out of range; at most {MOST:,} is read")
    return value


def split_unit(cell: Cell) -> tuple[Cell, str]:
    """Part ``4 l`` into ``4`` and ``l``; the unit is blank when there is none that is known."""
    match = _WITH_UNIT.match(cell) if isinstance(cell, str) else None
    if match is not None:
        try:
            unit(match[2])
        except UnitError:
            return cell, ""
        return match[1], match[2]
    return cell, ""


def whole(cell: Cell, least: int, most: int = MOST) -> int:
    """Read a whole number from ``least`` to ``most``."""
    value = number(cell)
    if value.denominator != 1:
        raise ValueError(f'"{show(cell)}" is not whole; write a whole number')
    return int(_within(value, cell, least, most))


def real(cell: Cell, least: int, most: int = 1_000_000) -> float:
    """Read a number with decimals from ``least`` to ``most``, such as days of work."""
    return float(_within(number(cell), cell, least, most))


def _within(value: Fraction, cell: Cell, least: int, most: int) -> Fraction:
    if value < least:
        raise ValueError(f'"{show(cell)}" is below {least}; write {least} or more')
    if value > most:
        raise ValueError(f"{show(cell)} is out of range; at most {most:,} is read")
    return value


def money(cell: Cell) -> int:
    """Read an amount as cents, zero or more."""
    cell = _typed(cell, "an amount")
    if isinstance(cell, str):
        if len(cell) > 60:
            raise ValueError(f'"{show(cell)}" is too long for a price')
        cents = parse_cents(cell)
    else:
        hundredths = number(cell) * 100
        if hundredths.denominator != 1:
            raise ValueError(
                f"{show(cell)} has a fraction of a cent; give the price for more units in the per "
                "column, or round it"
            )
        cents = int(hundredths)
    if cents < 0:
        raise ValueError(f'"{show(cell)}" is below zero; write an amount of zero or more')
    if cents > MOST_CENTS:
        raise ValueError(f"{show(cell)} is out of range; at most {MOST_CENTS // 100:,} is read")
    return cents


def day(cell: Cell) -> date:
    """Read a calendar day."""
    cell = _typed(cell, "a day, such as 2026-03-09")
    if isinstance(cell, float):
        raise ValueError(_serial(cell))
    if isinstance(cell, time):
        raise ValueError(f"{cell} is a time of day; write year-month-day, such as 2026-03-09")
    if isinstance(cell, str):
        found = parse_day(_MIDNIGHT.sub("", cell) if len(cell) < 40 else show(cell))
    elif isinstance(cell, datetime):
        found = cell.date()
    elif isinstance(cell, date):
        found = cell
    else:
        raise ValueError("the cell is not a day; write year-month-day, such as 2026-03-09")
    if not FIRST_DAY <= found <= LAST_DAY:
        raise ValueError(
            f"{found.isoformat()} is before {FIRST_DAY.year} or after {LAST_DAY.year}; if a "
            "spreadsheet moved it (the 1900 and 1904 systems differ by four years), type the day "
            "again; leave no limit blank"
        )
    return found


def _serial(number_seen: float) -> str:
    seen = f"{show(number_seen)} is a number, not a day"
    if 1 <= number_seen < 100_000:
        means = " or ".join(
            f"{(epoch + timedelta(days=int(number_seen))).isoformat()} in the {system} system"
            for system, epoch in _EPOCHS.items()
        )
        seen += f"; counted by a spreadsheet it is {means}"
    return f"{seen}; format the column as dates, or write year-month-day"


def clock(cell: Cell) -> str:
    """Read a time of day as ``hh:mm``."""
    cell = _typed(cell, "a time of day, such as 15:30")
    if isinstance(cell, time):
        return f"{cell:%H:%M}"
    minutes = parse_clock(re.sub(r"^([0-9]{1,2}:[0-9]{2}):00$", r"\1", free(cell)))
    return f"{minutes // 60:02d}:{minutes % 60:02d}"


def gtin(cell: Cell) -> str:
    """Read a trade item number of GS1; spaces and dashes between its digits are dropped."""
    digits = name(cell).replace(" ", "").replace("-", "")
    fault = gtin_fault(digits)
    if fault:
        raise ValueError(fault)
    return digits


def yes(cell: Cell) -> bool:
    """Read yes or no."""
    word = free(cell).casefold()
    if word in _TRUE:
        return True
    if word in _FALSE:
        return False
    raise ValueError(f'"{show(cell)}" is neither yes nor no; write yes, no, or leave it blank')


def conditions(cell: Cell) -> str:
    """Check that a text holds conditions and return it as written."""
    text = name(cell)
    parse_when(text)
    return text


def unit_name(cell: Cell) -> str:
    """Check that a unit is known and return it as written."""
    text = name(cell)
    try:
        unit(text)
    except UnitError as fault:
        raise ValueError(str(fault)) from None
    return text


def ratio(cell: Cell) -> Fraction:
    """Read how much of the stand-in serves for one of the part, above zero."""
    value = number(cell)
    if value <= 0:
        raise ValueError(f'"{show(cell)}" is not above zero; write 2 or 1/2, or leave it blank')
    return value


def quantity(cell: Cell, of: Unit, least: int) -> int:
    """Read a quantity as base units.

    Parameters
    ----------
    cell
        The number.
    of
        The unit it is written in.
    least
        0 when nothing is a sensible quantity, else 1.
    """
    value = number(cell)
    if value < 0 or (least and value == 0):
        wanted = "more than zero" if least else "zero or more"
        raise ValueError(f'"{show(cell)}" is not {wanted}; write how much, {wanted}')
    try:
        base = to_base(value, of)
    except UnitError as fault:
        raise ValueError(f"{fault}; write whole pieces, or give a unit such as ml") from None
    if base > MOST:
        raise ValueError(f"{show(cell)} {of.name} is out of range")
    if base == 0 and value > 0:
        raise ValueError(
            f"{show(cell)} {of.name} is less than one {of.dimension.value}; check the unit"
        )
    return base

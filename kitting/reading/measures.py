"""Quantities and ratios: from the unit of the row, or of the part, to base units."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING, Any

from kitting.errors import UnitError
from kitting.reading import cells as cell_readers
from kitting.reading.cells import MOST, each
from kitting.reading.computed import is_computed
from kitting.reading.doors import by_key
from kitting.tables.shop import BY_NAME
from kitting.terms.units import Dimension, Unit, unit
from kitting.terms.words import Level, Role

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from kitting.reading.computed import Place
    from kitting.reading.grids import Cell
    from kitting.reading.sheets import Sheet

WITHOUT_PART = (Role.FIGURE, Role.VERIFY)
"""Roles that a line may fill without a part: a figure looked up, a check made."""

_PART = {"rules": "needs_part"}


def measure(
    sheet: Sheet, part_units: Mapping[str, str], computed: frozenset[Place] = frozenset()
) -> None:
    """Convert the quantities of a sheet; what is wrong goes to its log.

    Parameters
    ----------
    sheet
        The sheet; its columns of the contract are completed.
    part_units
        Unit of each part as written in the sheet parts; parts that are not in it count in pieces.
    computed
        Where a line may leave its quantity blank.
    """
    if not sheet.readable:
        return
    if sheet.name == "stand_ins":
        _ratios(sheet, part_units)
        return
    if not sheet.raw:
        return
    parts: list[str] = sheet.values[_PART.get(sheet.name, "part")]
    of_part = [part_units.get(p, "") for p in parts]
    if "unit" in sheet.values:
        _check_units(sheet, of_part, parts, part_units)
        written: list[str] = sheet.values["unit"]
        units = [u or p or "piece" for u, p in zip(written, of_part, strict=True)]
        sheet.values["unit"] = units
    else:
        units = _split_units(sheet, of_part, parts, part_units)
    for column in sheet.raw:
        _quantities(sheet, column, units)
    if sheet.name == "lines":
        _blank_lines(sheet, parts, computed)
    _allow_blanks(sheet, parts, units)


def _known(name: str) -> Unit:
    """Look a unit up; one that is faulty, which is told elsewhere, counts pieces."""
    try:
        return unit(name)
    except UnitError:
        return unit("piece")


def _split_units(
    sheet: Sheet, of_part: Sequence[str], parts: Sequence[str], part_units: Mapping[str, str]
) -> list[str]:
    """Let a sheet without a column for the unit give it with the number, as in ``4 l``."""
    split = [cell_readers.split_unit(cell) for cell in sheet.raw["quantity"]]
    sheet.raw["quantity"] = [figure for figure, _ in split]
    units = [of or p or "piece" for (_, of), p in zip(split, of_part, strict=True)]
    written = [of if p in part_units else "" for (_, of), p in zip(split, parts, strict=True)]
    _tell_kinds(sheet, "quantity", written, of_part)
    return units


def _check_units(
    sheet: Sheet, of_part: Sequence[str], parts: Sequence[str], part_units: Mapping[str, str]
) -> None:
    """Tell of units that measure something else than the part is counted in."""
    written = [
        u if p in part_units else "" for u, p in zip(sheet.values["unit"], parts, strict=True)
    ]
    _tell_kinds(sheet, "unit", written, of_part)


def _tell_kinds(sheet: Sheet, column: str, written: Sequence[str], of_part: Sequence[str]) -> None:
    def one(pair: tuple[str, str]) -> None:
        of, counted = pair
        if _known(of).dimension is not _known(counted).dimension:
            raise ValueError(
                f'"{of}" does not convert: this part is counted in {counted or "piece"} in '
                "the sheet parts; write a unit of the same kind, or put the part right"
            )

    pairs: list[tuple[str, str] | str] = [
        (u, p) if u else "" for u, p in zip(written, of_part, strict=True)
    ]
    _, wrong = each(pairs, one, None)  # type: ignore[arg-type]
    sheet.log.cells(Level.STOP, wrong, column)


def _quantities(sheet: Sheet, column: str, units: Sequence[str]) -> None:
    door = by_key(sheet.name)[column]

    def one(pair: tuple[Cell, str]) -> int:
        return cell_readers.quantity(pair[0], _known(pair[1]), door.least)

    pairs: list[tuple[Cell, str] | str] = [
        (cell, u) if cell != "" else "" for cell, u in zip(sheet.raw[column], units, strict=True)
    ]
    values, wrong = each(pairs, one, None)  # type: ignore[arg-type]
    sheet.log.cells(Level.STOP, wrong, column)
    sheet.values[column] = values


def _allow_blanks(sheet: Sheet, parts: Sequence[str], units: Sequence[str]) -> None:
    """Put in what a blank quantity stands for, or tell that it may not be blank."""
    table = BY_NAME[sheet.name]
    may_be_blank = {c.name for c in table.columns if c.kind == "whole or blank"}
    for column, cells in sheet.raw.items():
        values: list[Any] = sheet.values[column]
        blank = [i for i, cell in enumerate(cells) if cell == ""]
        if column == "per":
            packs = sheet.values["pack"]
            for i in blank:
                values[i] = packs[i]
        elif sheet.name == "rules":
            _one_each(sheet, column, [i for i in blank if parts[i]], units)
        elif by_key(sheet.name)[column].blank is not None:
            _one_each(sheet, column, blank, units)
        if column not in may_be_blank:
            sheet.values[column] = [v or 0 for v in values]


def _one_each(sheet: Sheet, column: str, blank: Sequence[int], units: Sequence[str]) -> None:
    """Let a blank quantity be one, where the part is counted."""
    counted = {u: _known(u) for u in set(units)}
    values = sheet.values[column]
    measured = []
    for i in blank:
        if counted[units[i]].dimension is Dimension.COUNT:
            values[i] = int(counted[units[i]].factor)
        else:
            measured.append(i)
    if measured:
        what = "how much one pack holds" if column == "pack" else "how much"
        message = f"the cell is blank and the part is measured; write {what}"
        sheet.log.cell(Level.STOP, message, measured, column)


def _blank_lines(sheet: Sheet, parts: Sequence[str], computed: frozenset[Place]) -> None:
    """Let a line without a part stand where its role needs none, and a computed quantity."""
    roles = sheet.values["role"]
    quantities, cells = sheet.values["quantity"], sheet.raw["quantity"]
    no_part = [i for i, part in enumerate(parts) if not part and i not in sheet.log.bad]
    wrong = [i for i in no_part if roles[i] not in WITHOUT_PART]
    if wrong:
        message = "the cell is blank; write the part (only a figure or verify line needs none)"
        sheet.log.cell(Level.STOP, message, wrong, "part")
    for i in no_part:
        quantities[i] = 0
    where = zip(*(sheet.values[c] for c in ("assembly", "stage", "joint", "part")), strict=True)
    no_quantity = [
        i
        for i, (cell, line) in enumerate(zip(cells, where, strict=True))
        if cell == "" and line[3] and not is_computed(computed, line)
    ]
    if no_quantity:
        sheet.log.cell(Level.STOP, "the cell is blank; write the quantity", no_quantity, "quantity")


def _ratios(sheet: Sheet, part_units: Mapping[str, str]) -> None:
    """Turn ``ratio`` into ``take`` base units of the stand-in for ``give`` of the part.

    Two parts that measure the same kind of thing are compared like for like; else the ratio is
    the stand-in's units for one of the part's.
    """
    cells = sheet.raw["ratio"]
    ratios, wrong = each(cells, cell_readers.ratio, Fraction(1))
    sheet.log.cells(Level.STOP, wrong, "ratio")
    take, give, blank, far = [], [], [], []
    pairs = zip(sheet.values["part"], sheet.values["stand_in"], ratios, strict=True)
    for i, (part, stand_in, ratio) in enumerate(pairs):
        of, other = _known(part_units.get(part, "")), _known(part_units.get(stand_in, ""))
        if of.dimension is not other.dimension:
            ratio *= other.factor / of.factor
            if cells[i] == "":
                blank.append(i)
        if max(ratio.numerator, ratio.denominator) > MOST:
            far.append(i)
            ratio = Fraction(1)
        take.append(ratio.numerator)
        give.append(ratio.denominator)
    if blank:
        message = (
            "the part and its stand-in are measured in different kinds of unit; write how many "
            "units of the stand-in serve for one unit of the part"
        )
        sheet.log.cell(Level.STOP, message, blank, "ratio")
    if far:
        sheet.log.cell(Level.STOP, "the ratio is out of range", far, "ratio")
    sheet.values["take"], sheet.values["give"] = take, give

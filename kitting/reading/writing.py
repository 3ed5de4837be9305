"""A shop's tables written back as csv sheets, so that they read the same again."""

from __future__ import annotations

import csv
import os
from contextlib import contextmanager, suppress
from decimal import Decimal
from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING, Any

from kitting.errors import KittingError, UnitError
from kitting.reading.doors import DOORS
from kitting.tables.shop import EXTRA_SHEETS
from kitting.terms.money import show_cents
from kitting.terms.units import Unit, to_base, unit

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    import pandas as pd

    from kitting.reading.doors import Door
    from kitting.tables.shop import Shop

_MOST_PLACES = 12


def write_sheets(shop: Shop, folder: Path) -> list[Path]:
    """Write every table of a shop as a csv sheet in the units and columns of the door.

    Extra sheets without rows are left out.

    Quantities are written exactly in the row's unit, days year-month-day, text as it is. A
    spreadsheet that opens the files may turn numbers such as ``3-4``: import such columns as text.

    Parameters
    ----------
    shop
        The shop.
    folder
        Where the files go; made when it is not there. Files appear whole or not at all.

    Returns
    -------
    list
        The files, one for each sheet.

    Raises
    ------
    KittingError
        When a file cannot be written.
    """
    parts = shop["parts"]
    part_units = dict(zip(parts["part"], parts["unit"], strict=True))
    extra = {table.name for table in EXTRA_SHEETS}
    doors_of = {n: d for n, d in DOORS.items() if n not in extra or shop.has(n)}
    paths = [folder / f"{name}.csv" for name in doors_of]
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as fault:
        raise _cannot(folder, fault) from fault
    with written_whole(paths) as beside:
        for (name, doors), path in zip(doors_of.items(), beside, strict=True):
            columns = {d.name: door_column(shop[name], name, d, part_units) for d in doors}
            with path.open("x", encoding="utf-8-sig", newline="") as file:
                writer = csv.writer(file)
                writer.writerow(columns)
                writer.writerows(zip(*columns.values(), strict=True))
    return paths


@contextmanager
def written_whole(paths: list[Path]) -> Iterator[list[Path]]:
    """Give a file beside each path to write; put them in place when all of them are written.

    Raises
    ------
    KittingError
        When a file cannot be written; nothing is left behind.
    """
    beside = [p.with_name(f".{p.name}.{os.getpid()}.part") for p in paths]
    try:
        for path in beside:
            path.unlink(missing_ok=True)
        yield beside
        for part, path in zip(beside, paths, strict=True):
            part.replace(path)
    except OSError as fault:
        meant = dict(zip(map(str, beside), paths, strict=True))
        seen = str(fault.filename or "")
        raise _cannot(meant.get(seen, Path(seen or paths[0])), fault) from fault
    finally:
        for path in beside:
            with suppress(OSError):
                path.unlink(missing_ok=True)


def _cannot(path: Path, fault: OSError) -> KittingError:
    reason = (fault.strerror or str(fault)).lower()
    return KittingError(f"{path} cannot be written: {reason}; nothing was changed")


def door_column(
    frame: pd.DataFrame, sheet: str, door: Door, part_units: Mapping[str, str]
) -> list[str]:
    """Write one column of a table as the cells of its sheet.

    Parameters
    ----------
    frame
        The table.
    sheet
        Its name.
    door
        The column.
    part_units
        Unit of each part as written in the sheet parts.
    """
    if door.kind == "ratio":
        return _ratios(frame, part_units)
    values = frame[door.name].tolist()
    if door.kind == "quantity":
        units = _units(frame, sheet, part_units)
        blank = sheet == "lines"
        return [
            "" if _is_missing(v) or (blank and v == 0) else show_exact(int(v), u)
            for v, u in zip(values, units, strict=True)
        ]
    return [_cell(door, value) for value in values]


def _units(frame: pd.DataFrame, sheet: str, part_units: Mapping[str, str]) -> list[Unit]:
    """Return the unit in which each row's quantity is read again."""
    parts = frame["needs_part" if sheet == "rules" else "part"].tolist()
    written = frame["unit"].tolist() if "unit" in frame else [""] * len(parts)
    known: dict[str, Unit] = {}
    out = []
    for of, part in zip(written, parts, strict=True):
        name = of or part_units.get(part, "")
        if name not in known:
            known[name] = _unit(name)
        out.append(known[name])
    return out


def _unit(name: str) -> Unit:
    try:
        return unit(name)
    except UnitError:
        return unit("piece")


def show_exact(quantity: int, of: Unit) -> str:
    """Write base units as the shortest number of the unit that reads as the same base units."""
    value = Fraction(quantity) / of.factor
    if value.denominator == 1:
        return str(value.numerator)
    for places in range(1, _MOST_PLACES + 1):
        rounded = Fraction(round(value * 10**places), 10**places)
        try:
            same = to_base(rounded, of) == quantity
        except UnitError:
            same = False
        if same:
            return f"{Decimal(rounded.numerator) / Decimal(rounded.denominator):f}"
    return f"{value.numerator}/{value.denominator}"


def _ratios(frame: pd.DataFrame, part_units: Mapping[str, str]) -> list[str]:
    out = []
    columns = (frame[c].tolist() for c in ("part", "stand_in", "take", "give"))
    for part, stand_in, take, give in zip(*columns, strict=True):
        ratio = Fraction(take, give)
        of, other = _unit(part_units.get(part, "")), _unit(part_units.get(stand_in, ""))
        if of.dimension is not other.dimension:
            ratio *= of.factor / other.factor
        out.append(str(ratio))
    return out


def _is_missing(value: Any) -> bool:
    return value is None or str(value) in ("<NA>", "NaT", "nan")


def _cell(door: Door, value: Any) -> str:
    if door.kind == "yes or no":
        return "yes" if value else ""
    if door.kind not in ("whole", "real", "money", "day"):
        return str(value)
    if _is_missing(value):
        return ""
    if door.kind == "money":
        return show_cents(int(value))
    if door.kind == "day":
        return f"{value:%Y-%m-%d}"
    return f"{Decimal(repr(value)):f}" if door.kind == "real" else str(int(value))

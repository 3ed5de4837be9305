"""Read the published limits and rules of thumb; every row keeps its source."""

from __future__ import annotations

import csv
from typing import TYPE_CHECKING, Any

from kitting.errors import InputError
from kitting.shipped import shipped
from kitting.tables.hardware import HARDWARE
from kitting.tables.references import REFERENCES, References
from kitting.terms.findings import Finding
from kitting.terms.words import Level

if TYPE_CHECKING:
    from collections.abc import Collection

    import pandas as pd

    from kitting.tables.contract import Column, Table
    from kitting.tables.shop import Shop

MARKS = ("source", "from memory", "computed", "common practice", "assumption")
"""What a row may be worth."""

_YES = {"yes": True, "no": False, "": False}
# Tables by the sheet without which nobody reads them.
_BY_SHEET = {
    "amounts": ("ways", "freezing", "threads"),
    "circuits": ("ways", "viscosity"),
    "fluids": ("viscosity", "phosphorus", "fluid_rules"),
    "figures": ("threads", "strengths"),
    "options": ("emissions",),
}


def references(shop: Shop | None = None, spares: bool = False) -> References:
    """Return the reference tables.

    Parameters
    ----------
    shop
        Tables for which this shop has no sheet are not read, which saves time; ``None`` reads
        every table.
    spares
        Read the table ``spare_rules`` as well, for advice that is given on request.

    Raises
    ------
    InputError
        When a shipped file breaks its contract; every fault is named.
    """
    wanted = {table.name for table in REFERENCES}
    if shop is not None:
        wanted = {name for sheet, names in _BY_SHEET.items() if shop.has(sheet) for name in names}
        wanted |= {"spare_rules"} if spares else set()
    return References({t.name: _read(t) for t in REFERENCES if t.name in wanted})


def _read(table: Table) -> pd.DataFrame:
    """Read one shipped file into its contract."""
    import pandas as pd

    folder = shipped("catalogs") / ("hardware" if table in HARDWARE else "")
    path = folder / f"{table.name}.csv"
    with path.open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    faults = [*_absent(table, rows)]
    columns: dict[str, Any] = {}
    if not faults:
        for column in table.columns:
            cells = [row[column.name] for row in rows]
            values, wrong = _values(table, column, cells)
            faults += wrong
            columns[column.name] = values if wrong else pd.array(values, dtype=column.dtype)
    if faults:
        raise InputError(f"the shipped catalog {table.name}.csv cannot be used", faults)
    return pd.DataFrame(columns, copy=False) if rows else table.empty()


def _absent(table: Table, rows: Collection[dict[str, str]]) -> list[Finding]:
    return [
        Finding(Level.STOP, "the cell is absent", table.name, at, name)
        for at, row in enumerate(rows, start=2)
        for name in table.names
        if row.get(name) is None
    ]


def _values(table: Table, column: Column, cells: list[str]) -> tuple[list[object], list[Finding]]:
    """Return the values of a column, and what cannot be read."""
    values: list[object] = []
    faults = []
    for at, cell in enumerate(cells, start=2):
        try:
            values.append(_value(column, cell))
        except (ValueError, KeyError):
            message = f'"{cell}" is not what the column {column.name} holds: {column.kind}'
            faults.append(Finding(Level.STOP, message, table.name, at, column.name))
    return values, faults


def _value(column: Column, cell: str) -> object:
    if column.name == "mark" and cell not in MARKS:
        raise ValueError(cell)
    if column.name == "source" and not cell:
        raise ValueError(cell)
    if column.name == "level":
        return str(Level(cell))
    match column.kind:
        case "whole":
            return int(cell)
        case "whole or blank":
            return int(cell) if cell else None
        case "real":
            return float(cell) if cell else float("nan")
        case "yes or no":
            return _YES[cell]
        case _:
            return cell

"""Read the shipped reference data; every table keeps its sources."""

from __future__ import annotations

import csv
import math
from typing import TYPE_CHECKING

from kitting.errors import InputError
from kitting.shipped import shipped
from kitting.tables import catalogs as tables
from kitting.tables.catalogs import Catalogs
from kitting.terms.findings import Finding
from kitting.terms.words import Level, Role

if TYPE_CHECKING:
    from collections.abc import Mapping

    import pandas as pd

    from kitting.tables.contract import Table

_YES = {"yes": True, "no": False, "": False}


def catalogs() -> Catalogs:
    """Return the reference data that the checks of a bill read, and what is assumed of offers.

    Raises
    ------
    InputError
        When a shipped file breaks its contract; every fault is named.
    """
    return Catalogs(
        kinds=joint_kinds(),
        expectations=read_table(tables.EXPECTATIONS),
        families=read_table(tables.FAMILIES),
        holds_back=read_table(tables.HOLDS_BACK),
        checks=read_table(tables.CHECKS),
        lead_classes=read_table(tables.LEAD_CLASSES),
    )


def joint_kinds() -> pd.DataFrame:
    """Return table ``joint_kinds``.

    Raises
    ------
    InputError
        When the shipped file breaks its contract; every fault is named.
    """
    return read_table(tables.JOINT_KINDS)


def kind_rows() -> list[dict[str, str]]:
    """Return the rows of table ``joint_kinds`` as text, without the libraries for frames."""
    return _rows(tables.JOINT_KINDS.name)


def explain(check: str) -> str:
    """Return what a check looks for, why, from whom it comes and how to waive it.

    Parameters
    ----------
    check
        A value of column ``check`` of table ``gaps``; an unknown one gives a blank.
    """
    for row in _rows("checks"):
        if row["check"] == check:
            return (
                f"{row['rule']} {row['title']}\n"
                f"why: {row['why']}\n"
                f"source: {row['source']}\n"
                f"to waive: {row['waive']}"
            )
    return ""


def _rows(name: str) -> list[dict[str, str]]:
    path = shipped("catalogs").joinpath(*f"{name}.csv".split("/"))
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def read_table(table: Table, folder: str = "") -> pd.DataFrame:
    """Read one shipped file into its contract.

    Parameters
    ----------
    table
        The contract; the file has its name.
    folder
        Folder inside the catalogs.

    Raises
    ------
    InputError
        When the file breaks the contract; every fault is named.
    """
    import pandas as pd

    rows = _rows(f"{folder}/{table.name}" if folder else table.name)
    faults = _faults(table, rows)
    if faults:
        raise InputError(f"the shipped catalog {table.name}.csv cannot be used", faults)
    if not rows:
        return table.empty()
    columns: dict[str, list[object]] = {}
    for column in table.columns:
        cells = [row[column.name] for row in rows]
        if column.kind == "whole":
            columns[column.name] = [int(c) if c else 0 for c in cells]
        elif column.kind == "real":
            columns[column.name] = [float(c) if c else float("nan") for c in cells]
        elif column.kind == "yes or no":
            columns[column.name] = [_YES[c] for c in cells]
        else:
            columns[column.name] = list(cells)
    return table.check(table.conform(pd.DataFrame(columns)))


def _faults(table: Table, rows: list[dict[str, str]]) -> list[Finding]:
    """Find cells that the contract or the words of the trade do not allow."""
    allowed: Mapping[str, set[str]] = {
        "level": set(Level),
        "up_to": set(Level),
        "role": set(Role),
        "on": set(_YES),
    }
    faults = []
    for at, row in enumerate(rows, start=2):
        for column in table.columns:
            cell = row.get(column.name)
            if cell is None:
                faults.append(Finding(Level.STOP, "the cell is absent", table.name, at))
            elif column.name in allowed and cell not in allowed[column.name]:
                message = f'"{cell}" is not one of {", ".join(sorted(allowed[column.name]))}'
                faults.append(Finding(Level.STOP, message, table.name, at, column.name))
            elif column.kind == "whole" and cell and not cell.isdigit():
                message = f'"{cell}" is not a whole number'
                faults.append(Finding(Level.STOP, message, table.name, at, column.name))
            elif column.kind == "real" and cell and not _is_real(cell):
                message = f'"{cell}" is not a number'
                faults.append(Finding(Level.STOP, message, table.name, at, column.name))
    return faults


def _is_real(cell: str) -> bool:
    try:
        return math.isfinite(float(cell))
    except ValueError:
        return False

"""Shops for the tests of the bill, written as small tables."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import pandas as pd

from kitting.tables.shop import BY_NAME, EXTRA_SHEETS, Shop, empty_shop

if TYPE_CHECKING:
    from kitting.tables.contract import Table

_NUMBER = {"whole": 1, "whole or blank": None, "real": 1.0, "yes or no": False, "day": None}


def frame(table: Table, text: str) -> pd.DataFrame:
    """Read ``a | b`` tables with a heading; columns that are not given are blank or 1.

    In the sheets that a shop may do without, a number that is not given is blank.
    """
    blank = _NUMBER | ({"real": math.nan} if table in EXTRA_SHEETS else {})
    heading, *rows = [line for line in text.strip().splitlines() if line.strip()]
    names = [n.strip() for n in heading.split("|")]
    assert set(names) <= set(table.names), names
    records = []
    for number, row in enumerate(rows, start=1):
        cells = dict(zip(names, (c.strip() for c in row.split("|")), strict=True))
        record = {}
        for column in table.columns:
            cell = cells.get(column.name, "")
            if cell and column.kind.startswith("whole"):
                record[column.name] = int(cell)
            elif cell and column.kind == "day":
                record[column.name] = pd.Timestamp(cell)
            elif cell and column.kind == "yes or no":
                record[column.name] = cell == "yes"
            else:
                record[column.name] = cell or blank.get(column.kind, "")
        if table.name in ("lines", "rules", "amounts"):
            record[table.key[0]] = number
        records.append(record)
    return table.check(table.conform(pd.DataFrame(records, columns=table.names)))


def shop(**texts: str) -> Shop:
    """Return a shop with some tables filled; lines, rules and amounts are numbered from 1."""
    return empty_shop().replaced(**{n: frame(BY_NAME[n], t) for n, t in texts.items()}).check()


def table(rows: pd.DataFrame, *columns: str) -> list[tuple]:
    """Return some columns as plain rows, to compare."""
    return [tuple(row) for row in rows[list(columns)].astype(object).to_numpy().tolist()]

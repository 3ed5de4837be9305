"""Frames of needs, supply and stand-ins written as rows; days are numbers from a first day."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING

import pandas as pd

from kitting.tables.flow import NEEDS, SUPPLY
from kitting.tables.shop import STAND_INS

if TYPE_CHECKING:
    from collections.abc import Sequence

    from kitting.tables.contract import Table

FIRST = date(2026, 3, 2)
BLANKS = {
    "text": "",
    "whole": 0,
    "whole or blank": pd.NA,
    "real": 0.0,
    "yes or no": False,
    "day": pd.NaT,
}


def on(number: int | None) -> pd.Timestamp:
    """Return the day that many days after the first; blank for None."""
    return pd.NaT if number is None else pd.Timestamp(FIRST + timedelta(days=number))


def frame(table: Table, rows: Sequence[dict[str, object]]) -> pd.DataFrame:
    """Fill rows up with blanks and cast them to a table's contract."""
    filled = [{c.name: row.get(c.name, BLANKS[c.kind]) for c in table.columns} for row in rows]
    return table.check(table.conform(pd.DataFrame(filled))) if rows else table.empty()


def needs(rows: Sequence[dict[str, object]]) -> pd.DataFrame:
    """Make needs of part P, build B1, priority 5, day 0 and quantity 1 unless a row says so."""
    usual = {"build": "B1", "part": "P", "quantity": 1, "day": 0, "priority": 5}
    whole = [{"need": i, **usual, **row} for i, row in enumerate(rows, start=1)]
    return frame(NEEDS, [{**row, "day": on(row["day"])} for row in whole])


def supply(rows: Sequence[dict[str, object]]) -> pd.DataFrame:
    """Make lots of part P, quantity 1, usable from day 0 without end unless a row says so."""
    usual = {"part": "P", "quantity": 1, "from_day": 0, "use_by": None}
    whole = [{"supply": i, **usual, **row} for i, row in enumerate(rows, start=1)]
    return frame(
        SUPPLY,
        [{**row, "from_day": on(row["from_day"]), "use_by": on(row["use_by"])} for row in whole],
    )


def stand_ins(rows: Sequence[dict[str, object]]) -> pd.DataFrame:
    """Make stand-ins one for one and one way unless a row says so."""
    usual = {"kind": "supersedes", "take": 1, "give": 1}
    return frame(STAND_INS, [{**usual, **row} for row in rows])


def tuples(picks: pd.DataFrame) -> list[tuple[object, ...]]:
    """Return picks as (need, supply, part, quantity, covers)."""
    return list(picks[["need", "supply", "part", "quantity", "covers"]].itertuples(False, None))


def missing(shortages: pd.DataFrame) -> dict[int, int]:
    """Return what is short by need."""
    return dict(zip(shortages["need"].tolist(), shortages["quantity"].tolist(), strict=True))

"""The shop as frames, as of a day."""

from __future__ import annotations

from typing import TYPE_CHECKING

from kitting.records.ledger import shelf_sql
from kitting.records.rows import frame_of, quoted
from kitting.tables.shop import BY_NAME, EXTRA_SHEETS, SHEETS, Shop

if TYPE_CHECKING:
    from datetime import date

    from kitting.records.opening import Records
    from kitting.tables.contract import Table

_NOT_REVERSED = "NOT EXISTS (SELECT 1 FROM moves WHERE reverses = t.move)"
_DATED = {"orders": "ordered", "receipts": "received", "forgotten": "noted"}


def snapshot(records: Records, day: date | None = None) -> Shop:
    """Return every table of the shop, read from one unchanging state.

    Extra sheets that hold nothing are left out.

    Parameters
    ----------
    day
        Leave out moves, orders, receipts and forgotten parts after this day; ``None`` leaves out
        nothing. A day before the first move sees the shelf as it was first counted. Tables that
        sheets replace, and promised and cancelled days, are always as they are now.

    Raises
    ------
    ShopError
        When the database cannot be read.
    TableError
        When it holds something that the contracts do not allow.
    """
    with records.reading() as hand:
        first = hand.rows("SELECT MIN(day) FROM moves")[0][0] if day else None
        rows = {t.name: hand.rows(_query(t, day, first)) for t in SHEETS}
        extra = {t.name: hand.rows(_query(t, day, first)) for t in EXTRA_SHEETS}
    rows |= {name: found for name, found in extra.items() if found}
    return Shop({name: frame_of(BY_NAME[name], found) for name, found in rows.items()})


def build_names(records: Records) -> list[str]:
    """Return the names of all builds, in the order of their sheet."""
    with records.reading() as hand:
        return [str(row[0]) for row in hand.rows("SELECT build FROM builds ORDER BY position")]


def _query(table: Table, day: date | None, first: str | None) -> str:
    """Return the query for one table; days are our own ISO text and safe to write into it."""
    if table.name == "stock":
        return shelf_sql(f" AND day <= '{max(day.isoformat(), first or '')}'" if day else "")
    conditions = []
    if table.name == "receipts":
        conditions.append(_NOT_REVERSED)
    if day and table.name in _DATED:
        dated = _DATED[table.name]
        conditions.append(f"({dated} IS NULL OR {dated} <= '{day.isoformat()}')")
    where = f" WHERE {' AND '.join(conditions)}" if conditions else ""
    return f'SELECT {quoted(table.names)} FROM "{table.name}" AS t{where} ORDER BY position'

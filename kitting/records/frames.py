"""The shop as frames, as of a day."""

from __future__ import annotations

from typing import TYPE_CHECKING

from kitting.records.kits import kit_moves, kitted
from kitting.records.notes import withdrawn
from kitting.records.on_hand import held_sql
from kitting.records.order_lines import SENT
from kitting.records.places import ON_SHELF
from kitting.records.rows import frame_of, quoted
from kitting.tables.kits import KIT_MOVES, KIT_SHORTS, KITS, KITTED
from kitting.tables.shop import EXTRA_SHEETS, FORGOTTEN, KEPT, SHEETS, Shop

if TYPE_CHECKING:
    from datetime import date

    from kitting.records.hands import Hand, Row
    from kitting.records.opening import Records
    from kitting.tables.contract import Table

_NOT_REVERSED = "NOT EXISTS (SELECT 1 FROM moves WHERE reverses = t.move)"
_DATED = {
    **{"orders": "ordered", "receipts": "received", "forgotten": "noted", "kits": "day"},
    **{"order_facts": "day", "claims": "day", "invoices": "dated"},
    **{"counts": "day", "proposals": "day"},
}


def snapshot(records: Records, day: date | None = None) -> Shop:
    """Return every table of the shop, read from one unchanging state.

    Extra tables that hold nothing are left out.

    Parameters
    ----------
    day
        Leave out moves, orders, receipts, kits and forgotten parts after this day; ``None`` leaves
        out nothing. A day before the first move sees the shelf as it was first counted. Tables
        that sheets replace, and promised and cancelled days, are always as they are now.

    Raises
    ------
    ShopError
        When the database cannot be read.
    TableError
        When it holds something that the contracts do not allow.
    """
    with records.reading() as hand:
        last = _last(hand, day)
        rows = {t.name: _rows(hand, t, day, last) for t in SHEETS}
        extra = {t.name: _rows(hand, t, day, last) for t in (*EXTRA_SHEETS, *KEPT)}
    rows |= {name: found for name, found in extra.items() if found}
    tables = {t.name: t for t in (*SHEETS, *EXTRA_SHEETS, *KEPT)}
    return Shop({name: frame_of(tables[name], found) for name, found in rows.items()})


def build_names(records: Records) -> list[str]:
    """Return the names of all builds, in the order of their sheet."""
    with records.reading() as hand:
        return [str(row[0]) for row in hand.rows("SELECT build FROM builds ORDER BY position")]


def _last(hand: Hand, day: date | None) -> str | None:
    """Return the day after which moves are left out; ``None`` when there are no such moves."""
    ((first, latest),) = hand.rows("SELECT MIN(day), MAX(day) FROM moves")
    if day is None or latest is None or latest <= day.isoformat():
        return None
    return max(day.isoformat(), str(first))


def _rows(hand: Hand, table: Table, day: date | None, last: str | None) -> list[Row]:
    """Return the rows of one table; days are our own ISO text and safe to write into a query."""
    if table.name == "stock":
        return hand.rows(held_sql(", ".join(table.names), ON_SHELF, last))
    if table is KITTED:
        return kitted(hand, last)
    if table is KIT_MOVES:
        return kit_moves(hand, last)
    conditions = []
    if table.name == "receipts":
        conditions.append(_NOT_REVERSED)
    if table.name == "orders":
        conditions.append(SENT)
    if day and table.name in _DATED:
        dated = _DATED[table.name]
        conditions.append(f"({dated} IS NULL OR {dated} <= '{day.isoformat()}')")
    if day and table is KIT_SHORTS:
        conditions.append(f"kit IN (SELECT kit FROM {KITS.name} WHERE day <= '{day.isoformat()}')")
    where = f" WHERE {' AND '.join(conditions)}" if conditions else ""
    rows = hand.rows(
        f'SELECT {quoted(table.names)} FROM "{table.name}" AS t{where} ORDER BY position'
    )
    return _standing(hand, rows, day) if table is FORGOTTEN else rows


def _standing(hand: Hand, rows: list[Row], day: date | None) -> list[Row]:
    """Return the forgotten parts but for those whose late pick was undone."""
    at = [FORGOTTEN.names.index(n) for n in ("entry", "build", "part", "note")]
    told = (tuple(row[n] for n in at) for row in rows)
    gone = withdrawn(hand, told, day.isoformat() if day else None)
    return [row for row in rows if row[at[0]] not in gone] if gone else rows

"""Sheets into the shop: what would change, and changing it in one transaction.

- A sheet that the shop's people own replaces its whole table.
- ``orders``, ``receipts``, ``invoices``, ``forgotten`` and ``used`` are facts: rows that are not
  there yet are added, nothing is ever removed. A row whose key is there with other values is told
  as ``kept``; of an order line, another price, promised or cancelled day than the sheet said last
  is taken as a change, with the day of reading. Forgotten and used parts have no key; equal rows
  are counted.
- ``receipts`` in a sheet are history and move no stock: the sheet ``stock`` tells what the shelf
  holds. To receive goods into stock, call ``receive``.
- ``stock`` is a count. A row that is new or has another quantity than the last stock sheet sets
  the lot to that quantity; a row that has only another label (unit, use-by, opened) changes the
  label; a row that was in the last stock sheet and is not in this one sets its lot to zero; a row
  that is the same changes nothing, whatever came or went since.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from kitting.errors import InputError, TableError
from kitting.records import amending
from kitting.records.compared import CHANGES as CHANGES
from kitting.records.compared import Difference, compare, more, told
from kitting.records.counting import Why, differences, note_counts
from kitting.records.ledger import MOST, post
from kitting.records.on_hand import Label, Lot, OnShelf, on_shelf
from kitting.records.places import shelf_place
from kitting.records.rows import add_rows, kept_rows, rows_of
from kitting.records.version_history import keep
from kitting.tables.shop import BY_NAME

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from datetime import date

    import pandas as pd

    from kitting.records.hands import Hand, Row
    from kitting.records.opening import Records
    from kitting.tables.contract import Table

_NOTHING = OnShelf(0, Label("", None, None))
FACTS = ("orders", "receipts", "forgotten", "used", "invoices")
_BY_ENTRY = ("forgotten", "used")


def changes(records: Records, frames: Mapping[str, pd.DataFrame]) -> pd.DataFrame:
    """Tell what reading these sheets would change; table ``changes``.

    Parameters
    ----------
    frames
        Frames of ``tables.shop`` by sheet name; sheets that are absent stay as they are.

    Raises
    ------
    TableError
        When a frame is unknown or breaks its contract.
    InputError
        When a text or quantity cannot be kept.
    """
    sheets = _sheets(frames)
    with records.reading() as hand:
        return told([_difference(hand, table, rows) for table, rows in sheets])


def apply(
    records: Records,
    frames: Mapping[str, pd.DataFrame],
    day: date,
    by: str = "",
    reason: str = "",
) -> pd.DataFrame:
    """Read these sheets into the shop in one transaction, and return what changed.

    Parameters
    ----------
    frames
        Frames of ``tables.shop`` by sheet name; sheets that are absent stay as they are.
    day
        Day of the count that the sheet ``stock`` is.
    by
        Who reads it.
    reason
        Why, kept with the new version of the bill that this makes if it changes the bill.

    Raises
    ------
    TableError
        When a frame is unknown or breaks its contract.
    InputError
        When a text or quantity cannot be kept.
    """
    sheets = _sheets(frames)
    with records.writing() as hand:
        found = [_difference(hand, table, rows) for table, rows in sheets]
        for difference in found:
            if not difference.write:
                continue
            if difference.table.name in FACTS:
                _add(hand, difference, (day.isoformat(), by))
                continue
            if difference.table.name == "stock":
                _count(hand, difference, Why(day, "counted: sheet stock", by))
            _replace(hand, difference)
        keep(hand, [(f.table, f.came, f.went) for f in found], Why(day, reason, by))
    return told(found)


def _sheets(frames: Mapping[str, pd.DataFrame]) -> list[tuple[Table, list[Row]]]:
    """Return contract and kept rows of each frame, in the order of the sheets."""
    unknown = [name for name in frames if name not in BY_NAME]
    if unknown:
        raise TableError(f"there is no sheet {', '.join(unknown)}")
    return [
        (table, rows_of(table, frames[name])) for name, table in BY_NAME.items() if name in frames
    ]


def _difference(hand: Hand, table: Table, rows: list[Row]) -> Difference:
    """Compare a sheet with what the shop holds."""
    found = Difference(table, rows)
    held = kept_rows(hand, table, "stock_seen" if table.name == "stock" else "")
    if table.name == "stock":
        _check_stock(rows)
    if table.name == "orders":
        _compare_orders(hand, found, held)
        return found
    if rows == held:
        return found
    if table.name in _BY_ENTRY:
        _new_entries(found, held)
    else:
        compare(found, held)
    if table.name in FACTS:
        found.kept, found.changed, found.removed = found.changed, [], []
        found.write = bool(found.added)
    else:
        found.write = True
    return found


def _compare_orders(hand: Hand, found: Difference, held: Sequence[Row]) -> None:
    """Compare order lines: some columns of a line may change, the rest is kept."""
    names = found.table.names
    old = {row[:2]: row for row in held}
    found.added = [row for row in found.rows if row[:2] not in old]
    found.reread = amending.news(
        hand, [(old[row[:2]], row) for row in found.rows if row[:2] in old], names
    )
    found.changed = [(f.old, f.new) for f in found.reread if f.told]
    first = names.index("first_promised")
    for f in found.reread:
        # A sheet need not repeat what was promised first.
        sheet = (*f.sheet[:first], f.sheet[first] or f.new[first], *f.sheet[first + 1 :])
        if sheet != f.new:
            found.kept.append((f.new, sheet))
    found.write = bool(found.rows)


def _add(hand: Hand, found: Difference, why: tuple[str, str]) -> None:
    """Add the facts that are new; of order lines write what became of them too."""
    name, columns = found.table.name, found.table.names
    add_rows(hand, name, columns, found.added)
    if name == "orders":
        amending.begin(hand, found.added, columns, None)
        amending.take(hand, found.reread, columns, why)


def _new_entries(found: Difference, held: Sequence[Row]) -> None:
    """Give entries that are not there yet the numbers after those that are."""
    last = max((int(row[0]) for row in held), default=0)
    found.added = [
        (last + number, *row[1:]) for number, row in enumerate(more(found.rows, held), start=1)
    ]


def _check_stock(rows: Sequence[Row]) -> None:
    """Refuse, before anything is told or written, a stock sheet that cannot be counted."""
    for row in rows:
        lot, seen = _seen(row)
        if not 0 <= seen.quantity <= MOST:
            raise InputError(
                f"{seen.quantity} of part {lot.part} cannot be in {lot.place or 'a bin'}; "
                "count again"
            )
        shelf_place(lot.place)


def _seen(row: Row) -> tuple[Lot, OnShelf]:
    """Return the lot and the count that a row of the stock sheet tells."""
    part, lot, place, quantity, unit, use_by, opened, held_for, owner = row
    seen = OnShelf(int(quantity), Label(unit, use_by, opened))
    return Lot(part, lot, place, held_for, owner), seen


def _count(hand: Hand, found: Difference, why: Why) -> None:
    """Write the moves that a stock sheet asks for."""
    shelf = on_shelf(hand)
    moves, counted = [], []
    for row in found.added:
        lot, seen = _seen(row)
        have = shelf.get(lot, _NOTHING)
        moves += differences(lot, have, seen, why)
        counted.append((lot, have.quantity, seen.quantity))
    for before, row in found.changed:
        lot, seen = _seen(row)
        have = shelf.get(lot, _NOTHING)
        same = _seen(before)[1].quantity == seen.quantity
        moves += differences(lot, have, OnShelf(have.quantity, seen.label) if same else seen, why)
        if not same:
            counted.append((lot, have.quantity, seen.quantity))
    for row in found.removed:
        lot, seen = _seen(row)
        have = shelf.get(lot, _NOTHING)
        moves += differences(lot, have, OnShelf(0, have.label), why)
        counted.append((lot, have.quantity, 0))
    post(hand, moves)
    note_counts(hand, counted, why)


def _replace(hand: Hand, found: Difference) -> None:
    """Put the rows of a sheet in the place of those that were there."""
    name = "stock_seen" if found.table.name == "stock" else found.table.name
    hand.run(f'DELETE FROM "{name}"')
    add_rows(hand, name, found.table.names, found.rows)

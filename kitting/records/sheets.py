"""Sheets into the shop: what would change, and changing it in one transaction.

- A sheet that the shop's people own replaces its whole table.
- ``orders``, ``receipts``, ``forgotten`` and ``used`` are facts: rows that are not there yet are
  added, nothing is ever changed or removed. A row whose key is there with other values is told as
  ``kept``. Forgotten and used parts have no key; equal rows are counted.
- ``receipts`` in a sheet are history and move no stock: the sheet ``stock`` tells what the shelf
  holds. To receive goods into stock, call ``receive``.
- ``stock`` is a count. A row that is new or has another quantity than the last stock sheet sets
  the lot to that quantity; a row that has only another label (unit, use-by, opened) changes the
  label; a row that was in the last stock sheet and is not in this one sets its lot to zero; a row
  that is the same changes nothing, whatever came or went since.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from kitting.errors import InputError, TableError
from kitting.records.counting import Why, differences
from kitting.records.ledger import MOST, post
from kitting.records.on_hand import Label, Lot, OnShelf, on_shelf
from kitting.records.places import shelf_place
from kitting.records.rows import add_rows, kept_rows, rows_of
from kitting.tables.contract import Column, Table
from kitting.tables.shop import BY_NAME

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from datetime import date

    import pandas as pd

    from kitting.records.hands import Hand, Row
    from kitting.records.opening import Records

CHANGES = Table(
    "changes",
    "what reading sheets changes",
    "records",
    (
        Column("sheet", "text", "the sheet"),
        Column("change", "text", "added, changed, removed, or kept (the sheet differs, we keep)"),
        Column("row", "text", "which row, by its key"),
        Column("detail", "text", "what is different"),
    ),
)

_NOTHING = OnShelf(0, Label("", None, None))
FACTS = ("orders", "receipts", "forgotten", "used")
_BY_ENTRY = ("forgotten", "used")


@dataclass
class Difference:
    """How a sheet differs from what the shop holds, as kept rows."""

    table: Table
    rows: list[Row]
    write: bool = False
    added: list[Row] = field(default_factory=list)
    changed: list[tuple[Row, Row]] = field(default_factory=list)
    removed: list[Row] = field(default_factory=list)
    kept: list[tuple[Row, Row]] = field(default_factory=list)


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
        return _told([_difference(hand, table, rows) for table, rows in sheets])


def apply(
    records: Records, frames: Mapping[str, pd.DataFrame], day: date, by: str = ""
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
                add_rows(hand, difference.table.name, difference.table.names, difference.added)
                continue
            if difference.table.name == "stock":
                _count(hand, difference, Why(day, "counted: sheet stock", by))
            _replace(hand, difference)
    return _told(found)


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
    if rows == held:
        return found
    if table.name in _BY_ENTRY:
        _new_entries(found, held)
    elif len(table.key) == 1 and table.columns[0].kind == "whole":
        _by_content(found, held)
    else:
        _by_key(found, held)
    if table.name in FACTS:
        found.kept, found.changed, found.removed = found.changed, [], []
        found.write = bool(found.added)
    else:
        found.write = True
    return found


def _by_key(found: Difference, held: Sequence[Row]) -> None:
    """Compare rows that have a key."""
    at = [found.table.names.index(name) for name in found.table.key]
    old = {tuple(row[i] for i in at): row for row in held}
    new = {tuple(row[i] for i in at): row for row in found.rows}
    found.added = [row for key, row in new.items() if key not in old]
    found.changed = [(old[k], row) for k, row in new.items() if k in old and old[k] != row]
    found.removed = [row for key, row in old.items() if key not in new]


def _by_content(found: Difference, held: Sequence[Row]) -> None:
    """Compare rows that have only a number: a row put in between changes no other."""
    found.added = _more(found.rows, held)
    found.removed = _more(held, found.rows)


def _new_entries(found: Difference, held: Sequence[Row]) -> None:
    """Give entries that are not there yet the numbers after those that are."""
    last = max((int(row[0]) for row in held), default=0)
    found.added = [
        (last + number, *row[1:]) for number, row in enumerate(_more(found.rows, held), start=1)
    ]


def _more(rows: Sequence[Row], than: Sequence[Row]) -> list[Row]:
    """Return rows beyond those of the other side, the number in front aside, repeats counted."""
    there = Counter(row[1:] for row in than)
    more = []
    for row in rows:
        if there[row[1:]] > 0:
            there[row[1:]] -= 1
        else:
            more.append(row)
    return more


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
    moves = []
    for row in found.added:
        lot, seen = _seen(row)
        moves += differences(lot, shelf.get(lot, _NOTHING), seen, why)
    for before, row in found.changed:
        lot, seen = _seen(row)
        have = shelf.get(lot, _NOTHING)
        same = _seen(before)[1].quantity == seen.quantity
        moves += differences(lot, have, OnShelf(have.quantity, seen.label) if same else seen, why)
    for row in found.removed:
        lot, seen = _seen(row)
        have = shelf.get(lot, _NOTHING)
        moves += differences(lot, have, OnShelf(0, have.label), why)
    post(hand, moves)


def _replace(hand: Hand, found: Difference) -> None:
    """Put the rows of a sheet in the place of those that were there."""
    name = "stock_seen" if found.table.name == "stock" else found.table.name
    hand.run(f'DELETE FROM "{name}"')
    add_rows(hand, name, found.table.names, found.rows)


def _told(found: Sequence[Difference]) -> pd.DataFrame:
    """Return the differences as table ``changes``."""
    import pandas as pd

    rows: list[tuple[str, str, str, str]] = []
    for f in found:
        name, before = f.table.name, len(rows)
        rows += [(name, "added", _key(f.table, row), "") for row in f.added]
        rows += [(name, "changed", _key(f.table, n), _detail(f.table, o, n)) for o, n in f.changed]
        rows += [(name, "removed", _key(f.table, row), "") for row in f.removed]
        rows += [(name, "kept", _key(f.table, o), _detail(f.table, o, n)) for o, n in f.kept]
        if f.write and len(rows) == before:
            rows.append((name, "changed", "", "the rows are in another order"))
    if not rows:
        return CHANGES.empty()
    return CHANGES.conform(pd.DataFrame(rows, columns=CHANGES.names))


def _key(table: Table, row: Row) -> str:
    """Say which row it is: its key, or what it holds when it has only a number."""
    named = dict(zip(table.names, row, strict=True))
    names = table.key
    if len(names) == 1 and table.columns[0].kind == "whole":
        names = tuple(c.name for c in table.columns if c.kind == "text")[:5]
    return ", ".join(str(named[n]) for n in names if named[n] not in ("", None))


def _detail(table: Table, old: Row, new: Row) -> str:
    """Say which cells differ."""
    return "; ".join(
        f"{name}: {_cell(a)} -> {_cell(b)}"
        for name, a, b in zip(table.names, old, new, strict=True)
        if a != b
    )


def _cell(value: object) -> str:
    """Show a cell; blank is a dash."""
    return "-" if value in ("", None) else str(value)

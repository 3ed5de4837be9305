"""The ledger of moves as a frame.

A million moves are twenty million cells, and a driver makes an object of each. So a file is asked
for some thousand moves at a time, each column joined into one text, which is taken apart here: most
columns say the same in many rows, and are then one text that is repeated.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from kitting.records.rows import frame_of_columns, quoted
from kitting.tables.moves import MOVES

if TYPE_CHECKING:
    from typing import Any

    import pandas as pd

    from kitting.records.hands import Hand, Value
    from kitting.records.opening import Records
    from kitting.tables.contract import Column

_AT_ONCE = 10_000  # moves; their texts then stay in the processor's memory
_BETWEEN = "\x1f"  # stands between the cells of a column; a cell that holds it is seen by its count


def moves(records: Records, part: str | None = None, build: str = "") -> pd.DataFrame:
    """Return the moves in the order of writing, as table ``moves``.

    Parameters
    ----------
    part, build
        Only those of a part, or for a build.

    Raises
    ------
    ShopError
        When the database cannot be read.
    TableError
        When it holds something that the contract does not allow.
    """
    wanted = [("part = :part", part is not None), ("build = :build", bool(build))]
    where = "".join(f" AND {condition}" for condition, asked in wanted if asked)
    values: dict[str, Value] = {"part": part or "", "build": build}
    found: list[list[Any]] = [[] for _ in MOVES.columns]
    with records.reading() as hand:
        ((last,),) = hand.rows("SELECT COALESCE(MAX(move), 0) FROM moves")
        for first in range(0, last, _AT_ONCE):
            within = f"move > {first} AND move <= {first + _AT_ONCE}{where}"
            joined = _joined(hand, within, values) if hand.dialect == "sqlite" else None
            for column, cells in zip(found, joined or _plain(hand, within, values), strict=True):
                column += cells
    return frame_of_columns(MOVES, found)


def _plain(hand: Hand, within: str, values: dict[str, Value]) -> list[list[Any]]:
    """Return the columns of some moves, cell by cell."""
    rows = hand.rows(
        f"SELECT {quoted(MOVES.names)} FROM moves WHERE {within} ORDER BY move", values
    )
    return [list(c) for c in zip(*rows, strict=True)] if rows else [[] for _ in MOVES.columns]


def _joined(hand: Hand, within: str, values: dict[str, Value]) -> list[list[Any]] | None:
    """Return the columns of some moves, each read as one text.

    ``None`` when a cell holds what stands between cells, or the moves came in another order, which
    SQLite does not promise: then they must be read cell by cell.
    """
    texts = ", ".join(_text(c) for c in MOVES.columns)
    ((count, *found),) = hand.rows(f"SELECT COUNT(*), {texts} FROM moves WHERE {within}", values)
    if not count:
        return [[] for _ in MOVES.columns]
    columns = [_apart(text, count) for text in found]
    if any(len(cells) != count for cells in columns):
        return None
    told = [_values(c, cells) for c, cells in zip(MOVES.columns, columns, strict=True)]
    return told if told[0] == sorted(told[0]) else None


def _text(column: Column) -> str:
    """Return the part of a query that joins a column; blank days and numbers are empty."""
    cell = f'"{column.name}"'
    if column.kind not in ("text", "whole"):
        cell = f"IFNULL({cell}, '')"
    return f"GROUP_CONCAT({cell}, '{_BETWEEN}')"


def _apart(text: str, count: int) -> list[str]:
    """Return the cells of a column; one that says the same in each row is not taken apart."""
    first = text.partition(_BETWEEN)[0]
    if len(text) == (len(first) + 1) * count - 1 and text == _BETWEEN.join([first] * count):
        return [first] * count
    return text.split(_BETWEEN)


def _values(column: Column, cells: list[str]) -> list[Any]:
    """Return cells as the database gives them one by one."""
    match column.kind:
        case "whole":
            return list(map(int, cells))
        case "whole or blank":
            return [int(c) if c else None for c in cells]
        case "day":
            return [c or None for c in cells]
    return cells

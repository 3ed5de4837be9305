"""Frames to rows that a database keeps, and back, exactly."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

from kitting.errors import InputError, TableError

if TYPE_CHECKING:
    from collections.abc import Sequence
    from typing import Any

    import numpy as np
    import pandas as pd

    from kitting.records.hands import Hand, Row, Value
    from kitting.tables.contract import Column, Kind, Table

_FIRST_DAY, _LAST_DAY = "0001-01-01", "9999-12-31"


def quoted(names: Sequence[str]) -> str:
    """Write names for a statement; some of ours are words of SQL."""
    return ", ".join(f'"{n}"' for n in names)


def insert(name: str, columns: Sequence[str]) -> str:
    """Return the statement that adds a row with values named as its columns."""
    values = ", ".join(f":{c}" for c in columns)
    return f'INSERT INTO "{name}" ({quoted(columns)}) VALUES ({values})'


def add_rows(hand: Hand, name: str, columns: Sequence[str], rows: Sequence[Row]) -> None:
    """Add rows to a table, in their order."""
    hand.run_many(insert(name, columns), [dict(zip(columns, row, strict=True)) for row in rows])


def kept_rows(hand: Hand, table: Table, name: str = "") -> list[Row]:
    """Return the rows of a contract's table in their order."""
    return hand.rows(f'SELECT {quoted(table.names)} FROM "{name or table.name}" ORDER BY position')


def storable(text: str) -> str:
    """Return the text itself when a database can keep it.

    Raises
    ------
    InputError
        When it holds a NUL or half of a surrogate pair.
    """
    whole = text.isascii() or not any("\ud800" <= c <= "\udfff" for c in text)
    if whole and "\0" not in text:
        return text
    shown = text.encode("unicode_escape", "surrogatepass").decode()
    raise InputError(f'"{shown}" holds a character that cannot be kept; type the text again')


def day_text(day: date | None) -> str | None:
    """Write a day as it is kept."""
    return None if day is None else day.isoformat()


def day_of(text: str | None) -> date | None:
    """Read a day that was kept."""
    return None if text is None else date.fromisoformat(text)


def rows_of(table: Table, frame: pd.DataFrame) -> list[Row]:
    """Return the rows of a frame that follows its contract, as they are kept.

    Raises
    ------
    TableError
        When the frame breaks its contract or a day has a time or lies outside the years 1-9999.
    InputError
        When a text cannot be kept.
    """
    table.check(frame)
    if not len(frame):
        return []
    return list(zip(*(_values(table, c, frame[c.name]) for c in table.columns), strict=True))


def frame_of(table: Table, rows: Sequence[Row]) -> pd.DataFrame:
    """Return kept rows as a frame that follows the contract.

    Raises
    ------
    TableError
        When the database holds something that the contract does not allow.
    """
    columns = list(zip(*rows, strict=True)) if rows else [()] * len(table.columns)
    return frame_of_columns(table, columns)


def frame_of_columns(table: Table, columns: Sequence[Sequence[Any]]) -> pd.DataFrame:
    """Return kept cells, given column by column, as a frame that follows the contract.

    Raises
    ------
    TableError
        When the database holds something that the contract does not allow.
    """
    import pandas as pd

    try:
        made = {
            c.name: _array(c.kind, values) for c, values in zip(table.columns, columns, strict=True)
        }
        return pd.DataFrame(made, copy=False)
    except (TypeError, ValueError) as fault:
        raise TableError(f"table {table.name}: {fault}") from fault


def _values(table: Table, column: Column, series: pd.Series[Any]) -> list[Value]:
    """Return the values of one column as they are kept."""
    import numpy as np

    match column.kind:
        case "text":
            return [storable(text) for text in series.tolist()]
        case "whole or blank":
            return list(series.to_numpy(dtype=object, na_value=None))
        case "real":
            numbers = series.to_numpy()
            return [None if n != n else n for n in numbers.tolist()]
        case "yes or no":
            return list(series.to_numpy().astype(np.int64).tolist())
        case "day":
            return _day_texts(table, column, series.to_numpy())
        case "whole":
            return list(series.tolist())


def _day_texts(table: Table, column: Column, stamps: np.ndarray[Any, Any]) -> list[Value]:
    """Return days as ISO text, blank as ``None``."""
    import numpy as np

    days = stamps.astype("datetime64[D]")
    known = ~np.isnat(days)
    outside = (days < np.datetime64(_FIRST_DAY)) | (days > np.datetime64(_LAST_DAY))
    if ((days.astype(stamps.dtype) != stamps) & known).any() or (outside & known).any():
        raise TableError(
            f"table {table.name}: column {column.name} holds a time of day, or a year that has "
            "not four figures"
        )
    texts: list[str] = np.datetime_as_string(days).tolist()
    return [t if k else None for t, k in zip(texts, known.tolist(), strict=True)]


def _array(kind: Kind, values: Sequence[Any]) -> Any:
    """Return one column of kept values as an array of the kind's dtype."""
    import numpy as np
    import pandas as pd

    match kind:
        case "text":
            return pd.array(values, dtype="str")
        case "whole":
            return np.array(values, dtype=np.int64)
        case "whole or blank":
            blank = np.array([v is None for v in values], dtype=bool)
            filled = np.array([v or 0 for v in values], dtype=np.int64)
            return pd.arrays.IntegerArray(filled, blank)
        case "real":
            return np.array(values, dtype=np.float64)
        case "yes or no":
            return np.array(values, dtype=np.int64).astype(bool)
        case "day":
            read = {v: np.datetime64(v, "s").astype(np.int64) for v in set(values)}
            stamps = np.fromiter(map(read.__getitem__, values), np.int64, len(values))
            return stamps.view("datetime64[s]")

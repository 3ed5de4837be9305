"""What a frame must be: columns, dtypes, key; checked where frames change hands."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from kitting.errors import TableError

if TYPE_CHECKING:
    import pandas as pd

Kind = Literal["text", "whole", "whole or blank", "real", "yes or no", "day"]

DTYPES: dict[Kind, str] = {
    "text": "str",
    "whole": "int64",
    "whole or blank": "Int64",
    "real": "float64",
    "yes or no": "bool",
    "day": "datetime64[s]",
}


@dataclass(frozen=True, slots=True)
class Column:
    """One column.

    Parameters
    ----------
    name
        Column name.
    kind
        What its cells hold; gives the dtype. Text is never missing (blank is ``""``); a day may
        be missing (``NaT``).
    meaning
        One line for people, used in docs and sheet notes.
    unit
        Unit of the numbers, such as ``base units``, ``cents``, ``working days``.
    """

    name: str
    kind: Kind
    meaning: str
    unit: str = ""

    @property
    def dtype(self) -> str:
        """The pandas dtype."""
        return DTYPES[self.kind]


@dataclass(frozen=True, slots=True)
class Table:
    """The contract of one frame.

    Parameters
    ----------
    name
        Table name.
    meaning
        One line for people.
    writer
        The one room that writes it.
    columns
        Its columns in order.
    key
        Names of columns that together identify a row; empty when rows may repeat.
    """

    name: str
    meaning: str
    writer: str
    columns: tuple[Column, ...]
    key: tuple[str, ...] = ()

    @property
    def names(self) -> list[str]:
        """Column names in order."""
        return [c.name for c in self.columns]

    def empty(self) -> pd.DataFrame:
        """Return a frame without rows and with the right dtypes."""
        import pandas as pd

        return pd.DataFrame({c.name: pd.array([], dtype=c.dtype) for c in self.columns}, copy=False)

    def conform(self, frame: pd.DataFrame) -> pd.DataFrame:
        """Return the columns of the contract in order, cast to its dtypes; others are dropped.

        Raises
        ------
        TableError
            When a column is absent or does not cast.
        """
        missing = [n for n in self.names if n not in frame.columns]
        if missing:
            raise TableError(f"table {self.name} lacks the columns {', '.join(missing)}")
        ordered = frame if list(frame.columns) == self.names else frame[self.names]
        out = ordered.reset_index(drop=True)
        try:
            pairs = zip(self.columns, out.dtypes, strict=True)
            cast = {c.name: c.dtype for c, dtype in pairs if str(dtype) != c.dtype}
            return out.astype(cast) if cast else out
        except (TypeError, ValueError) as fault:
            raise TableError(f"table {self.name}: {fault}") from fault

    def check(self, frame: pd.DataFrame) -> pd.DataFrame:
        """Return the frame itself after checking columns, dtypes, key and missing text.

        Raises
        ------
        TableError
            When the frame breaks the contract; the message names every breach.
        """
        faults = []
        for column in self.columns:
            if column.name not in frame.columns:
                faults.append(f"column {column.name} is absent")
            elif str(frame[column.name].dtype) != column.dtype:
                faults.append(
                    f"column {column.name} is {frame[column.name].dtype}, not {column.dtype}"
                )
            elif column.kind == "text" and frame[column.name].hasnans:
                faults.append(f"column {column.name} has missing text")
        if not faults and self.key and frame.duplicated(list(self.key)).any():
            faults.append(f"key {', '.join(self.key)} repeats")
        if faults:
            raise TableError(f"table {self.name}: {'; '.join(faults)}")
        return frame

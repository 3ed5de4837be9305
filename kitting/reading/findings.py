"""Gathering what is wrong with a sheet, so that all of it is told in one go."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from kitting.terms.findings import Finding
from kitting.terms.words import Level

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

MOST_ALIKE = 100
"""At most this many different faults are told of one column; the rest are counted."""


def rows_named(rows: Sequence[int], most: int = 5) -> str:
    """Name some rows: ``row 7`` or ``rows 7, 9 and 41`` or ``rows 7, 9 and 38 more``."""
    shown = [str(r) for r in rows[:most]]
    if len(rows) > most:
        return f"rows {', '.join(shown)} and {len(rows) - most} more"
    if len(shown) == 1:
        return f"row {shown[0]}"
    return f"rows {', '.join(shown[:-1])} and {shown[-1]}"


@dataclass
class Log:
    """The findings of one sheet while it is read.

    Parameters
    ----------
    sheet
        Its name.
    rows
        Sheet row of each row that holds something, in order.
    findings
        What was found so far.
    bad
        Positions of rows that cannot be used.
    """

    sheet: str
    rows: Sequence[int] = ()
    findings: list[Finding] = field(default_factory=list)
    bad: set[int] = field(default_factory=set)

    def whole(self, level: Level, message: str, column: str = "", row: int = 0) -> None:
        """Note something about the whole sheet, a heading, or one row that is named."""
        self.findings.append(Finding(level, message, self.sheet, row, column))

    def cell(self, level: Level, message: str, at: Iterable[int], column: str = "") -> None:
        """Note one message for one or more rows, by position; a stop spoils the rows."""
        where = sorted(at)
        if level is Level.STOP:
            self.bad.update(where)
        rows = [int(self.rows[i]) for i in where]
        also = f" (also {rows_named(rows[1:])})" if len(rows) > 1 else ""
        self.findings.append(Finding(level, message + also, self.sheet, rows[0], column))

    def cells(self, level: Level, faults: Mapping[str, Iterable[int]], column: str) -> None:
        """Note many messages of one column, each for its rows; beyond a bound they are counted."""
        told = list(faults.items())
        for message, at in told[:MOST_ALIKE]:
            self.cell(level, message, at, column)
        rest = [i for _, at in told[MOST_ALIKE:] for i in at]
        if rest:
            self.cell(level, f"{len(rest)} more cells of this column are wrong", rest, column)

"""A finding: something seen, where, and what to do about it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from kitting.terms.words import Level


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing that a person should know.

    Parameters
    ----------
    level
        stop, warn or note.
    message
        What was seen and what to do, in one sentence each.
    sheet, row, column
        Where it was seen; row 1 is the heading row, 0 means the whole sheet.
    about
        What it concerns when that is not a cell: a build, stage or part.
    """

    level: Level
    message: str
    sheet: str = ""
    row: int = 0
    column: str = ""
    about: str = ""

    def where(self) -> str:
        """Say the place in words: ``lines row 41, quantity``."""
        place = self.sheet
        if self.row:
            place = f"{place} row {self.row}"
        if self.column:
            place = f"{place}, {self.column}" if place else self.column
        return place or self.about

    def __str__(self) -> str:
        """Return ``where: message``."""
        place = self.where()
        return f"{place}: {self.message}" if place else self.message

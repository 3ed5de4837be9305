"""The kinds of change that a step of the schema makes."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class NewTable:
    """A table that a step makes.

    Parameters
    ----------
    name
        Its name.
    columns
        ``name`` or ``name: kind``, ``,`` between.
    key
        Columns that together are unique, ``,`` between; blank for none.
    primary
        Its numbered row; made first, filled by the database. Blank when the key is primary.
    checks
        Conditions that every row fulfils.
    refers
        ``column`` to ``table.column`` pairs.
    """

    name: str
    columns: str
    key: str = ""
    primary: str = "position"
    checks: tuple[str, ...] = ()
    refers: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True, slots=True)
class NewColumn:
    """A column that a step adds to a table; ``blank`` fills the rows that are there."""

    table: str
    column: str
    blank: str = "''"


@dataclass(frozen=True, slots=True)
class Remade:
    """A table whose rows move, in their order, into one of the same columns under other rules.

    Nothing may refer to it, and it may have no index and no column that was added since.
    """

    table: NewTable


@dataclass(frozen=True, slots=True)
class NewIndex:
    """An index that a step adds."""

    name: str
    table: str
    columns: str


@dataclass(frozen=True, slots=True)
class AppendOnly:
    """A table whose rows may from now on neither be changed nor removed."""

    table: str
    message: str


@dataclass(frozen=True, slots=True)
class Run:
    """A statement that every database reads alike, for the rows that are there."""

    statement: str


@dataclass(frozen=True, slots=True)
class Step:
    """One numbered change of the schema."""

    number: int
    name: str
    changes: tuple[NewTable | NewColumn | Remade | NewIndex | AppendOnly | Run, ...]

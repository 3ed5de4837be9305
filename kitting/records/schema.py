"""Steps made into the language of a database by SQLAlchemy, and run.

Kinds become types that SQLite's STRICT tables and PostgreSQL both keep exactly: text is never
missing, whole numbers have 64 bits, a day is its ISO 8601 text (which sorts as days do), yes or no
is 1 or 0, a real number may be missing as NaN is.
"""

from __future__ import annotations

from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any

import sqlalchemy as sa
from sqlalchemy.dialects import postgresql, sqlite
from sqlalchemy.schema import CreateIndex, CreateTable

from kitting.records.step_kinds import AppendOnly, NewColumn, NewIndex, NewTable, Remade, Run, Step

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from kitting.records.hands import Hand

_WHOLE = sa.BigInteger().with_variant(sa.Integer(), "sqlite")
_REAL: sa.types.TypeEngine[Any] = sa.Double().with_variant(sa.REAL(), "sqlite")
_DIALECTS: dict[str, Any] = {"sqlite": sqlite.dialect, "postgresql": postgresql.dialect}

_STEPS_TABLE = NewTable("schema_steps", "step: whole, name, done", "step", primary="")


def split(names: str) -> list[str]:
    """Split ``a, b`` into names."""
    return [n.strip() for n in names.split(",") if n.strip()]


def column(spec: str) -> sa.Column[Any]:
    """Return the column for ``name`` or ``name: kind``."""
    name, _, kind = (p.strip() for p in spec.partition(":"))
    if kind in ("whole", "whole or blank", "yes or no"):
        return sa.Column(name, _WHOLE, nullable=kind == "whole or blank", autoincrement=False)
    if kind == "real":
        return sa.Column(name, _REAL)
    if kind not in ("", "text", "day"):
        raise ValueError(f"{spec}: {kind} is not a kind of column")
    return sa.Column(name, sa.Text(), nullable=kind == "day")


def checks(specs: Iterable[str]) -> Iterator[sa.CheckConstraint]:
    """Yield what the kinds alone do not hold: two-valued and ten-letter columns."""
    for spec in specs:
        name, _, kind = (p.strip() for p in spec.partition(":"))
        if kind == "yes or no":
            yield sa.CheckConstraint(f'"{name}" IN (0, 1)')
        elif kind == "day":
            yield sa.CheckConstraint(f'length("{name}") = 10')


def table(new: NewTable, into: sa.MetaData) -> sa.Table:
    """Return the table that a step makes."""
    specs, key = split(new.columns), split(new.key)
    made: list[Any] = []
    if new.primary:
        made.append(sa.Column(new.primary, _WHOLE, primary_key=True, autoincrement=True))
    made += [column(s) for s in specs]
    made += checks(specs)
    made += [sa.CheckConstraint(c) for c in new.checks]
    made += [sa.ForeignKeyConstraint([here], [there]) for here, there in new.refers]
    if key:
        made.append((sa.UniqueConstraint if new.primary else sa.PrimaryKeyConstraint)(*key))
    return sa.Table(new.name, into, *made, sqlite_strict=True)


def statements(step: Step, dialect: str, into: sa.MetaData) -> Iterator[str]:
    """Yield the statements of a step in the language of ``sqlite`` or ``postgresql``.

    Parameters
    ----------
    into
        The tables that earlier steps made; this step's tables are added.
    """
    talk = _DIALECTS[dialect]()
    for change in step.changes:
        match change:
            case NewTable():
                yield str(CreateTable(table(change, into)).compile(dialect=talk))
            case NewColumn():
                made = CreateTable(sa.Table("t", sa.MetaData(), column(change.column)))
                kind = str(made.compile(dialect=talk)).partition("(")[2].rpartition(")")[0].strip()
                yield f'ALTER TABLE "{change.table}" ADD COLUMN {kind} DEFAULT {change.blank}'
            case Remade():
                yield from _remade(change.table, dialect, into)
            case NewIndex():
                columns = [into.tables[change.table].c[n] for n in split(change.columns)]
                yield str(CreateIndex(sa.Index(change.name, *columns)).compile(dialect=talk))
            case Run():
                yield change.statement
            case AppendOnly():
                yield from _append_only(change, dialect)


def _remade(new: NewTable, dialect: str, into: sa.MetaData) -> Iterator[str]:
    """Yield statements that make a table anew and move the rows of the old one into it."""
    old = f"{new.name}_before"
    columns = ", ".join(f'"{column(spec).name}"' for spec in split(new.columns))
    into.remove(into.tables[new.name])
    yield f'ALTER TABLE "{new.name}" RENAME TO "{old}"'
    yield str(CreateTable(table(new, into)).compile(dialect=_DIALECTS[dialect]()))
    yield (
        f'INSERT INTO "{new.name}" ({columns}) SELECT {columns} FROM "{old}" '
        f'ORDER BY "{new.primary}"'
    )
    yield f'DROP TABLE "{old}"'


def _append_only(change: AppendOnly, dialect: str) -> Iterator[str]:
    """Yield triggers that refuse to change or remove a row."""
    name, message = change.table, change.message.replace("'", "''")
    if dialect == "sqlite":
        for verb in ("update", "delete"):
            yield (
                f'CREATE TRIGGER "{name}_no_{verb}" BEFORE {verb.upper()} ON "{name}" '
                f"BEGIN SELECT RAISE(ABORT, '{message}'); END"
            )
        return
    yield (
        f'CREATE FUNCTION "{name}_stay"() RETURNS trigger LANGUAGE plpgsql AS '
        f"$$ BEGIN RAISE EXCEPTION '{message}' USING ERRCODE = '23000'; END $$"
    )
    for verb, each in (("UPDATE OR DELETE", "ROW"), ("TRUNCATE", "STATEMENT")):
        yield (
            f'CREATE TRIGGER "{name}_stay_{each.lower()}" BEFORE {verb} ON "{name}" '
            f'FOR EACH {each} EXECUTE FUNCTION "{name}_stay"()'
        )


def first(hand: Hand) -> None:
    """Make the table that remembers which steps a shop has taken."""
    made = table(_STEPS_TABLE, sa.MetaData())
    talk = _DIALECTS[hand.dialect]()
    hand.run(str(CreateTable(made, if_not_exists=True).compile(dialect=talk)))


def learn(step: Step, into: sa.MetaData) -> None:
    """Add the tables of a step that the shop has taken, for later steps to refer to."""
    for change in step.changes:
        if isinstance(change, NewTable):
            table(change, into)
        elif isinstance(change, Remade):
            into.remove(into.tables[change.table.name])
            table(change.table, into)


def take(hand: Hand, step: Step, into: sa.MetaData) -> None:
    """Take one step and record it, inside the caller's transaction.

    Parameters
    ----------
    into
        The tables that earlier steps made; this step's tables are added.
    """
    for statement in statements(step, hand.dialect, into):
        hand.run(statement)
    hand.run(
        "INSERT INTO schema_steps (step, name, done) VALUES (:step, :name, :done)",
        {
            "step": step.number,
            "name": step.name,
            "done": datetime.now(UTC).isoformat(timespec="seconds"),
        },
    )

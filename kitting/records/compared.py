"""How rows of a sheet differ from rows that were there, by key or by what they hold."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from kitting.tables.contract import Column, Table

if TYPE_CHECKING:
    from collections.abc import Sequence

    import pandas as pd

    from kitting.records.amending import Reread
    from kitting.records.hands import Row

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
    reread: list[Reread] = field(default_factory=list)

    @property
    def came(self) -> list[Row]:
        """Rows that are new, as they are or as they have become."""
        return [*self.added, *(new for _, new in self.changed)]

    @property
    def went(self) -> list[Row]:
        """Rows that are gone, or gone as they were."""
        return [*self.removed, *(old for old, _ in self.changed)]


def numbered(table: Table) -> bool:
    """Tell whether rows of a table have only a number, which says nothing of what they hold."""
    return len(table.key) == 1 and table.columns[0].kind == "whole"


def compare(found: Difference, held: Sequence[Row]) -> None:
    """Fill in how the rows differ from those that are held."""
    if numbered(found.table):
        _by_content(found, held)
    else:
        _by_key(found, held)


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
    found.added = more(found.rows, held)
    found.removed = more(held, found.rows)


def more(rows: Sequence[Row], than: Sequence[Row]) -> list[Row]:
    """Return rows beyond those of the other side, the number in front aside, repeats counted."""
    there = Counter(row[1:] for row in than)
    more = []
    for row in rows:
        if there[row[1:]] > 0:
            there[row[1:]] -= 1
        else:
            more.append(row)
    return more


def told(found: Sequence[Difference]) -> pd.DataFrame:
    """Return the differences as table ``changes``."""
    import pandas as pd

    rows: list[tuple[str, str, str, str]] = []
    for f in found:
        name, before = f.table.name, len(rows)
        rows += [(name, "added", _key(f.table, row), "") for row in f.added]
        rows += [(name, "changed", _key(f.table, n), _detail(f.table, o, n)) for o, n in f.changed]
        rows += [(name, "removed", _key(f.table, row), "") for row in f.removed]
        rows += [(name, "kept", _key(f.table, o), _detail(f.table, o, n)) for o, n in f.kept]
        if f.write and len(rows) == before and not f.reread:
            rows.append((name, "changed", "", "the rows are in another order"))
    if not rows:
        return CHANGES.empty()
    return CHANGES.conform(pd.DataFrame(rows, columns=CHANGES.names))


def _key(table: Table, row: Row) -> str:
    """Say which row it is: its key, or what it holds when it has only a number."""
    named = dict(zip(table.names, row, strict=True))
    names = table.key
    if numbered(table):
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

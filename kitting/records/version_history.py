"""Versions of the bill: each change kept with author, day and reason, and any two compared.

A version is kept as the rows that came and the rows that went, so that the bill of any version is
that of today with the later changes undone. Version 0 is the bill before the first change that
was kept.
"""

from __future__ import annotations

import json
from collections import Counter
from datetime import UTC, datetime
from typing import TYPE_CHECKING

from kitting.errors import UnknownName
from kitting.records.compared import Difference, compare, numbered, told
from kitting.records.rows import add_rows, frame_of, kept_rows
from kitting.tables.shop import BY_NAME, LINES
from kitting.tables.versions import BILL, LINE_HISTORY, VERSIONS

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    import pandas as pd

    from kitting.records.counting import Why
    from kitting.records.hands import Hand, Row
    from kitting.records.opening import Records
    from kitting.tables.contract import Table

_ROWS = ("version", "sheet", "came", "content")


def keep(
    hand: Hand, sheets: Iterable[tuple[Table, Sequence[Row], Sequence[Row]]], why: Why
) -> None:
    """Keep a new version of the bill, inside the caller's transaction, if the bill changes.

    Parameters
    ----------
    sheets
        Contract, rows that come and rows that go, of each sheet that is read; those that are not
        of the bill are passed over.
    why
        Day, reason and author.
    """
    ((last,),) = hand.rows("SELECT COALESCE(MAX(version), 0) FROM versions")
    version, rows, count = int(last) + 1, [], [0, 0]
    for table, came, went in sheets:
        if table.name in BILL:
            for flag, some in ((1, came), (0, went)):
                rows += [(version, table.name, flag, _written(table, row)) for row in some]
                count[1 - flag] += len(some)
    if not rows:
        return
    made_at = datetime.now(UTC).isoformat(timespec="seconds")
    first = (version, why.day.isoformat(), made_at, why.by, why.reason, *count)
    add_rows(hand, VERSIONS.name, VERSIONS.names, [first])
    add_rows(hand, "version_rows", _ROWS, rows)


def versions(records: Records) -> pd.DataFrame:
    """Return table ``versions``."""
    with records.reading() as hand:
        return frame_of(VERSIONS, kept_rows(hand, VERSIONS))


def bill_at(records: Records, version: int) -> Mapping[str, list[Row]]:
    """Return the rows of the sheets of the bill as they were in a version.

    Rows of sheets without a key stand in no certain order and are numbered anew.

    Raises
    ------
    UnknownName
        When there is no such version.
    """
    with records.reading() as hand:
        ((last,),) = hand.rows("SELECT COALESCE(MAX(version), 0) FROM versions")
        if not 0 <= version <= int(last):
            raise UnknownName(f"there is no version {version} of the bill; the last is {last}")
        held = {
            name: Counter(_written(BY_NAME[name], row) for row in kept_rows(hand, BY_NAME[name]))
            for name in BILL
        }
        undone = hand.rows(
            "SELECT sheet, came, content FROM version_rows WHERE version > :v", {"v": version}
        )
    for sheet, came, content in undone:
        held[str(sheet)][str(content)] += -1 if came else 1
    return {
        name: [_read(BY_NAME[name], text, n) for n, text in enumerate(texts.elements(), start=1)]
        for name, texts in held.items()
    }


def between(records: Records, old: int, new: int) -> pd.DataFrame:
    """Return how the bill of one version differs from that of another; table ``changes``.

    Raises
    ------
    UnknownName
        When there is no such version.
    """
    with records.reading():
        after, before = bill_at(records, new), bill_at(records, old)
    found = [Difference(BY_NAME[name], rows) for name, rows in after.items()]
    for difference in found:
        compare(difference, before[difference.table.name])
    return told(found)


def line_history(records: Records) -> pd.DataFrame:
    """Return the lines of the bill that came and went since the first change that was kept.

    Returns
    -------
    DataFrame
        Table ``line_history``, in order of versions.
    """
    names = LINE_HISTORY.names[4:]
    at = [LINES.names.index(name) for name in names]
    with records.reading() as hand:
        kept = hand.rows(
            'SELECT r.version, v.day, v."by", r.came, r.content FROM version_rows AS r '
            "JOIN versions AS v ON v.version = r.version WHERE r.sheet = :sheet "
            "ORDER BY r.version, r.position",
            {"sheet": LINES.name},
        )
    rows = []
    for *cells, came, content in kept:
        line = _read(LINES, str(content), 0)
        rows.append((*cells, came, *(line[n] for n in at)))
    return frame_of(LINE_HISTORY, rows)


def _written(table: Table, row: Row) -> str:
    """Write what a row holds; the number of one that has only a number says nothing."""
    return json.dumps(row[1:] if numbered(table) else row, ensure_ascii=False)


def _read(table: Table, text: str, number: int) -> Row:
    cells = json.loads(text)
    return (number, *cells) if numbered(table) else tuple(cells)

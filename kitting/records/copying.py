"""Copies of a whole shop: to another place, into a backup, and back; each proved to be equal.

A copy is first made as a file beside its place (or in the system's folder for passing files). It is
compared with the original table by table, brought up to date and proved, and only then put in
place: by one rename, by SQLite's own copying over a shop that is there, or by one transaction on a
server. Whatever is cut off leaves the place as it was.
"""

from __future__ import annotations

import hashlib
import os
import tempfile
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from itertools import islice
from pathlib import Path
from typing import TYPE_CHECKING

from kitting.errors import ShopBusy, ShopError, ShopReadOnly
from kitting.records import hands
from kitting.records.faults import told
from kitting.records.opening import Records, age, open_shop
from kitting.records.proof import prove
from kitting.records.rows import add_rows, insert, quoted
from kitting.records.step_kinds import NewColumn, NewTable, Remade
from kitting.records.steps import STEPS, TODAY

if TYPE_CHECKING:
    from collections.abc import Iterator

    from kitting.records.hands import FileHand, Hand, Row

_SEAL = "copied"  # table of a backup that says what it held when it was made
_AT_ONCE = 5_000  # rows


@dataclass(frozen=True, slots=True)
class Held:
    """What a table holds.

    Parameters
    ----------
    table
        Its name.
    rows
        How many rows.
    digest
        SHA-256 of its rows in their order, each as Python writes a tuple of its values.
    """

    table: str
    rows: int
    digest: str


@dataclass(frozen=True, slots=True)
class Copied:
    """What was copied.

    Parameters
    ----------
    source, target
        The two places as shown to a person.
    tables
        What each table holds, equal on both sides.
    moves, lots
        Moves of the ledger and lots on the shelf, proved on both sides.
    aside
        Where the shop lies that was there before; blank when there was none.
    """

    source: str
    target: str
    tables: tuple[Held, ...]
    moves: int
    lots: int
    aside: str = ""


def copy_shop(
    source: str, target: str, *, over: bool = False, seal: bool = False, wait: float = 5.0
) -> Copied:
    """Copy a whole shop to a place where none is, and prove that both are equal.

    Parameters
    ----------
    source, target
        Files or SQLAlchemy URLs.
    over
        Put it over the shop that is in a target file; that one is kept beside it.
    seal
        Write into the copy what it holds, so that restoring it can tell whether it was changed.
    wait
        How long to wait for another process [seconds].

    Raises
    ------
    ShopError
        When either place cannot be used, a shop is at the target, the source does not prove or was
        changed since it was sealed, or the two are not equal; nothing was changed then.
    """
    from_file, to_file = _file(source), _file(target)
    if source == target or (from_file and to_file and from_file.resolve() == to_file.resolve()):
        raise ShopError(f"{hands.shown(target)} is the shop itself; name another place")
    if to_file and to_file.exists() and not over:
        raise ShopError(f"{target} is there already; name another place, or restore with --over")
    if over and not to_file:
        raise ShopError(
            f"{hands.shown(target)} is a server: a shop there is never written over; make an "
            "empty database and name that"
        )
    with _passing(to_file) as made:
        held = _copy_out(source, made, wait)
        moves, lots = _make_whole(made, hands.shown(source), seal=seal)
        aside = ""
        if to_file is None:
            _copy_in(made, target, wait)
        else:
            aside = _put(made, to_file, wait)
            if not seal:
                _keep_log(to_file, wait)
    return Copied(hands.shown(source), hands.shown(target), held, moves, lots, aside)


def holdings(hand: Hand, step: int = TODAY) -> tuple[Held, ...]:
    """Return what each table of a shop holds.

    Parameters
    ----------
    hand
        Inside ``Records.reading`` or ``Records.writing``.
    step
        The last step that the shop has taken.
    """
    found = []
    for name, kept in _tables(step).items():
        digest, count = hashlib.sha256(), 0
        for row in _rows(hand, name, kept):
            digest.update(f"{tuple(row)}\n".encode())
            count += 1
        found.append(Held(name, count, digest.hexdigest()))
    return tuple(found)


@dataclass(frozen=True, slots=True)
class _Kept:
    """A table as it is after some steps: its columns, and the one with the numbers of its rows."""

    columns: list[str]
    numbers: str


def _tables(step: int) -> dict[str, _Kept]:
    """Return every table after a step, in the order of making: moves before receipts."""
    made: dict[str, _Kept] = {}
    for taken in STEPS[:step]:
        for change in taken.changes:
            match change:
                case NewTable() | Remade():
                    new = change.table if isinstance(change, Remade) else change
                    names = [c.partition(":")[0].strip() for c in new.columns.split(",")]
                    made[new.name] = _Kept([n for n in (new.primary, *names) if n], new.primary)
                case NewColumn(table, column):
                    made[table].columns.append(column.partition(":")[0].strip())
    return made


def _rows(hand: Hand, table: str, kept: _Kept) -> Iterator[Row]:
    """Yield the rows of a table in an order that every database agrees on, some at a time."""
    select = f'SELECT {quoted(kept.columns)} FROM "{table}"'
    if not kept.numbers:
        yield from sorted(hand.rows(select), key=repr)
        return
    rows = hand.rows(f'{select} ORDER BY "{kept.numbers}" LIMIT {_AT_ONCE}')
    while rows:
        yield from rows
        rows = hand.rows(
            f'{select} WHERE "{kept.numbers}" > :last ORDER BY "{kept.numbers}" LIMIT {_AT_ONCE}',
            {"last": rows[-1][0]},
        )


def _file(place: str) -> Path | None:
    """Return the file that a place names, or nothing when it is a server."""
    kind, marker, rest = place.partition("://")
    if not marker:
        rest = place
    elif not kind.startswith("sqlite"):
        return None
    name = rest.removeprefix("/") if marker else rest
    if name in ("", ":memory:"):
        raise ShopError("a shop in memory cannot be copied; name a file or a server")
    return Path(name)


@contextmanager
def _passing(target: Path | None) -> Iterator[Path]:
    """Give a name for the file that a copy is made in, on the target's disk if that is a file."""
    try:
        with tempfile.TemporaryDirectory(
            prefix=".copy-", dir=target.absolute().parent if target else None
        ) as folder:
            yield Path(folder) / "shop.db"
    except OSError as fault:
        place = target or "the folder for passing files"
        reason = (fault.strerror or str(fault)).lower()
        raise ShopError(f"{place} cannot be written: {reason}; nothing was changed") from fault


@contextmanager
def _as_it_is(file: Path, wait: float) -> Iterator[tuple[FileHand, int]]:
    """Read a shop's file without bringing it up to date; give its age as the last step too."""
    with told(str(file)):
        hand = hands.open_file(str(file), create=False, read_only=True, wait=wait)
    with Records(str(file), hand, read_only=True) as records, records.reading():
        yield hand, age(records, create=False)


def _copy_out(source: str, made: Path, wait: float) -> tuple[Held, ...]:
    """Copy a shop into a new file, not yet up to date, and return what both hold."""
    file, step = _file(source), TODAY
    if file is not None:
        with _as_it_is(file, wait) as (hand, step):
            held = holdings(hand, step)
            _unchanged(hand, str(file))
            hand.copy_to(made, wait)
    else:
        with (
            open_shop(source, read_only=True, wait=wait) as records,
            records.reading() as there,
            open_shop(made, create=True) as copy,
            copy.writing() as into,
        ):
            held = holdings(there)
            _copy_rows(there, into)
    with _as_it_is(made, wait) as (hand, _):
        _compare(held, holdings(hand, step), hands.shown(source))
    return held


def _make_whole(made: Path, source: str, *, seal: bool) -> tuple[int, int]:
    """Bring a copy up to date, prove it and put all of it into its file; return moves and lots."""
    with open_shop(made) as copy:
        proof = prove(copy)
        if not proof.holds:
            raise ShopError(
                f"{source} does not prove, so it was not copied: {'; '.join(proof.faults[:5])}; "
                "nothing was changed"
            )
        with copy.writing() as hand:
            hand.run(f'DROP TABLE IF EXISTS "{_SEAL}"')
            if seal:
                _seal(hand)
        with told(source):
            hand.rows("PRAGMA journal_mode = DELETE")
    return proof.moves, proof.lots


def _seal(hand: Hand) -> None:
    """Write into a backup what it holds."""
    names = ["step", "table", "rows", "digest"]
    hand.run(f'CREATE TABLE "{_SEAL}" (step INTEGER, "table" TEXT, rows INTEGER, digest TEXT)')
    hand.run_many(
        insert(_SEAL, names),
        [dict(zip(names, (TODAY, h.table, h.rows, h.digest), strict=True)) for h in holdings(hand)],
    )


def _copy_in(made: Path, target: str, wait: float) -> None:
    """Copy a file's shop into an empty database of a server, in one transaction."""
    with (
        open_shop(target, create=True, wait=wait) as copy,
        open_shop(made, read_only=True) as original,
        original.reading() as hand,
    ):
        with copy.writing() as into:
            if any(h.rows for h in holdings(into)):
                raise ShopError(
                    f"{copy.place} holds a shop already; make an empty database and name that"
                )
            _copy_rows(hand, into)
            _compare(holdings(hand), holdings(into), copy.place)
        proof = prove(copy)
        if not proof.holds:
            raise ShopError(f"{copy.place} does not prove: {'; '.join(proof.faults[:5])}")


def _copy_rows(hand: Hand, into: Hand) -> None:
    """Copy every row of every table, numbers included."""
    for name, kept in _tables(TODAY).items():
        rows = _rows(hand, name, kept)
        while chunk := list(islice(rows, _AT_ONCE)):
            add_rows(into, name, kept.columns, chunk)
        if kept.numbers and into.dialect == "postgresql":
            into.run(
                f"SELECT setval(pg_get_serial_sequence('\"{name}\"', '{kept.numbers}'), "
                f'COALESCE(MAX("{kept.numbers}"), 1), COUNT(*) > 0) FROM "{name}"'
            )


def _compare(one: tuple[Held, ...], other: tuple[Held, ...], place: str) -> None:
    """Refuse a copy that differs."""
    unlike = [a.table for a, b in zip(one, other, strict=True) if a != b]
    if unlike:
        raise ShopError(
            f"the copy of {place} differs in {', '.join(unlike)}; nothing was changed: try again, "
            "on another disk if it stays so"
        )


def _unchanged(hand: Hand, place: str) -> None:
    """Refuse a backup that is not as it was when it was made."""
    if not hand.rows("SELECT 1 FROM sqlite_schema WHERE name = :name", {"name": _SEAL}):
        return
    rows = hand.rows(f'SELECT step, "table", rows, digest FROM "{_SEAL}"')
    sealed = {Held(*row[1:]) for row in rows}
    now = set(holdings(hand, max((int(row[0]) for row in rows), default=0)))
    unlike = sorted({h.table for h in now ^ sealed})
    if unlike:
        raise ShopError(
            f"{place} is not as it was when the backup was made: {', '.join(unlike)} differ; take "
            "another backup, or look at this one as a shop of its own: kitting check --shop FILE"
        )


def _keep_log(file: Path, wait: float) -> None:
    """Let readers of a shop never wait for its writer."""
    with open_shop(file, wait=wait) as shop, told(str(file)):
        with shop.reading() as hand:
            pass
        hands.keep_log(hand, wait)


def _put(made: Path, target: Path, wait: float) -> str:
    """Put a finished file in its place; return where the shop is kept that was there before."""
    with made.open("rb+") as file:
        os.fsync(file.fileno())
    if not target.exists():
        os.rename(made, target)
        return ""
    stamp = datetime.now(UTC).strftime("%Y-%m-%d %H%M%S.%f")
    aside = target.with_name(f"{target.stem} before {stamp}{target.suffix}")
    try:
        with _as_it_is(target, wait) as (there, _):
            there.copy_to(aside, wait)
        with _as_it_is(made, wait) as (hand, _):
            hand.copy_to(target, wait)
    except (ShopBusy, ShopReadOnly):
        aside.unlink(missing_ok=True)
        raise
    except ShopError:  # damaged, or no shop of ours: nobody works in it
        aside = target.with_name(f"{target.stem} damaged {stamp}{target.suffix}")
        for end in ("-wal", "-shm", ""):
            old = target.with_name(target.name + end)
            if old.exists():
                os.rename(old, aside.with_name(aside.name + end))
        os.rename(made, target)
    return str(aside)

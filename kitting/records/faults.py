"""What a database's complaints mean for a person, and what to do about each."""

from __future__ import annotations

import sqlite3
from contextlib import contextmanager
from typing import TYPE_CHECKING

from kitting.errors import (
    InputError,
    KittingError,
    ShopBusy,
    ShopError,
    ShopMissing,
    ShopReadOnly,
    TableError,
)

if TYPE_CHECKING:
    from collections.abc import Iterator

# SQLite's primary result codes, https://www.sqlite.org/rescode.html
_BUSY = {sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED}
_BROKEN = {sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_FORMAT}

# PostgreSQL's SQLSTATE classes, https://www.postgresql.org/docs/current/errcodes-appendix.html
_LOCK_NOT_AVAILABLE = {"55P03", "40001", "40P01", "57014"}
_READ_ONLY = {"25006", "42501"}
_FULL = {"53100"}
_NO_NUMBER = "22P02"  # text where a number belongs, as SQLITE_MISMATCH


@contextmanager
def told(place: str) -> Iterator[None]:
    """Turn a driver's error into one of ours, with what to do.

    Parameters
    ----------
    place
        The shop's file or address, as it is shown to a person.

    Raises
    ------
    ShopError
        Or one of its kinds, for anything the database refuses.
    TableError
        When rows break a rule of the schema: the caller should have checked them.
    """
    try:
        yield
    except sqlite3.Error as fault:
        raise _from_sqlite(fault, place) from fault
    except Exception as fault:
        inner = getattr(fault, "orig", None)
        if isinstance(fault, KittingError) or not type(fault).__module__.startswith("sqlalchemy"):
            raise
        if isinstance(inner, sqlite3.Error):
            raise _from_sqlite(inner, place) from fault
        raise _from_server(fault, inner, place) from fault


def _from_sqlite(fault: sqlite3.Error, place: str) -> KittingError:
    """Choose the error for a complaint of SQLite."""
    code = getattr(fault, "sqlite_errorcode", 0) & 0xFF
    if code in _BUSY:
        return ShopBusy(
            f"{place} is held by another program; wait until it has finished, then try again"
        )
    if code == sqlite3.SQLITE_READONLY:
        return ShopReadOnly(
            f"{place} cannot be written; give yourself the right to write the file and its "
            "folder, or work on a copy"
        )
    if code == sqlite3.SQLITE_FULL:
        return ShopError(
            f"the disk that holds {place} is full; nothing was changed: free some space and "
            "try again"
        )
    if code == sqlite3.SQLITE_NOTADB:
        return ShopError(f"{place} is not a shop but some other file; name another file")
    if code in _BROKEN:
        return ShopError(
            f"{place} is damaged ({fault}); keep the file, and put the last copy that you "
            "saved in its place"
        )
    if code == sqlite3.SQLITE_IOERR:
        return ShopError(
            f"{place} could not be read or written ({fault}); nothing was changed: see to the "
            "disk (space, connection, limits) and try again"
        )
    if code == sqlite3.SQLITE_CANTOPEN:
        return ShopMissing(f"{place} cannot be opened; see that the folder exists and is yours")
    if code in {sqlite3.SQLITE_CONSTRAINT, sqlite3.SQLITE_MISMATCH}:
        return TableError(f"{place} refuses a row: {fault}")
    if isinstance(fault, sqlite3.DataError) or code == sqlite3.SQLITE_TOOBIG:
        return InputError(f"a value is too large to keep: {fault}")
    return ShopError(f"{place}: {fault}")


def _from_server(fault: Exception, inner: object, place: str) -> KittingError:
    """Choose the error for a complaint of a database server, by its SQLSTATE."""
    state = str(getattr(inner, "sqlstate", "") or "")
    said = str(inner or fault).strip()
    if state in _LOCK_NOT_AVAILABLE:
        return ShopBusy(f"{place} is held by another program; wait, then try again")
    if state in _READ_ONLY:
        return ShopReadOnly(f"{place} cannot be written: {said}")
    if state in _FULL:
        return ShopError(f"the disk that holds {place} is full; nothing was changed: {said}")
    if state.startswith("23") or state == _NO_NUMBER:
        return TableError(f"{place} refuses a row: {said}")
    if state.startswith("22"):
        return InputError(f"a value cannot be kept: {said}")
    return ShopError(f"{place}: {said}")

"""Two ways to reach a database, for one set of statements.

Every statement of this room is plain SQL that SQLite and PostgreSQL read alike, with named values
(``:part``). On a SQLite file the statements go straight to the driver, so that a command does not
pay for loading SQLAlchemy; any other database is reached through a SQLAlchemy engine. Both hands
leave the beginning and end of transactions to ``opening.Records``.
"""

from __future__ import annotations

import sqlite3
import time
from contextlib import closing
from pathlib import Path
from typing import TYPE_CHECKING, Any, Protocol

from kitting.errors import ShopBusy, ShopError, ShopMissing

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    import sqlalchemy as sa

Value = str | int | float | None
Row = tuple[Any, ...]  # as the driver gives it; made into types of our own where it is read

_HELD = {sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED}
_CANNOT_WRITE = {sqlite3.SQLITE_READONLY, sqlite3.SQLITE_CANTOPEN}
_LEAST_FILE = 512  # bytes of the smallest page, https://www.sqlite.org/fileformat.html
_OLDEST_SQLITE = (3, 37, 0)  # STRICT tables


class Hand(Protocol):
    """What the statements need of a database."""

    dialect: str

    def rows(self, sql: str, values: Mapping[str, Value] | None = None) -> list[Row]:
        """Return every row of a query."""

    def run(self, sql: str, values: Mapping[str, Value] | None = None) -> None:
        """Run one statement."""

    def run_many(self, sql: str, values: Iterable[Mapping[str, Value]]) -> None:
        """Run one statement for each set of values."""

    def close(self) -> None:
        """Let the database go."""


class FileHand:
    """A SQLite file, through the driver of the standard library.

    Parameters
    ----------
    connection
        An open connection that begins no transaction by itself.
    """

    dialect = "sqlite"

    def __init__(self, connection: sqlite3.Connection) -> None:
        self._connection = connection

    def rows(self, sql: str, values: Mapping[str, Value] | None = None) -> list[Row]:
        """Return every row of a query."""
        return self._connection.execute(sql, values or {}).fetchall()

    def run(self, sql: str, values: Mapping[str, Value] | None = None) -> None:
        """Run one statement."""
        self._connection.execute(sql, values or {})

    def run_many(self, sql: str, values: Iterable[Mapping[str, Value]]) -> None:
        """Run one statement for each set of values."""
        self._connection.executemany(sql, values)

    def copy_to(self, file: Path, wait: float) -> None:
        """Copy the database as this connection sees it into a file, in full or not at all.

        Uses SQLite's online backup, https://www.sqlite.org/backup.html.

        Raises
        ------
        ShopBusy
            When another process holds that file for longer than we wait.
        """
        end = time.monotonic() + wait

        def patience(status: int, _left: int, _pages: int) -> None:
            if status in _HELD and time.monotonic() > end:
                raise ShopBusy(f"{file} is held by another program; wait, then try again")

        with closing(sqlite3.connect(file, timeout=0)) as target:
            self._connection.backup(target, progress=patience)

    def close(self) -> None:
        """Let the file go."""
        self._connection.close()


class EngineHand:
    """Any database that SQLAlchemy knows, through one connection of an engine.

    Parameters
    ----------
    engine
        The engine; it is disposed of with the hand.
    """

    def __init__(self, engine: sa.Engine) -> None:
        self._engine = engine
        self._connection = engine.connect().execution_options(isolation_level="AUTOCOMMIT")
        self.dialect = engine.dialect.name

    def rows(self, sql: str, values: Mapping[str, Value] | None = None) -> list[Row]:
        """Return every row of a query."""
        return [tuple(row) for row in self._execute(sql, values)]

    def run(self, sql: str, values: Mapping[str, Value] | None = None) -> None:
        """Run one statement."""
        self._execute(sql, values).close()

    def run_many(self, sql: str, values: Iterable[Mapping[str, Value]]) -> None:
        """Run one statement for each set of values."""
        import sqlalchemy as sa

        listed = [dict(v) for v in values]
        if listed:
            self._connection.execute(sa.text(sql), listed)

    def _execute(self, sql: str, values: Mapping[str, Value] | None) -> sa.CursorResult[Any]:
        import sqlalchemy as sa

        return self._connection.execute(sa.text(sql), dict(values or {}))

    def close(self) -> None:
        """Let the database go."""
        self._connection.close()
        self._engine.dispose()


def open_file(place: str, *, create: bool, read_only: bool, wait: float) -> FileHand:
    """Open a SQLite file.

    Raises
    ------
    ShopMissing
        When there is no file and ``create`` is not asked for.
    ShopError
        When the place is a folder, or the SQLite at hand is too old.
    """
    if sqlite3.sqlite_version_info < _OLDEST_SQLITE:
        raise ShopError(
            f"SQLite {sqlite3.sqlite_version} is too old; kitting needs 3.37 or newer: use a "
            "newer Python"
        )
    if place == ":memory:":
        return FileHand(_ready(sqlite3.connect(place, isolation_level=None)))
    path = Path(place).absolute()
    try:
        _look(path, place, create=create)
    except OSError as fault:
        raise ShopError(f"{place} cannot be looked at: {fault.strerror}") from fault
    mode = "ro" if read_only else "rwc" if create else "rw"
    try:
        return FileHand(_ready(_connect(path, f"mode={mode}", wait)))
    except sqlite3.OperationalError as fault:
        # On a disk that cannot be written, SQLite must be told that nobody writes, which is true
        # only when no unfinished log lies beside the file.
        log = path.with_name(path.name + "-wal")
        unfinished = log.exists() and log.stat().st_size
        if unfinished or fault.sqlite_errorcode & 0xFF not in _CANNOT_WRITE:
            raise
        return FileHand(_ready(_connect(path, "mode=ro&immutable=1", wait)))


def open_url(url: str, wait: float) -> EngineHand:
    """Open the database at a SQLAlchemy URL.

    Raises
    ------
    ShopError
        When the URL cannot be read or its driver is not installed.
    """
    import sqlalchemy as sa

    kind, marker, rest = url.partition("://")
    on_file = kind.startswith("sqlite")
    if not on_file and not kind.startswith("postgresql"):
        raise ShopError(f"{shown(url)} cannot be used: a shop is a file, or a postgresql:// URL")
    named = f"postgresql+psycopg{marker}{rest}" if kind == "postgresql" else url
    try:
        engine = sa.create_engine(named, connect_args={"timeout": wait} if on_file else {})
    except (sa.exc.ArgumentError, ImportError) as fault:
        lacks = "; pip install 'kitting[server]'" if kind.startswith("postgresql") else ""
        raise ShopError(f"{shown(url)} cannot be used: {fault}{lacks}") from fault
    if on_file:
        sa.event.listen(engine, "connect", lambda connection, _record: _ready(connection))
    hand = EngineHand(engine)
    if hand.dialect == "postgresql":
        hand.run(f"SET lock_timeout = {int(wait * 1000)}")
    return hand


def shown(place: str) -> str:
    """Return a file or URL without the password that it may hold."""
    head, marker, tail = place.partition("://")
    if not marker or "@" not in tail:
        return place
    names, _, rest = tail.rpartition("@")
    return f"{head}://{names.partition(':')[0]}@{rest}"


def _look(path: Path, place: str, *, create: bool) -> None:
    """Refuse a path where no shop can be.

    The file is not opened here: closing it would drop the locks that this process may hold.

    Raises
    ------
    OSError
        When the path cannot be looked at.
    """
    if path.is_dir():
        raise ShopError(f"{place} is a folder; name a file in it, such as {path / 'shop.db'}")
    if path.exists():
        if 0 < path.stat().st_size < _LEAST_FILE:
            raise ShopError(f"{place} is not a shop but some other file; name another file")
    elif not create:
        raise ShopMissing(
            f"there is no shop at {place}; make one by reading a folder of sheets into it: "
            f"kitting read FOLDER --shop {place}"
        )
    elif not path.parent.is_dir():
        raise ShopMissing(f"there is no folder {path.parent}; make it first")


def _connect(path: Path, query: str, wait: float) -> sqlite3.Connection:
    """Connect, and read one page so that what is wrong with the file shows now."""
    connection = sqlite3.connect(
        f"{path.as_uri()}?{query}", uri=True, timeout=wait, isolation_level=None
    )
    try:
        connection.execute("SELECT count(*) FROM sqlite_schema").fetchone()
    except sqlite3.Error:
        connection.close()
        raise
    return connection


def _ready(connection: sqlite3.Connection) -> sqlite3.Connection:
    """Set what SQLite forgets between connections."""
    connection.execute("PRAGMA foreign_keys = ON")
    connection.execute("PRAGMA synchronous = FULL")
    connection.execute("PRAGMA trusted_schema = OFF")
    return connection


def keep_log(hand: Hand, wait: float) -> None:
    """Put a new SQLite file into write-ahead mode; readers then never wait for the writer.

    SQLite does not wait by itself here when another process does the same.
    """
    end = time.monotonic() + wait
    while True:
        try:
            hand.rows("PRAGMA journal_mode = WAL")
            return
        except Exception as fault:
            code = getattr(getattr(fault, "orig", fault), "sqlite_errorcode", 0) & 0xFF
            if code != sqlite3.SQLITE_BUSY or time.monotonic() > end:
                raise
            time.sleep(0.02)

"""Opening a shop: the place, its age, and the transactions around all work."""

from __future__ import annotations

import contextlib
from contextlib import contextmanager
from typing import TYPE_CHECKING

from kitting.errors import ShopError, ShopMissing, ShopNewer, ShopReadOnly
from kitting.records import hands
from kitting.records.faults import told
from kitting.records.steps import STEPS, TODAY

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from pathlib import Path
    from types import TracebackType
    from typing import Self

    from kitting.records.hands import Hand
    from kitting.records.step_kinds import Step

_SHOP_LOCK = 0x6B697474  # one writer at a time on a server too, as on a file


class Records:
    """An open shop: one connection, and the transactions that all work runs in.

    Use it as a context manager, or call ``close``. It belongs to one thread.

    Parameters
    ----------
    place
        File or URL as shown to a person.
    hand
        The way to the database.
    read_only
        Refuse every write.
    """

    def __init__(self, place: str, hand: Hand, *, read_only: bool = False) -> None:
        self.place = place
        self.read_only = read_only
        self._hand = hand
        self._inside = ""

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        fault: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()

    def close(self) -> None:
        """Let the database go."""
        with contextlib.suppress(Exception):
            self._hand.close()

    @contextmanager
    def reading(self) -> Iterator[Hand]:
        """Read from one unchanging state of the shop.

        Raises
        ------
        ShopError
            When the database cannot be read.
        """
        if self._inside:
            yield self._hand
            return
        server = self._hand.dialect == "postgresql"
        with self._transaction(
            "reading", "BEGIN ISOLATION LEVEL REPEATABLE READ READ ONLY" if server else "BEGIN"
        ):
            yield self._hand

    @contextmanager
    def writing(self) -> Iterator[Hand]:
        """Do work that happens in full or not at all; within another such block, join it.

        Raises
        ------
        ShopReadOnly
            When the shop was opened for reading or cannot be written.
        ShopBusy
            When another process kept it for longer than we wait.
        ShopError
            When the database cannot be written for another reason, such as a full disk.
        """
        if self.read_only or self._inside == "reading":
            raise ShopReadOnly(f"{self.place} was opened for reading only")
        if self._inside:
            yield self._hand
            return
        server = self._hand.dialect == "postgresql"
        with self._transaction("writing", "BEGIN" if server else "BEGIN IMMEDIATE"):
            if server:
                self._hand.run(f"SELECT pg_advisory_xact_lock({_SHOP_LOCK})")
            yield self._hand

    @contextmanager
    def _transaction(self, name: str, begin: str) -> Iterator[None]:
        with told(self.place):
            self._inside = name
            try:
                self._hand.run(begin)
                yield
                self._hand.run("COMMIT")
            except BaseException:
                # SQLite may have gone back by itself, as on a full disk.
                with contextlib.suppress(Exception):
                    self._hand.run("ROLLBACK")
                raise
            finally:
                self._inside = ""


def open_shop(
    place: str | Path, *, create: bool = False, read_only: bool = False, wait: float = 5.0
) -> Records:
    """Open the shop at a file or SQLAlchemy URL, bringing an older one up to date.

    Parameters
    ----------
    place
        A file, ``sqlite:///FILE``, ``:memory:``, or the URL of a database server.
    create
        Make the shop when there is none, unless it is opened for reading.
    read_only
        Open for reading: nothing is written, save that an older shop is brought up to date first.
    wait
        How long to wait for another process [seconds].

    Raises
    ------
    ShopMissing
        When there is no shop there.
    ShopNewer
        When it was made by a newer version.
    ShopBusy
        When another process holds it.
    ShopReadOnly
        When it must be brought up to date but cannot be written.
    ShopError
        When the file is damaged or no shop, or the disk is full.
    """
    create = create and not read_only
    records = _reach(str(place), create=create, read_only=read_only, wait=wait)
    try:
        if age(records, create=create) < TODAY:
            if read_only:
                records.close()
                open_shop(place, wait=wait).close()
                return _reach(str(place), create=False, read_only=True, wait=wait)
            _bring_up_to_date(records, wait)
    except BaseException:
        records.close()
        raise
    return records


def take_steps(records: Records, steps: Sequence[Step]) -> None:
    """Take every step that is not yet recorded; a crash leaves whole steps only."""
    import sqlalchemy as sa

    from kitting.records import schema

    made = sa.MetaData()
    for step in steps:
        with records.writing() as hand:
            schema.first(hand)
            if hand.rows("SELECT 1 FROM schema_steps WHERE step = :s", {"s": step.number}):
                schema.learn(step, made)
            else:
                schema.take(hand, step, made)


def _reach(where: str, *, create: bool, read_only: bool, wait: float) -> Records:
    """Reach the database at a file or URL, whatever it holds."""
    name = hands.shown(where)
    for prefix in ("sqlite:///", "sqlite://"):
        if where.startswith(prefix):
            where = where.removeprefix(prefix) or ":memory:"
    with told(name):
        hand: Hand = (
            hands.open_url(where, wait)
            if "://" in where
            else hands.open_file(where, create=create, read_only=read_only, wait=wait)
        )
    return Records(name, hand, read_only=read_only)


def age(records: Records, *, create: bool) -> int:
    """Return the last step that a shop has taken, 0 for none.

    Parameters
    ----------
    create
        An empty database may become a shop.

    Raises
    ------
    ShopNewer
        When it took a step that this version does not know.
    ShopMissing
        When it is empty and may not become a shop.
    ShopError
        When it holds something else.
    """
    with records.reading() as hand:
        at, others = _age(hand)
    if at > TODAY:
        raise ShopNewer(
            f"{records.place} was made by a newer version of kitting (its step {at}; this "
            f"version knows {TODAY}); update kitting to use it"
        )
    if at == 0 and others:
        raise ShopError(f"{records.place} is a database but not a shop; name another file")
    if at == 0 and not create:
        raise ShopMissing(
            f"{records.place} is empty; read a folder of sheets into it: "
            f"kitting read FOLDER --shop {records.place}"
        )
    return at


def _bring_up_to_date(records: Records, wait: float) -> None:
    """Take the steps that a shop lacks, each in a transaction with its own record."""
    with records.reading() as hand:
        pass
    try:
        if hand.dialect == "sqlite":
            with told(records.place):
                hands.keep_log(hand, wait)
        take_steps(records, STEPS)
    except ShopReadOnly as fault:
        raise ShopReadOnly(
            f"{records.place} was made by an older version of kitting and cannot be written; open "
            "it once where it can be, to bring it up to date"
        ) from fault


def _age(hand: Hand) -> tuple[int, int]:
    """Return the last step that the database has taken and how many other tables it has."""
    names = {
        str(row[0])
        for row in hand.rows(
            "SELECT tablename FROM pg_tables WHERE schemaname = current_schema()"
            if hand.dialect == "postgresql"
            else "SELECT name FROM sqlite_schema WHERE type = 'table'"
        )
    }
    if "schema_steps" not in names:
        return 0, len(names)
    (row,) = hand.rows("SELECT max(step) FROM schema_steps")
    return int(row[0] or 0), 0

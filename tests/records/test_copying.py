"""Copies of a shop: equal to the last row, in place whole or not at all, never over another."""

from __future__ import annotations

import contextlib
import functools
import os
import random
import shutil
import signal
import sqlite3
import tempfile
import time
from contextlib import closing
from datetime import date
from pathlib import Path

import pytest

from kitting import records
from kitting.errors import ShopBusy, ShopError
from kitting.records import Arrival, Count
from kitting.records.copying import copy_shop, holdings
from kitting.tables.shop import SHEETS

DAY = date(2026, 3, 9)


def held(place):
    """Return what each table of a shop holds."""
    with records.open_shop(place, read_only=True) as shop, shop.reading() as hand:
        return holdings(hand)


@pytest.fixture
def worked(pattern, tmp_path):
    """Return a file whose shop has receipts, counts, a reversal, a forgotten part."""
    file = shutil.copy(pattern, tmp_path / "shop.db")
    with records.open_shop(file) as shop:
        got = records.receive(shop, Arrival("K0001", 2, "A1", DAY, line=1, lot="größe 油"))
        records.receive(shop, Arrival("K0001", 1, "A1", DAY, line=2, use_by=date(2027, 1, 1)))
        records.reverse(shop, got.move.move, "'; DROP TABLE moves; --", day=DAY)
        records.count(shop, Count("0012", "B2", 7, DAY))
        records.forgot(shop, records.Forgotten("E-1", "0012", DAY, hours_lost=0.1))
        records.next_order_number(shop)
    return file


def test_onto_a_server_and_back(worked, server, tmp_path):
    """Every table is equal on the server and in the file that comes back, and work goes on."""
    _, url = server()
    there = copy_shop(str(worked), url)
    back = copy_shop(url, str(tmp_path / "back.db"))
    assert there.tables == back.tables == held(worked) == held(url)
    assert sum(t.rows for t in there.tables) > 20
    with records.open_shop(worked) as one, records.open_shop(url) as other:
        for shop in (one, other):
            assert records.receive(shop, Arrival("K0001", 1, "C3", DAY, line=3)).move.move > 3
            assert records.next_order_number(shop) == "K0003"
            assert records.prove(shop).holds
        before, after = records.snapshot(one), records.snapshot(other)
        assert all(before[t.name].equals(after[t.name]) for t in SHEETS)
    with pytest.raises(ShopError, match="holds a shop already; make an empty database"):
        copy_shop(str(worked), url)
    with pytest.raises(ShopError, match="a shop there is never written over"):
        copy_shop(str(worked), url, over=True)


def test_from_server_to_server(worked, server):
    """A shop goes from one database to another."""
    (_, one), (_, other) = server(), server()
    copy_shop(str(worked), one)
    assert copy_shop(one, other).tables == held(worked)


def test_a_backup_comes_back(worked, tmp_path):
    """A backup is one file; restored, it is the shop as it was, and the shop since is kept."""
    was = held(worked)
    copy_shop(str(worked), str(tmp_path / "backup.db"), seal=True)
    assert not list(tmp_path.glob("backup.db-*"))
    with records.open_shop(worked) as shop:
        records.count(shop, Count("0012", "B2", 1, DAY))
        since = held(worked)
        done = copy_shop(str(tmp_path / "backup.db"), str(worked), over=True)
        assert records.snapshot(shop)["stock"]["quantity"].max() > 6, "an open hand sees the old"
    assert held(worked) == was
    assert held(done.aside) == since != was
    with records.open_shop(worked) as shop, shop.reading() as hand:
        assert hand.rows("PRAGMA journal_mode") == [("wal",)]
        assert not hand.rows("SELECT 1 FROM sqlite_schema WHERE name = 'copied'")


def test_never_over_a_shop_unasked(worked, tmp_path):
    """What is at the target stays, whatever it is; a shop is not copied onto itself."""
    other = tmp_path / "other.db"
    other.write_text("a letter")
    with pytest.raises(ShopError, match="is there already"):
        copy_shop(str(worked), str(other))
    assert other.read_text() == "a letter"
    for same in (str(worked), f"sqlite:///{worked}", str(tmp_path / "x" / ".." / "shop.db")):
        with pytest.raises(ShopError, match="is the shop itself"):
            copy_shop(str(worked), same, over=True)
    with pytest.raises(ShopError, match="in memory"):
        copy_shop(":memory:", str(tmp_path / "new.db"))
    with pytest.raises(ShopError, match="there is no shop"):
        copy_shop(str(tmp_path / "none.db"), str(tmp_path / "new.db"))
    with pytest.raises(ShopError, match="cannot be written"):
        copy_shop(str(worked), str(tmp_path / "nowhere" / "new.db"))
    assert sorted(p.name for p in tmp_path.iterdir()) == ["other.db", "shop.db"]


def test_over_a_damaged_shop(worked, tmp_path):
    """What cannot be opened is moved aside, its log with it."""
    copy_shop(str(worked), str(tmp_path / "backup.db"), seal=True)
    was = held(worked)
    Path(worked).write_bytes(b"rubbish" * 5000)
    Path(f"{worked}-wal").write_bytes(b"more" * 2000)
    done = copy_shop(str(tmp_path / "backup.db"), str(worked), over=True)
    assert held(worked) == was
    assert Path(done.aside).read_bytes() == b"rubbish" * 5000
    assert Path(f"{done.aside}-wal").read_bytes() == b"more" * 2000


def test_a_shop_in_use_is_not_replaced(worked, tmp_path):
    """Restoring over a shop in which someone writes waits, then says so; nothing is changed."""
    copy_shop(str(worked), str(tmp_path / "backup.db"), seal=True)
    with closing(sqlite3.connect(worked, isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")
        with pytest.raises(ShopBusy, match="held by another program"):
            copy_shop(str(tmp_path / "backup.db"), str(worked), over=True, wait=0.1)
    assert sorted(p.suffix for p in tmp_path.iterdir() if "before" in p.name) == []


@pytest.mark.parametrize(
    "tampering",
    [
        "UPDATE parts SET name = 'other' WHERE position = 1",
        "DELETE FROM receipts",
        "INSERT INTO closures (calendar, day, note) VALUES ('shop', '2026-01-01', '')",
        "UPDATE copied SET digest = '' WHERE \"table\" = 'parts'",
        "DELETE FROM copied WHERE \"table\" = 'parts'",
    ],
)
def test_a_backup_that_was_changed_is_refused(worked, tmp_path, tampering):
    """One changed value is told; the shop that is there stays."""
    backup = tmp_path / "backup.db"
    copy_shop(str(worked), str(backup), seal=True)
    with closing(sqlite3.connect(backup)) as file, file:
        file.execute(tampering)
    with pytest.raises(ShopError, match="not as it was when the backup was made"):
        copy_shop(str(backup), str(tmp_path / "new.db"))
    assert not (tmp_path / "new.db").exists()


def test_a_damaged_backup_is_refused(worked, tmp_path):
    """Rubbish on any page of a backup is told before anything is put in place."""
    backup, bad, new = (tmp_path / n for n in ("backup.db", "bad.db", "new.db"))
    copy_shop(str(worked), str(backup), seal=True)
    whole = backup.read_bytes()
    for page in range(0, len(whole) // 4096, 4):
        bad.write_bytes(whole[: page * 4096] + b"\xa5" * 4096 + whole[(page + 1) * 4096 :])
        with pytest.raises(ShopError):
            copy_shop(str(bad), str(new))
        assert not new.exists()


def test_a_shop_that_does_not_prove_is_not_copied(worked, tmp_path):
    """Faults are told, not passed on."""
    with closing(sqlite3.connect(worked)) as file, file:
        file.execute("UPDATE receipts SET quantity = 9")
    with pytest.raises(ShopError, match="does not prove, so it was not copied: receipt R0001"):
        copy_shop(str(worked), str(tmp_path / "new.db"))


def killed(work, moment):
    """Run work in a process of its own and kill it after a moment."""
    child = os.fork()
    if not child:
        with contextlib.suppress(BaseException):
            work()
        os._exit(0)
    time.sleep(moment)
    os.kill(child, signal.SIGKILL)
    os.waitpid(child, 0)


def test_killed_while_copying_to_a_file(worked, tmp_path):
    """SIGKILL at any moment: a new file is absent or whole, a replaced one old or new."""
    chance = random.Random(5)
    was, backup, new = held(worked), tmp_path / "backup.db", tmp_path / "new.db"
    copy_shop(str(worked), str(backup), seal=True)
    with records.open_shop(worked) as shop:
        records.count(shop, Count("0012", "B2", 1, DAY))
    since, seen = held(worked), set()
    shutil.copy(worked, new)
    began = time.monotonic()
    copy_shop(str(backup), str(new), over=True)
    takes = time.monotonic() - began
    for _run in range(10):
        new.unlink(missing_ok=True)
        killed(lambda: copy_shop(str(backup), str(new)), chance.uniform(0, takes))
        assert not new.exists() or held(new) == was
        shutil.copy(worked, new)
        killed(lambda: copy_shop(str(backup), str(new), over=True), chance.uniform(0, 2 * takes))
        assert held(new) in (was, since)
        seen.add(held(new) == was)
    assert seen == {True, False}, "every run was cut off at the same moment"


def test_killed_while_copying_onto_a_server(worked, server, tmp_path, monkeypatch):
    """SIGKILL at any moment: the database holds the whole shop or an empty one to try again."""
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path))  # what a killed process leaves there
    chance = random.Random(6)
    since = held(worked)
    _, url = server()
    for _run in range(4):
        killed(functools.partial(copy_shop, str(worked), url), chance.uniform(0.2, 0.6))
        with records.open_shop(url, create=True) as shop:
            assert records.prove(shop).holds
        if sum(t.rows for t in held(url)):
            assert held(url) == since
            _, url = server()
    copy_shop(str(worked), url)
    assert held(url) == since

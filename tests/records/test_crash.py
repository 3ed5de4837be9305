"""Work that is cut off happened in full or not at all; work that was reported is there."""

from __future__ import annotations

import contextlib
import os
import random
import resource
import shutil
import signal
import time
from datetime import date

import pytest
from records.children import in_child, kill_after, read_all

from kitting import records
from kitting.errors import ShopError
from kitting.records import Amendment, Arrival, Claim
from kitting.records.copying import copy_shop
from kitting.tables.shop import SHEETS

DAY = date(2026, 3, 9)
SEAL = ("0012", "", "A1", "")


@pytest.fixture
def versions(sheets, make):
    """Return two states of the sheets that differ in every one of several tables."""
    many = [{"part": f"P{n}", "name": "other", "unit": "piece"} for n in range(400)]
    stock = [{"part": f"P{n}", "place": "A1", "quantity": 5, "unit": "piece"} for n in range(200)]
    other = {
        "parts": make("parts", {"part": "0012"}, {"part": "1E5"}, {"part": "OIL"}, *many),
        "stages": make("stages", {"assembly": "engine", "stage": "top"}),
        "lines": make("lines", {"line": 1, "part": "P1", "quantity": 7}),
        "builds": make("builds", {"build": "E-3"}),
        "stock": make("stock", *stock),
    }
    return [{name: sheets[name] for name in other}, other]


def state_of(opened, versions):
    """Return which of the versions the shop holds, all tables agreeing, and its seals."""
    held = records.snapshot(opened).check()
    fits = [
        all(held[n].equals(frames[n]) for n in ("parts", "stages", "lines", "builds"))
        for frames in versions
    ]
    assert fits.count(True) == 1, "half of a reading is there"
    parts = held["stock"]["part"]
    assert parts.str.startswith("P").sum() == 200 * fits.index(True)
    assert (parts == "OIL").sum() == 1 - fits.index(True)
    return fits.index(True), len(held["receipts"])


def test_killed_while_reading_sheets(pattern, tmp_path, versions):
    """SIGKILL at any moment of ``apply``: one state or the other, never a mixture."""
    chance = random.Random(1)
    ends = set()
    for run in range(15):
        file = tmp_path / f"shop{run}.db"
        shutil.copy(pattern, file)

        def work(tell, file=file):
            with records.open_shop(file) as opened:
                tell("ready")
                for n in range(1, 1000):
                    records.apply(opened, versions[n % 2], DAY)
                    tell(n)

        reports = 1 + run % 3
        done = len(kill_after(*in_child(work), reports, chance.uniform(0, 0.03))) - 1
        with records.open_shop(file) as opened:
            assert records.prove(opened).faults == ()
            state, _ = state_of(opened, versions)
            assert state in {done % 2, (done + 1) % 2}
            ends.add((done, state == done % 2))
            records.apply(opened, versions[1], DAY)
            assert state_of(opened, versions)[0] == 1
    assert len(ends) > 2, "every run was cut off at the same moment"


def test_killed_while_receiving(pattern, tmp_path):
    """SIGKILL at any moment of ``receive``: every receipt that was reported is there, whole."""
    chance = random.Random(2)
    for run in range(15):
        file = tmp_path / f"shop{run}.db"
        shutil.copy(pattern, file)

        def work(tell, file=file):
            with records.open_shop(file) as opened:
                tell("ready")
                while True:
                    tell(records.receive(opened, Arrival("K0001", 1, "A1", DAY, line=1)).receipt)

        _, *reported = kill_after(*in_child(work), 1 + run, chance.uniform(0, 0.01))
        assert len(reported) >= run
        with records.open_shop(file) as opened:
            assert records.prove(opened).faults == ()
            held = records.snapshot(opened)
            receipts = held["receipts"]["receipt"].tolist()
            assert receipts[: len(reported)] == reported
            assert len(receipts) - len(reported) in {0, 1}
            stock = held["stock"].set_index("part")["quantity"]
            assert stock["0012"] == 3 + len(receipts)


def test_killed_while_a_shop_is_made(tmp_path):
    """SIGKILL at any moment of making a shop: it can be made again and is then whole."""
    chance = random.Random(3)
    for run in range(15):
        file = tmp_path / f"shop{run}.db"
        child, pipe = in_child(lambda tell, file=file: records.open_shop(file, create=True))
        time.sleep(chance.uniform(0, 0.1))
        with contextlib.suppress(ProcessLookupError):
            os.kill(child, signal.SIGKILL)
        os.waitpid(child, 0)
        os.close(pipe)
        with records.open_shop(file, create=True) as opened:
            assert records.prove(opened).holds
            assert records.snapshot(opened).check()["parts"].empty


class CutOff(KeyboardInterrupt):
    """Ctrl-C at a chosen statement."""


def cut_off_at(opened, number):
    """Make the hand of an open shop fail at its n-th statement; return the hand itself."""
    hand, left = opened._hand, [number]

    class Cut:
        dialect = hand.dialect
        close = hand.close

        def __getattr__(self, name):
            def call(*args):
                left[0] -= 1
                if left[0] == 0:
                    raise CutOff
                return getattr(hand, name)(*args)

            return call

    opened._hand = Cut()
    return hand


@pytest.mark.parametrize("work", ["apply", "receive", "count", "reverse", "add_orders"])
def test_interrupted_at_every_statement(shop, versions, sheets, work):
    """Ctrl-C before any statement, the last one included: nothing of the work is there."""
    move = records.receive(shop, Arrival("K0001", 1, "A1", DAY, line=1)).move.move
    jobs = {
        "apply": lambda: records.apply(shop, versions[1], DAY),
        "receive": lambda: records.receive(shop, Arrival("K0001", 1, "A1", DAY, line=1)),
        "count": lambda: records.count(
            shop, records.Count("0012", "A1", 9, DAY, use_by=date(2027, 1, 1))
        ),
        "reverse": lambda: records.reverse(shop, move, "why", day=DAY),
        "add_orders": lambda: records.add_orders(shop, sheets["orders"].assign(order="K0002")),
    }
    before = records.snapshot(shop)
    # A reading writes a move for each of many lots; the first and a sample of the rest will do.
    for number in [*range(1, 40), *range(40, 1000, 37)]:
        hand = cut_off_at(shop, number)
        try:
            jobs[work]()
        except CutOff:
            shop._hand = hand
        else:
            shop._hand = hand
            break
        after = records.snapshot(shop)
        assert all(before[t.name].equals(after[t.name]) for t in SHEETS), number
        assert records.prove(shop).holds
    assert number > 4
    assert not all(before[t.name].equals(records.snapshot(shop)[t.name]) for t in SHEETS)


def test_a_full_disk(place, pattern, tmp_path, versions):
    """The reading that does not fit leaves all as it was; with room again it works."""
    shutil.copy(pattern, tmp_path / "shop.db")
    with records.open_shop(place) as opened:
        before = records.snapshot(opened)
        with opened.reading() as hand:
            pages = hand.rows("PRAGMA page_count")[0][0]
            hand.rows(f"PRAGMA max_page_count = {pages + 2}")
        for _again in range(2):
            with pytest.raises(ShopError, match="is full; nothing was changed: free some space"):
                records.apply(opened, versions[1], DAY)
            after = records.snapshot(opened)
            assert all(before[t.name].equals(after[t.name]) for t in SHEETS)
        with opened.reading() as hand:
            hand.rows("PRAGMA max_page_count = 100000")
        records.apply(opened, versions[1], DAY)
        assert state_of(opened, versions)[0] == 1
        assert records.prove(opened).holds


def test_a_disk_that_refuses_bytes(pattern, tmp_path, versions):
    """A write that the system cuts short is told, and the shop is as it was."""
    file = tmp_path / "shop.db"
    shutil.copy(pattern, file)

    def work(tell):
        signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
        with records.open_shop(file) as opened:
            resource.setrlimit(resource.RLIMIT_FSIZE, (20_000, 20_000))
            try:
                records.apply(opened, versions[1], DAY)
            except ShopError as fault:
                tell("refused" if "see to the disk" in str(fault) else "unclear")

    child, pipe = in_child(work)
    os.waitpid(child, 0)
    assert read_all(pipe) == ["refused"]
    with records.open_shop(file) as opened:
        assert records.prove(opened).holds
        assert state_of(opened, versions)[0] == 0


@pytest.mark.parametrize("work", ["receive", "claim", "amend", "add_orders", "read"])
def test_each_kind_of_work_on_a_full_disk(pattern, tmp_path, sheets, work):
    """What does not fit is refused as a whole; before it and after it, everything holds."""
    shutil.copy(pattern, tmp_path / "shop.db")
    jobs = {
        "receive": lambda n: records.receive(opened, Arrival("K0001", 1, "A1", DAY, line=1)),
        "claim": lambda n: records.claim(opened, Claim("K0001", 1, "damaged", 1, DAY)),
        "amend": lambda n: records.amend(opened, Amendment("K0001", DAY, 1, price=n)),
        "add_orders": lambda n: records.add_orders(opened, sheets["orders"].assign(order=f"K{n}")),
        "read": lambda n: records.apply(
            opened, {"orders": sheets["orders"].assign(order=f"K{n}", note="x" * 500)}, DAY
        ),
    }
    with records.open_shop(tmp_path / "shop.db") as opened:
        with opened.reading() as hand:
            pages = hand.rows("PRAGMA page_count")[0][0]
            hand.rows(f"PRAGMA max_page_count = {pages + 1}")
        said = ""
        for n in range(100, 1000):
            before = records.snapshot(opened)
            try:
                jobs[work](n)
            except ShopError as fault:
                said = str(fault)
                break
        assert "is full; nothing was changed" in said
        after = records.snapshot(opened)
        assert after.tables.keys() == before.tables.keys()
        assert all(before[name].equals(after[name]) for name in after.tables)
        assert records.prove(opened).holds
        with opened.reading() as hand:
            hand.rows("PRAGMA max_page_count = 100000")
        jobs[work](1000)
        assert records.prove(opened).holds


def test_a_copy_that_does_not_fit(pattern, tmp_path):
    """A backup that the disk refuses is not there at all, and the shop is as it was."""
    file, backup = shutil.copy(pattern, tmp_path / "shop.db"), tmp_path / "backup.db"

    def work(tell):
        signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
        resource.setrlimit(resource.RLIMIT_FSIZE, (100_000, 100_000))
        try:
            copy_shop(str(file), str(backup), seal=True)
        except ShopError:
            tell("refused")

    child, pipe = in_child(work)
    os.waitpid(child, 0)
    assert read_all(pipe) == ["refused"]
    assert not backup.exists()
    with records.open_shop(file) as opened:
        assert records.prove(opened).holds
    copy_shop(str(file), str(backup), seal=True)

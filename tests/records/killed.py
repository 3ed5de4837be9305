"""Kill processes at random moments of every kind of work, and look at what is left.

``PYTHONPATH=tests python tests/records/killed.py 500`` kills so many, shared among the kinds of
work, and prints a line for each; with KITTING_TEST_SERVER set, some of them on that server. After
each kill the shop must open and prove, what was reported must be there in full, and what was not,
in full or not at all. The last argument is a seed.
"""

from __future__ import annotations

import contextlib
import os
import random
import shutil
import sqlite3
import sys
import tempfile
import time
import uuid
import zipfile
from collections import Counter
from contextlib import closing
from datetime import date
from pathlib import Path

from records.children import in_child, kill_after
from records.conftest import frame, small_shop
from records.store_shop import stored

from kitting import records
from kitting.commands import run
from kitting.records import Amendment, Arrival, Claim
from kitting.records.picking import Pick, pick
from kitting.records.places import Kit
from kitting.records.steps import STEPS, TODAY

DAY, LATER = date(2026, 3, 9), date(2026, 5, 1)
SEAL = "0012"
ON = ["--on", "2026-03-09"]


class Work:
    """A kind of work: a shop to do it in, doing it for ever, looking at what is left."""

    weight = 1

    def __init__(self, folder):
        self.folder = folder

    def fresh(self):
        """Return the place of a new shop."""
        file = self.folder / f"{uuid.uuid4().hex}.db"
        with records.open_shop(file, create=True) as shop:
            records.apply(shop, self.sheets(), DAY)
        return str(file)

    def sheets(self):
        """Return the sheets of the shop."""
        stock = frame("stock", {"part": SEAL, "place": "A1", "quantity": 9000, "unit": "piece"})
        return {**small_shop(), "stock": stock}

    def look(self, place, reported):
        """Check what is left of a shop whose work reported so many pieces done."""
        with records.open_shop(place) as shop:
            assert records.prove(shop).faults == ()
            done = self.done(records.snapshot(shop).check())
        assert done - reported in (0, 1), (done, reported)
        return done != reported


class Receive(Work):
    """Goods come, a piece at a time."""

    weight = 5

    def do(self, shop, number):
        records.receive(shop, Arrival("K0001", 1, "A1", DAY, line=1))

    def done(self, held):
        came = len(held["receipts"])
        assert held["stock"].set_index("part")["quantity"][SEAL] == 9000 + came
        return came


class PickParts(Work):
    """Parts go from a bin into a kit, a piece at a time."""

    weight = 5

    def do(self, shop, number):
        pick(shop, Pick(Kit("E-1", "engine", "bottom"), SEAL, 1, DAY))

    def done(self, held):
        picked = int(held["kitted"]["quantity"].sum())
        assert held["stock"]["quantity"].sum() == 9000 - picked
        return picked


class Deal(Work):
    """A part comes, another comes damaged, the rest is promised anew: three facts in one."""

    weight = 4

    def do(self, shop, number):
        day = date(2026, 5, 1 + number % 28)
        with shop.writing():
            records.receive(shop, Arrival("K0001", 1, "A1", DAY, line=1))
            records.claim(shop, Claim("K0001", 1, "damaged", 1, DAY))
            records.amend(shop, Amendment("K0001", DAY, 1, promised=day))

    def done(self, held):
        came, facts = len(held["receipts"]), held["order_facts"]
        assert len(held["claims"]) == (facts["what"] == "promised").sum() == came
        return came


class Read(Work):
    """A folder of sheets is read, one version after the other."""

    weight = 5

    def version(self, number):
        """Return the sheets of a version: as many parts, lines and lots as it has."""
        count = 100 + number % 2
        names = [f"P{n}" for n in range(count)]
        return {
            "parts": frame("parts", *({"part": p, "name": str(number % 2)} for p in names)),
            "lines": frame("lines", *({"line": i, "part": p} for i, p in enumerate(names, 1))),
            "stock": frame("stock", *({"part": p, "place": "A", "quantity": count} for p in names)),
        }

    def sheets(self):
        return {**small_shop(), **self.version(0)}

    def do(self, shop, number):
        records.apply(shop, self.version(number), DAY)

    def look(self, place, reported):
        with records.open_shop(place) as shop:
            assert records.prove(shop).faults == ()
            held = records.snapshot(shop).check()
            versions = len(records.versions(shop))
        counts = {len(held[n]) for n in ("parts", "lines", "stock")}
        assert len(counts) == 1, "half of a reading is there"
        (count,) = counts
        assert set(held["stock"]["quantity"]) == {count}
        assert set(held["parts"]["name"]) == {str(count % 2)}
        done = versions - 1
        assert done - reported in (0, 1)
        assert count == 100 + done % 2
        return done != reported


class Migrate(Work):
    """A shop of an earlier schema is opened."""

    weight = 4

    def fresh(self):
        self.step = random.randrange(1, TODAY)
        file = self.folder / f"{uuid.uuid4().hex}.db"
        with closing(sqlite3.connect(file)) as made:
            made.executescript(stored(self.step).read_text(encoding="utf-8"))
        return str(file)

    def once(self, place, tell):
        records.open_shop(place).close()
        tell("done")

    def look(self, place, reported):
        with closing(sqlite3.connect(place)) as file:
            taken = [row[0] for row in file.execute("SELECT step FROM schema_steps ORDER BY step")]
        assert taken == [s.number for s in STEPS[: len(taken)]]
        assert len(taken) >= self.step
        assert not reported or len(taken) == TODAY
        with records.open_shop(place) as shop:
            assert records.prove(shop).faults == ()
            records.snapshot(shop).check()
        return len(taken) < TODAY


class Order(Work):
    """Orders are chosen, written as workbooks and recorded, through the command line."""

    def __init__(self, folder):
        super().__init__(folder)
        self.pattern = folder / "pattern.db"
        sheets = Path(__file__).resolve().parents[2] / "demo" / "sheets"
        assert run(["read", str(sheets), "--shop", str(self.pattern), *ON]) == 0
        with records.open_shop(self.pattern) as shop:
            self.before = set(records.snapshot(shop)["orders"]["order"])

    def fresh(self):
        place = shutil.copy(self.pattern, self.folder / f"{uuid.uuid4().hex}.db")
        return str(place)

    def once(self, place, tell):
        where = ["--shop", place, "--into", f"{place}.orders", *ON]
        if run(["order", "B26-02", *where]) in (0, 1):
            tell("done")

    def look(self, place, reported):
        folder = Path(f"{place}.orders")
        files = {p.name for p in folder.glob("*.xlsx")}
        for name in files:
            with zipfile.ZipFile(folder / name) as whole:
                assert whole.testzip() is None
        with records.open_shop(place) as shop:
            assert records.prove(shop).faults == ()
            orders = records.snapshot(shop)["orders"]
        new = orders[~orders["order"].isin(self.before)].groupby(["order", "supplier"])["line"]
        for (order, supplier), lines in new:
            assert f"{order} {supplier}.xlsx" in files
            assert sorted(lines) == list(range(1, len(lines) + 1))
        assert not reported or len(new)
        if not len(new):
            self.again(place, folder)
        return not len(new)

    def again(self, place, folder):
        """Order once more into the same folder: what was left is gone, and it works."""
        assert run(["order", "B26-02", "--shop", place, "--into", str(folder), *ON]) in (0, 1)
        with records.open_shop(place) as shop:
            known = set(records.snapshot(shop)["orders"]["order"])
        names = {p.name.split(" ")[0] for p in folder.iterdir() if not p.name.startswith(".")}
        assert names <= known | {"summary", "questions"}, names
        assert not list(folder.glob(".unfinished*"))


class OnServer:
    """The same work on a database server."""

    weight = 2

    def empty(self):
        """Return the URL of a new database."""
        import sqlalchemy as sa

        at = sa.make_url(os.environ["KITTING_TEST_SERVER"]).set(drivername="postgresql+psycopg")
        name = f"killed_{uuid.uuid4().hex}"
        engine = sa.create_engine(at, isolation_level="AUTOCOMMIT")
        with engine.connect() as way:
            way.execute(sa.text(f'CREATE DATABASE "{name}"'))
        engine.dispose()
        return at.set(drivername="postgresql", database=name).render_as_string(hide_password=False)

    def fresh(self):
        """Return the URL of a new database with the shop."""
        url = self.empty()
        with records.open_shop(url, create=True) as shop:
            records.apply(shop, self.sheets(), DAY)
        return url


class ReceiveOnServer(OnServer, Receive):
    """Goods come, on a server."""


class DealOnServer(OnServer, Deal):
    """Three facts in one, on a server."""


FILES = (Receive, PickParts, Deal, Read, Migrate, Order)
SERVER = (ReceiveOnServer, DealOnServer)


def forever(work, place, tell):
    """Do a kind of work until the end, and report each piece."""
    if hasattr(work, "once"):
        tell("ready")
        work.once(place, tell)
        return
    with records.open_shop(place) as shop:
        tell("ready")
        for number in range(1, 100_000):
            work.do(shop, number)
            tell(number)


def kill(work, takes, chance):
    """Kill one process at a random moment of its work; tell whether a piece was cut off."""
    place = work.fresh()
    pieces = 1 if hasattr(work, "once") else chance.randrange(1, 5)
    child, pipe = in_child(lambda tell: forever(work, place, tell))
    said = kill_after(child, pipe, pieces, chance.uniform(0, takes))
    return work.look(place, len(said) - 1)


def seconds(work):
    """Return how long a piece of the work takes [seconds]."""
    place = work.fresh()
    if hasattr(work, "once"):
        began = time.monotonic()
        child, pipe = in_child(lambda tell: work.once(place, tell))
        kill_after(child, pipe, 1, 0)
        return 1.3 * (time.monotonic() - began)
    with records.open_shop(place) as shop:
        work.do(shop, 1)
        began = time.monotonic()
        work.do(shop, 2)
        return 1.5 * (time.monotonic() - began)


def kill_many(kinds, times, seed=1):
    """Kill so many processes, shared among the kinds of work; return the counts by kind."""
    chance = random.Random(seed)
    told = {}
    weights = sum(kind.weight for kind in kinds)
    with tempfile.TemporaryDirectory() as folder, open(os.devnull, "w") as nowhere:
        for kind in kinds:
            with contextlib.redirect_stdout(nowhere), contextlib.redirect_stderr(nowhere):
                work = kind(Path(folder))
                takes = seconds(work)
                share = -(-times * kind.weight // weights)
                told[kind.__name__] = Counter(kill(work, takes, chance) for _ in range(share))
    return told


if __name__ == "__main__":
    asked = int(sys.argv[1]) if len(sys.argv) > 1 else 500
    kinds = FILES + (SERVER if os.environ.get("KITTING_TEST_SERVER") else ())
    counts = kill_many(kinds, asked, int(sys.argv[2]) if len(sys.argv) > 2 else 1)
    for name, found in counts.items():
        print(
            f"{name:16} {found.total():4} killed, {found[True]:4} with a piece unreported or undone"
        )
    print(f"{sum(c.total() for c in counts.values())} killed; every shop opened and proved")

"""How fast stock moves on a file: receipts and picks, on hand from many moves, fresh processes.

Run as a script: ``python tests/speed/bench_ledger.py``. Each receipt and each pick is a transaction
of its own, kept by SQLite with full sync; the floor is the same number of transactions of one plain
row each in the same run, by the standard library's driver with the same settings. Work within one
transaction is timed beside it, so that the disk's share is seen. A fresh process is compared with
``python -c pass``.
"""

from __future__ import annotations

import shutil
import sqlite3
import subprocess
import sys
import tempfile
from contextlib import closing
from datetime import date
from pathlib import Path
from time import perf_counter

import pandas as pd

from kitting import records
from kitting.records import Arrival, on_hand
from kitting.records.picking import Pick, pick
from kitting.records.places import ON_SHELF, Kit
from kitting.tables.shop import ORDERS

DAY = date(2026, 3, 9)
KIT = Kit("E-1", "engine", "bottom")
PLENTY = 10**9


def made(folder: Path, parts: int = 200) -> Path:
    """Return a shop with so many parts, an order line and a full bin of each, and one build."""
    file = folder / "shop.db"
    with records.open_shop(file, create=True) as shop, shop.writing() as hand:
        hand.run_many(
            "INSERT INTO parts (part, name, family, unit, maker, single_use, hazard, "
            "customer_supplied, note) VALUES (:p, '', '', 'piece', '', '', '', 0, '')",
            [{"p": f"P{n}"} for n in range(parts)],
        )
        hand.run(
            "INSERT INTO builds (build, assembly, options, priority, customer, use, note) "
            "VALUES ('E-1', 'engine', '', 5, '', '', '')"
        )
        hand.run(
            "INSERT INTO stages (assembly, stage, name, after, place, deferred, work_days) "
            "VALUES ('engine', 'bottom', '', '', '', 0, 1)"
        )
        records.add_orders(shop, _orders(parts))
        for n in range(parts):
            records.receive(shop, Arrival(f"K{n // 10}", PLENTY, "A1", DAY, line=n))
    return file


def _orders(parts: int) -> pd.DataFrame:
    """Return orders of ten lines each, a line for each part."""
    blank = {"text": "", "whole": 0}
    rows = [
        {c.name: blank.get(c.kind) for c in ORDERS.columns}
        | {"order": f"K{n // 10}", "line": n, "part": f"P{n}", "quantity": 10, "unit": "piece"}
        | {"ordered": DAY}
        for n in range(parts)
    ]
    return ORDERS.conform(pd.DataFrame(rows))


def a_second(file: Path, times: int = 1000, *, one: bool = False) -> dict[str, float]:
    """Return receipts, picks and plain commits a second.

    Parameters
    ----------
    one
        Do each kind within one transaction.
    """
    found = {}
    with records.open_shop(file) as shop:

        def receive(n: int) -> None:
            records.receive(shop, Arrival(f"K{n % 200 // 10}", 1, "A1", DAY, line=n % 200))

        def take(n: int) -> None:
            pick(shop, Pick(KIT, f"P{n % 200}", 1, DAY, by="jo"))

        for name, do in (("receipts", receive), ("picks", take)):
            begin = perf_counter()
            if one:
                with shop.writing():
                    for n in range(times):
                        do(n)
            else:
                for n in range(times):
                    do(n)
            found[name] = times / (perf_counter() - begin)
    return found | {"plain rows": _plain(file.with_name("plain.db"), times, one=one)}


def _plain(file: Path, times: int, *, one: bool) -> float:
    """Return transactions of one plain row a second, on the same disk with the same settings."""
    with closing(sqlite3.connect(file, isolation_level=None)) as floor:
        floor.execute("PRAGMA journal_mode = WAL")
        floor.execute("PRAGMA synchronous = FULL")
        floor.execute("CREATE TABLE IF NOT EXISTS rows (n INTEGER, t TEXT)")
        begin = perf_counter()
        if one:
            floor.execute("BEGIN IMMEDIATE")
        for n in range(times):
            if not one:
                floor.execute("BEGIN IMMEDIATE")
            floor.execute("INSERT INTO rows VALUES (?, 'a row of about as many letters')", (n,))
            if not one:
                floor.execute("COMMIT")
        if one:
            floor.execute("COMMIT")
        return times / (perf_counter() - begin)


def many_moves(folder: Path, moves: int = 1_000_000, parts: int = 100_000) -> Path:
    """Return a shop of so many moves, ten of each part, with the sums that they give."""
    file = folder / "many.db"
    with records.open_shop(file, create=True) as shop, shop.writing() as hand:
        hand.run(
            "WITH RECURSIVE n(i) AS (SELECT 0 UNION ALL SELECT i + 1 FROM n LIMIT "
            f"{moves}) INSERT INTO moves (day, made_at, part, lot, from_place, to_place, quantity, "
            'unit, held_for, reason, "order", build, "by", owner, checked) SELECT '
            f"'2026-03-09', '', 'P' || (i % {parts}), '', 'outside: count', "
            f"'shelf ' || (i % {parts} % 97), 1 + i % 7, 'piece', '', 'counted', '', '', 'jo', '', "
            "'' FROM n"
        )
        hand.run(
            "INSERT INTO on_hand (part, lot, place, held_for, owner, build, quantity, unit) "
            "SELECT part, '', to_place, '', '', '', SUM(quantity), 'piece' FROM moves "
            "GROUP BY part, to_place ORDER BY MIN(move)"
        )
    return file


def on_hand_seconds(file: Path, times: int = 5) -> dict[str, float]:
    """Return the best seconds of reading what is on hand, from the sums and from the moves."""
    found: dict[str, list[float]] = {}
    with records.open_shop(file, read_only=True) as shop:
        for _ in range(times):
            with shop.reading() as hand:
                begin = perf_counter()
                lots = hand.rows(on_hand.held_sql("part, place, quantity", ON_SHELF))
                found.setdefault("on hand, kept sums", []).append(perf_counter() - begin)
                assert len(lots) == 100_000
                begin = perf_counter()
                again = hand.rows(
                    "SELECT to_place, part, SUM(quantity) FROM moves GROUP BY part, to_place"
                )
                found.setdefault("the moves summed anew", []).append(perf_counter() - begin)
                assert sum(n for *_, n in lots) == sum(n for *_, n in again)
            begin = perf_counter()
            stock = records.snapshot(shop)["stock"]
            found.setdefault("the whole shop as frames", []).append(perf_counter() - begin)
            assert len(stock) == 100_000
    return {name: min(seconds) for name, seconds in found.items()}


def fresh(file: Path, times: int = 15) -> dict[str, float]:
    """Return how many times ``python -c pass`` a fresh process of each command takes."""
    on = ["--shop", str(file), "--on", DAY.isoformat()]
    command = [sys.executable, "-m", "kitting"]
    done = {
        "floor": [sys.executable, "-c", "pass"],
        "receive": [*command, "receive", "K0", "P7", "1", *on],
        "pick": [*command, "pick", "E-1", "bottom", "P7", "1", *on],
        "count": [*command, "count", "P7", "5", "--place", "B9", *on],
    }
    best = dict.fromkeys(done, 9e9)
    for _ in range(times):
        for name, words in done.items():
            begin = perf_counter()
            subprocess.run(words, check=True, capture_output=True)
            best[name] = min(best[name], perf_counter() - begin)
    return {name: best[name] / best["floor"] for name in done if name != "floor"}


if __name__ == "__main__":
    place = Path(tempfile.mkdtemp())
    try:
        small = made(place)
        for each, said in ((False, "a transaction each, full sync"), (True, "in one transaction")):
            rates = a_second(small, one=each)
            told = ", ".join(f"{name} {rate:,.0f}/s" for name, rate in rates.items())
            print(f"{said}: {told}")
        for name, ratio in fresh(small).items():
            print(f"{name} in a fresh process: {ratio:.1f} times python -c pass")
        with records.open_shop(small, read_only=True) as opened:
            proof = records.prove(opened)
            assert proof.holds, proof.faults
        for name, seconds in on_hand_seconds(many_moves(place)).items():
            print(f"100,000 parts from 1,000,000 moves: {name} {seconds:.2f} s")
    finally:
        shutil.rmtree(place)

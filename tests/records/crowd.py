"""Many people at once: processes that pick and receive the same parts for a while.

``PYTHONPATH=tests python tests/records/crowd.py 60`` lets 8 processes work on 200 parts for 60
seconds, on a file and, with KITTING_TEST_SERVER set, on a server. Nothing may be lost, nothing
picked twice, no lot below zero: the sums that each process reports must add up to what the shop
holds.
"""

from __future__ import annotations

import os
import random
import sys
import tempfile
import time
from collections import Counter
from datetime import date
from pathlib import Path

from records.children import in_child, read_all
from records.conftest import frame
from records.killed import ReceiveOnServer

from kitting import records
from kitting.errors import InputError, ShopBusy
from kitting.records import Arrival
from kitting.records.picking import Pick, pick
from kitting.records.places import Kit

DAY = date(2026, 3, 9)
START = 3  # pieces of each part; soon gone, so that hands meet at the last one
KIT = Kit("E-1", "engine", "bottom")


def sheets(parts):
    """Return a shop with so many parts, an order line for each and one build."""
    names = [f"P{n:03}" for n in range(parts)]
    order = {"order": "K1", "supplier": "town", "quantity": 10**6, "ordered": "2026-03-02"}
    return {
        "parts": frame("parts", *({"part": p, "unit": "piece"} for p in names)),
        "stages": frame("stages", {"assembly": "engine", "stage": "bottom"}),
        "builds": frame("builds", {"build": "E-1", "assembly": "engine"}),
        "orders": frame("orders", *({**order, "line": i, "part": p} for i, p in enumerate(names))),
        "stock": frame("stock", *({"part": p, "place": "A1", "quantity": START} for p in names)),
    }


def bustle(place, parts, seconds, number):
    """Pick and receive until the time is over; return what was done."""
    chance, done = random.Random(number), Counter()
    end = time.monotonic() + seconds
    with records.open_shop(place, wait=60) as shop:
        while time.monotonic() < end:
            n = chance.randrange(parts)
            try:
                if chance.random() < 0.6:
                    pick(shop, Pick(KIT, f"P{n:03}", 1, DAY, by=str(number)))
                    done["picked", n] += 1
                else:
                    records.receive(shop, Arrival("K1", 1, "A1", DAY, line=n, by=str(number)))
                    done["received", n] += 1
            except InputError:
                done["refused", n] += 1
            except ShopBusy:
                done["busy", n] += 1
    return done


def crowd(place, seconds, hands=8, parts=200):
    """Let a crowd work and look at what is left; return the counts by what was done."""
    with records.open_shop(place, create=True) as shop:
        records.apply(shop, sheets(parts), DAY)

    def work(tell, number):
        for (what, n), count in bustle(place, parts, seconds, number).items():
            tell(f"{what},{n},{count}")

    pipes = [in_child(lambda tell, number=number: work(tell, number)) for number in range(hands)]
    done = Counter()
    for child, pipe in pipes:
        for word in read_all(pipe):
            what, n, count = word.split(",")
            done[what, int(n)] += int(count)
        assert os.waitpid(child, 0)[1] == 0
    with records.open_shop(place) as shop:
        assert records.prove(shop).faults == ()
        held = records.snapshot(shop).check()
    stock = dict(zip(held["stock"]["part"], held["stock"]["quantity"], strict=True))
    kitted = held["kitted"].groupby("part")["quantity"].sum()
    came = held["receipts"].groupby("part")["quantity"].sum()
    for n in range(parts):
        part = f"P{n:03}"
        assert kitted.get(part, 0) == done["picked", n]
        assert came.get(part, 0) == done["received", n]
        assert stock.get(part, 0) == START + done["received", n] - done["picked", n] >= 0
    assert held["receipts"]["receipt"].is_unique
    totals = Counter()
    for (what, _n), count in done.items():
        totals[what] += count
    return totals


def on_server():
    """Return the URL of a new database on the test server."""
    work = ReceiveOnServer(Path())
    return work.empty()


if __name__ == "__main__":
    for_seconds = float(sys.argv[1]) if len(sys.argv) > 1 else 60.0
    with tempfile.TemporaryDirectory() as folder:
        places = {"file": str(Path(folder) / "shop.db")}
        if os.environ.get("KITTING_TEST_SERVER"):
            places["server"] = on_server()
        for kind, where in places.items():
            told = ", ".join(f"{n} {what}" for what, n in sorted(crowd(where, for_seconds).items()))
            print(f"{kind:6} 8 hands, 200 parts, {for_seconds:g} s: {told}; all adds up")

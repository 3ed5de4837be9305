"""How long netting takes against one sort of the same needs by part, priority and day.

Run as a script: ``python tests/speed/bench_netting.py``. The floor is one np.lexsort of the same
rows, from whole numbers; ours is the whole of ``net`` from frames to frames. A plain loop over the
rows of the same kind is timed at 10,000 needs and must give the same picks.
"""

from __future__ import annotations

import sys
from pathlib import Path
from time import perf_counter

import numpy as np
import pandas as pd

from kitting.netting import net
from kitting.tables.flow import NEEDS, SUPPLY
from kitting.tables.shop import STAND_INS

DAY = np.datetime64("2026-01-01", "s")
YEAR = 365


def frames(wants: int, lots: int, parts: int, seed: int = 5) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Draw needs and lots of five priorities and a year, with windows that bind."""
    rng = np.random.default_rng(seed)
    names = np.array([f"P{i:06d}" for i in range(parts)], object)
    builds = np.array([f"B{i:03d}" for i in range(300)], object)
    need_days, first = rng.integers(0, YEAR, wants), rng.integers(-100, YEAR, lots)
    blank_need, blank_lot = np.full(wants, "", object), np.full(lots, "", object)
    needs = {
        **dict.fromkeys(("assembly", "stage", "joint", "role"), blank_need),
        "need": np.arange(1, wants + 1),
        "build": builds[rng.integers(0, len(builds), wants)],
        "part": names[rng.integers(0, parts, wants)],
        "quantity": rng.integers(1, 20, wants),
        "day": DAY + need_days.astype("timedelta64[D]"),
        "priority": rng.integers(1, 6, wants),
        "deferred": np.zeros(wants, bool),
    }
    supply = {
        **dict.fromkeys(("held_for", "order", "lot", "place", "owner"), blank_lot),
        **dict.fromkeys(("assembly", "stage", "kit", "from_set"), blank_lot),
        "supply": np.arange(1, lots + 1),
        "part": names[rng.integers(0, parts, lots)],
        "quantity": rng.integers(1, 150, lots),
        "from_day": DAY + first.astype("timedelta64[D]"),
        "use_by": DAY + (first + rng.integers(20, 400, lots)).astype("timedelta64[D]"),
    }
    return NEEDS.conform(pd.DataFrame(needs)), SUPPLY.conform(pd.DataFrame(supply))


def measure(
    wants: int = 1_000_000, lots: int = 200_000, parts: int = 50_000, times: int = 5
) -> tuple[float, float]:
    """Return the best seconds of some runs: ours and the floor's, measured in turn."""
    needs, supply = frames(wants, lots, parts)
    part = pd.factorize(needs["part"])[0].astype(np.int64)
    day = needs["day"].to_numpy("datetime64[D]").astype(np.int64)
    priority = needs["priority"].to_numpy(np.int64)
    ours, floors = [], []
    for _ in range(times):
        begin = perf_counter()
        picks, shortages = net(needs, supply, STAND_INS.empty())
        middle = perf_counter()
        np.lexsort((day, priority, part))
        floors.append(perf_counter() - middle)
        ours.append(middle - begin)
        total = picks["covers"].sum() + shortages["quantity"].sum()
        assert total == needs["quantity"].sum()
    return min(ours), min(floors)


def plain_loop(wants: int = 10_000) -> tuple[float, float]:
    """Return seconds of ours and of the plain loop, which must agree."""
    sys.path.insert(0, str(Path(__file__).resolve().parents[1]))
    from netting import plain
    from netting.frames import missing, tuples

    needs, supply = frames(wants, wants // 5, wants // 20)
    begin = perf_counter()
    picks, shortages = net(needs, supply, STAND_INS.empty())
    middle = perf_counter()
    expected = plain.net(needs, supply, STAND_INS.empty())
    end = perf_counter()
    assert (tuples(picks), missing(shortages)) == expected
    return middle - begin, end - middle


if __name__ == "__main__":
    seconds, least = measure()
    print(
        f"1,000,000 needs, 200,000 lots, 50,000 parts: {seconds:.3f} s, one lexsort {least:.3f} s, "
        f"ratio {seconds / least:.2f}"
    )
    for title, wants, lots, parts in [
        ("one part with 100,000 needs and 20,000 lots", 100_000, 20_000, 1),
        ("50 parts with 1,000,000 needs and 200,000 lots", 1_000_000, 200_000, 50),
        ("a shop of 1,000 needs, 300 lots, 400 parts", 1_000, 300, 400),
    ]:
        seconds, _ = measure(wants, lots, parts, times=3)
        print(f"{title}: {seconds * 1000:.1f} ms")
    seconds, slow = plain_loop()
    print(f"10,000 needs, equal to the plain loop: {seconds * 1000:.1f} ms against {slow:.2f} s")

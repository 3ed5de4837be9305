"""How long the explosion of a large bill takes against a plain sparse product of the same.

Run as a script: ``python tests/speed/bench_explosion.py``. The floor multiplies the same matrix
level by level with scipy.sparse, knows the levels beforehand and checks nothing. Then the time
of ``explode`` for a bill of 300 lines with options, rules and sets: for three builds, for a
thousand with four combinations of options, and for a thousand that all choose otherwise.
"""

from __future__ import annotations

from time import perf_counter
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd
from scipy.sparse import csr_array

from kitting.bill import explode, total_requirements
from kitting.tables.shop import BY_NAME, Shop, empty_shop

if TYPE_CHECKING:
    from kitting.tables.contract import Table


def bill(nodes: int, edges: int, seed: int) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Return a random bill without loops: parents, children, quantities."""
    draw = np.random.default_rng(seed)
    depth = 12
    layer = np.sort(draw.integers(0, depth, nodes))
    parents = draw.integers(0, np.searchsorted(layer, depth - 1), edges)
    below = np.searchsorted(layer, layer[parents] + 1)
    children = draw.integers(below, nodes)
    return parents, children, draw.integers(1, 4, edges)


def floor(levels: list[tuple[np.ndarray, csr_array]], demand: np.ndarray) -> np.ndarray:
    """Multiply level by level."""
    total = demand.copy()
    for rows, matrix in levels:
        total[rows] += matrix @ total
    return total


def prepared(
    parents: np.ndarray, children: np.ndarray, quantities: np.ndarray, nodes: int
) -> list[tuple[np.ndarray, csr_array]]:
    """Return the matrix cut into levels, most steps from the top first counted by relaxation."""
    level = np.zeros(nodes, dtype=np.int64)
    while True:
        deeper = level.copy()
        np.maximum.at(deeper, children, level[parents] + 1)
        if (deeper == level).all():
            break
        level = deeper
    whole = csr_array((quantities, (children, parents)), shape=(nodes, nodes))
    cuts = [np.flatnonzero(level == step) for step in range(1, int(level.max()) + 1)]
    return [(rows, whole[rows]) for rows in cuts]


def measure(nodes: int = 2_000, edges: int = 8_000, builds: int = 1_000) -> tuple[float, float]:
    """Return the best seconds of seven: ours and the floor's, measured in turn."""
    parents, children, quantities = bill(nodes, edges, seed=11)
    demand = np.random.default_rng(12).integers(0, 3, (nodes, builds))
    levels = prepared(parents, children, quantities, nodes)
    ours, floors = [], []
    for _ in range(7):
        begin = perf_counter()
        total = total_requirements(parents, children, quantities, demand)
        middle = perf_counter()
        expected = floor(levels, demand)
        floors.append(perf_counter() - middle)
        ours.append(middle - begin)
        assert (total == expected).all()
    return min(ours), min(floors)


def filled(table: Table, rows: list[dict[str, object]]) -> pd.DataFrame:
    """Return a frame of a contract; text and numbers that a row does not give are blank or 1."""
    blank = {c.name: "" if c.kind == "text" else 1 for c in table.columns if c.kind != "day"}
    blank |= {c.name: pd.NaT for c in table.columns if c.kind == "day"}
    return table.conform(pd.DataFrame([blank | row for row in rows]))


def workshop(builds: int, combinations: int) -> Shop:
    """Return a shop with one bill of 300 lines over two assemblies."""
    draw = np.random.default_rng(7)
    both = ("engine", "gearbox")
    rows: dict[str, list[dict[str, object]]] = {
        "stages": [
            {"assembly": a, "stage": f"s{n}", "after": f"s{n - 1}" if n else "", "deferred": n == 6}
            for a in both
            for n in range(7)
        ],
        "joints": [
            {
                **{"assembly": a, "joint": f"j{n}", "stage": f"s{n % 7}", "count": n % 4 + 1},
                "when": "" if n % 6 else "o1=b",
            }
            for a in both
            for n in range(35)
        ],
        "lines": [
            {
                **{"line": n, "assembly": both[n % 4 == 0], "stage": f"s{n % 35 % 7}"},
                **{"joint": f"j{n % 35}", "part": f"P{draw.integers(150)}", "quantity": n % 5 + 1},
                "when": "" if n % 7 else f"o{n % 3}=a",
            }
            for n in range(1, 298)
        ],
        "sets": [
            {"set": s, "part": f"P{n}", "quantity": n % 6 + 1, "fits": "needed"}
            for s in ("SET1", "SET2")
            for n in range(10, 60)
        ],
        "options": [
            {"assembly": "engine", "option": f"o{n}", "choices": "a; b", "default": "a"}
            for n in range(12)
        ],
        "rules": [
            {"rule": n, "assembly": a, "when": f"o{n}=b", "needs_option": f"o{n + 1}=b"}
            for n in range(10)
            for a in both
        ],
        "builds": [
            {
                **{"build": f"B{n}", "assembly": "engine"},
                "options": "; ".join(f"o{k}={'ab'[n % combinations >> k & 1]}" for k in range(10)),
            }
            for n in range(builds)
        ],
    }
    for n, part in enumerate(("gearbox", "SET1", "SET2"), start=298):
        rows["lines"].append({"line": n, "assembly": "engine", "stage": "s2", "part": part})
    return empty_shop().replaced(**{name: filled(BY_NAME[name], r) for name, r in rows.items()})


if __name__ == "__main__":
    seconds, least = measure()
    print(f"explosion {seconds * 1e3:.1f} ms, sparse product {least * 1e3:.1f} ms")
    print(f"ratio {seconds / least:.2f} (aim: at most 2)")
    for many, few in ((3, 3), (1000, 4), (1000, 1000)):
        of = workshop(many, few)
        times = []
        for _ in range(5):
            begin = perf_counter()
            found = explode(of, of["builds"])
            times.append(perf_counter() - begin)
        print(
            f"explode {many} builds, {few} combinations, {len(found.required)} required rows: "
            f"{min(times) * 1e3:.0f} ms"
        )

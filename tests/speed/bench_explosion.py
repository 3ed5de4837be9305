"""How long the explosion of a large bill takes against a plain sparse product of the same.

Run as a script: ``python tests/speed/bench_explosion.py``. The floor multiplies the same matrix
level by level with scipy.sparse, knows the levels beforehand and checks nothing.
"""

from __future__ import annotations

from time import perf_counter

import numpy as np
from scipy.sparse import csr_array

from kitting.bill import total_requirements


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


if __name__ == "__main__":
    seconds, least = measure()
    print(f"explosion {seconds * 1e3:.1f} ms, sparse product {least * 1e3:.1f} ms")
    print(f"ratio {seconds / least:.2f} (aim: at most 2)")

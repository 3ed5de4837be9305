"""Serving the wants of one group from its lots, one after the other.

For the few groups with so many wants and lots that rounds over all of them would read the same
wants again and again. The work grows with (wants + lots) x log(lots).
"""

from __future__ import annotations

from bisect import bisect_left
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Whole = NDArray[np.int64]

_NEVER = np.iinfo(np.int64).max


def serve(
    day: Whole, wanted: Whole, first: Whole, last: Whole, there: Whole
) -> tuple[Whole, Whole, Whole]:
    """Serve wants in the order given, each from the first lots in the order given that fit it.

    Parameters
    ----------
    day, wanted
        Of the wants: the day and how much.
    first, last, there
        Of the lots, ordered by ``last``: the days between which each may be used and how much.

    Returns
    -------
    want, lot, quantity
        Positions and how much, in the order taken.
    """
    begins, ends, stock = first.tolist(), last.tolist(), there.tolist()
    size = 1 << (len(begins) - 1).bit_length()
    tree = _tree(begins, size)
    shares: list[tuple[int, int, int]] = []
    for want, (on, missing) in enumerate(zip(day.tolist(), wanted.tolist(), strict=True)):
        lot = bisect_left(ends, on)
        while missing:
            lot = _next_fit(tree, size, lot, on)
            if lot < 0:
                break
            taken = min(missing, stock[lot])
            shares.append((want, lot, taken))
            missing -= taken
            stock[lot] -= taken
            if not stock[lot]:
                _remove(tree, size + lot)
    table = np.array(shares, np.int64).reshape(-1, 3)
    return table[:, 0], table[:, 1], table[:, 2]


def _tree(begins: list[int], size: int) -> list[int]:
    """Return a heap of earliest beginnings: node i covers nodes 2i and 2i + 1, leaves last."""
    tree = [_NEVER] * size + begins + [_NEVER] * (size - len(begins))
    for node in range(size - 1, 0, -1):
        tree[node] = min(tree[2 * node], tree[2 * node + 1])
    return tree


def _next_fit(tree: list[int], size: int, lot: int, on: int) -> int:
    """Return the first lot from ``lot`` on that has begun on the day; -1 when there is none."""
    if lot >= size:
        return -1
    node = size + lot
    while tree[node] > on:
        while node & 1:
            node >>= 1
        if not node:
            return -1
        node += 1
    while node < size:
        node *= 2
        node += tree[node] > on
    return node - size


def _remove(tree: list[int], node: int) -> None:
    """Take an empty lot out of the heap."""
    tree[node] = _NEVER
    node >>= 1
    while node:
        earliest = min(tree[2 * node], tree[2 * node + 1])
        if tree[node] == earliest:
            return
        tree[node] = earliest
        node >>= 1

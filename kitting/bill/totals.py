"""The arithmetic of the bill: levels, loops and total requirements, exact in whole numbers."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING, Any

import numpy as np

from kitting.errors import InputError, LoopError

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    Whole = NDArray[np.int64]

# A float of this size is certainly below 2^63 even after a million roundings.
_LIMIT = 2.0**63 * (1 - 1e-9)
# Quantities are added up further on, so products stay far below 2^63.
_SANE = 2.0**53
# Multiplications in one level from which loading and calling scipy.sparse pays.
_BIG = 50_000


def ranges(starts: Whole, stops: Whole) -> Whole:
    """Return ``starts[0] .. stops[0]-1, starts[1] .. stops[1]-1, ...`` as one array."""
    lengths = stops - starts
    ends = np.cumsum(lengths)
    total = int(ends[-1]) if len(ends) else 0
    out: Whole = np.arange(total, dtype=np.int64)
    out += np.repeat(starts - (ends - lengths), lengths)
    return out


def distinct(values: Whole) -> Whole:
    """Return the distinct numbers, none below zero, in order; sorting beats hashing here."""
    ordered = np.sort(values)
    return ordered[np.diff(ordered, prepend=-1) > 0]


def product(*factors: Whole) -> Whole:
    """Multiply whole numbers element by element, exactly.

    Raises
    ------
    InputError
        When the products add up to more than 2^53: no shop counts so far.
    """
    out, bound = factors[0], np.abs(factors[0].astype(float))
    for factor in factors[1:]:
        out, bound = out * factor, bound * np.abs(factor.astype(float))
    if float(bound.sum()) >= _SANE:
        raise InputError(
            f"a quantity of about {bound.max():.1e} base units is too large to count; "
            "look for a slip in the quantities of lines, joints or sets"
        )
    return out


def levels(
    parents: Whole,
    children: Whole,
    count: int,
    names: Sequence[str] | None = None,
    what: str = "parts",
) -> Whole:
    """Return the level of each node: the most steps down from a node that goes into nothing.

    Parameters
    ----------
    parents, children
        The edges, as node numbers.
    count
        Number of nodes.
    names, what
        Names of the nodes and what they are, for the error.

    Raises
    ------
    LoopError
        When nodes contain themselves; the loop is named in full.
    """
    order = np.argsort(parents, kind="stable")
    kids = children[order]
    first = np.searchsorted(parents[order], np.arange(count + 1)).astype(np.int64)
    waiting = np.bincount(children, minlength=count)
    level = np.zeros(count, dtype=np.int64)
    ready = np.flatnonzero(waiting == 0)
    done, step = 0, 0
    while len(ready):
        level[ready] = step
        done += len(ready)
        step += 1
        reached = kids[ranges(first[ready], first[ready + 1])]
        np.subtract.at(waiting, reached, 1)
        reached = distinct(reached)
        ready = reached[waiting[reached] == 0]
    if done < count:
        loop = _loop(parents, children, np.flatnonzero(waiting > 0))
        raise LoopError(what, [names[n] if names is not None else str(n) for n in loop])
    return level


def _loop(parents: Whole, children: Whole, left: Whole) -> list[int]:
    """Return one loop among nodes that each have a parent among them."""
    inside = np.isin(parents, left) & np.isin(children, left)
    parent_of = dict(
        zip(children[inside][::-1].tolist(), parents[inside][::-1].tolist(), strict=True)
    )
    walk = [int(left[0])]
    seen: dict[int, int] = {}
    while walk[-1] not in seen:
        seen[walk[-1]] = len(walk) - 1
        walk.append(parent_of[walk[-1]])
    return walk[seen[walk[-1]] :][::-1]


def total_requirements(
    parents: Whole,
    children: Whole,
    quantities: Whole,
    demand: Whole,
    names: Sequence[str] | None = None,
    what: str = "parts",
) -> Whole:
    """Explode demand through a bill of any depth, exactly.

    Works level by level and equals ``(I - A)^-1 d`` with ``A[child, parent]`` the quantity of the
    child in one of the parent (A. Vazsonyi, "The use of mathematics in production and inventory
    control", Management Science 1(1):70-85, 1954).

    Parameters
    ----------
    parents, children
        Node numbers of the edges; an edge may repeat, its quantities add up.
    quantities
        How many of the child in one of the parent [base units].
    demand
        Demand from outside, nodes x builds [base units].
    names, what
        Names of the nodes and what they are, for the errors.

    Returns
    -------
    ndarray
        Total requirement, nodes x builds, int64 [base units].

    Raises
    ------
    LoopError
        When nodes contain themselves; the loop is named in full.
    InputError
        When a total does not fit into 64 bits.
    """
    count = demand.shape[0]
    level = levels(parents, children, count, names, what)
    order = np.lexsort((children, level[children]))
    up, down, quantity = parents[order], children[order], quantities[order].astype(np.int64)
    cuts = np.flatnonzero(np.diff(level[down], prepend=-1)).tolist()
    spans = list(pairwise([*cuts, len(down)]))
    _refuse_too_large(up, down, quantity, spans, demand, names)
    total = np.array(demand, dtype=np.int64, order="C")
    for begin, end in spans:
        _add_level(total, up[begin:end], down[begin:end], quantity[begin:end])
    return total


def _add_level(total: NDArray[Any], up: Whole, down: Whole, quantity: NDArray[Any]) -> None:
    """Add to ``total`` what the edges of one level ask for; ``down`` is in order."""
    heads = np.flatnonzero(np.diff(down, prepend=-1))
    if len(up) * total.shape[1] < _BIG:
        asked = np.add.reduceat(quantity[:, None] * total[up], heads, axis=0)
    else:
        from scipy.sparse import csr_array

        rows = (quantity, up, np.append(heads, len(up)))
        asked = csr_array(rows, shape=(len(heads), len(total))) @ total
    total[down[heads]] += asked


def _refuse_too_large(
    up: Whole,
    down: Whole,
    quantity: Whole,
    spans: list[tuple[int, int]],
    demand: Whole,
    names: Sequence[str] | None,
) -> None:
    """Raise when a total could pass 64 bits: first one bound for all builds, then each build."""
    weight = np.abs(quantity.astype(float))
    most = demand.max(axis=1, initial=0).astype(float)
    least = demand.min(axis=1, initial=0).astype(float)
    for each in (False, True):
        bound = np.abs(demand.astype(float)) if each else np.maximum(most, -least)[:, None]
        for begin, end in spans:
            _add_level(bound, up[begin:end], down[begin:end], weight[begin:end])
        if not bound.size or float(bound.max()) < _LIMIT:
            return
    node = int(np.argmax(bound.max(axis=1)))
    name = names[node] if names is not None else str(node)
    raise InputError(
        f"the total of {name} is about {bound.max():.1e}, too large to count; look for a slip "
        "in the quantities above it"
    )

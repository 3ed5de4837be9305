"""The proof: the choice as an integer programme, solved by HiGHS.

One binary per column and per switch. A column is linked to each of its switches part by part,
so that the relaxation pays for an order as soon as any part uses it: this disaggregated form
(Erlenkotter 1978; Cornuejols, Nemhauser and Wolsey 1990) is nearly integral, where one link per
supplier with a large constant is not.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from kitting.sourcing.problem import Solution, value

if TYPE_CHECKING:
    from numpy.typing import NDArray
    from scipy.sparse import csr_array

    from kitting.sourcing.problem import Flags, Floats, Order, Problem, Whole


@dataclass
class _Rows:
    """Rows of the programme as they are gathered: entries, and lower and upper ends."""

    entries: list[tuple[NDArray[np.int64], NDArray[np.int64], NDArray[np.float64]]]
    low: list[NDArray[np.float64]]
    high: list[NDArray[np.float64]]
    count: int = 0

    def add(
        self, row: Whole, column: Whole, factor: Floats, low: float | Floats, high: float | Floats
    ) -> None:
        """Add a block of rows; ``row`` counts from 0 within the block."""
        size = int(row.max(initial=-1)) + 1
        self.entries.append((row + self.count, column, factor))
        self.low.append(np.broadcast_to(np.asarray(low, float), size))
        self.high.append(np.broadcast_to(np.asarray(high, float), size))
        self.count += size

    def one(self, entries: list[tuple[int, float]], low: float, high: float) -> None:
        """Add a single row."""
        column, factor = zip(*entries, strict=True)
        self.add(np.zeros(len(column), np.int64), np.array(column), np.array(factor), low, high)

    def matrix(self, columns: int) -> csr_array:
        """Return the matrix of all rows."""
        from scipy.sparse import csr_array

        row, column, factor = (np.concatenate(parts) for parts in zip(*self.entries, strict=True))
        return csr_array((factor, (row, column)), shape=(self.count, columns))


@dataclass(frozen=True)
class Programme:
    """The integer programme: columns first, then switches, then each order's steps and filling."""

    cost: Floats
    whole: Flags
    least: Floats
    most: Floats
    matrix: csr_array
    low: Floats
    high: Floats


def write(problem: Problem) -> Programme:
    """Write a problem as an integer programme."""
    first = len(problem.cost)
    size = first + len(problem.switch_cost)
    cost = [problem.cost, problem.switch_cost]
    upper, whole = [np.ones(size)], [np.ones(size, bool)]
    if problem.divisible:
        whole[0][:first] = False
    rows = _Rows([], [], [])
    rows.add(problem.part, np.arange(first), np.ones(first), 1.0, 1.0)
    _links(problem, rows)
    for number, order in enumerate(problem.orders):
        if order.plain:
            cost[1] = cost[1].copy()
            cost[1][order.switch] += order.rungs[0].freight
            continue
        _order(problem, number, rows, size)
        rungs = len(order.rungs)
        scale = _scale(order)
        cost.append(np.array([*(rung.freight for rung in order.rungs), order.rate * scale]))
        upper.append(np.array([*np.ones(rungs), order.top / scale]))
        whole.append(np.array([True] * rungs + [False]))
        size += rungs + 1
    for pool in np.unique(problem.draws.right):
        taken, put = problem.draws.right == pool, problem.holds.right == pool
        column = np.concatenate([problem.draws.left[taken], first + problem.holds.left[put]])
        factor = np.concatenate([problem.draws.value[taken], -problem.holds.value[put]])
        rows.add(np.zeros(len(column), np.int64), column, factor, -np.inf, 0.0)
    on = np.zeros(size)
    on[[first + switch for switch in problem.kept]] = 1.0
    return Programme(
        np.concatenate(cost),
        np.concatenate(whole),
        on,
        np.concatenate(upper),
        rows.matrix(size),
        np.concatenate(rows.low),
        np.concatenate(rows.high),
    )


def _links(problem: Problem, rows: _Rows) -> None:
    """Link columns to switches part by part, and switches to those before them."""
    first, needs = len(problem.cost), problem.needs
    switches = len(problem.switch_cost)
    pair = problem.part[needs.left] * switches + needs.right
    pairs, row = np.unique(pair, return_inverse=True)
    rows.add(
        np.concatenate([row, np.arange(len(pairs))]),
        np.concatenate([needs.left, first + pairs % switches]),
        np.concatenate([np.ones(len(row)), -np.ones(len(pairs))]),
        -np.inf,
        0.0,
    )
    child = np.flatnonzero(problem.parent >= 0)
    both = np.concatenate([np.arange(len(child))] * 2)
    column = first + np.concatenate([child, problem.parent[child]])
    sign = np.concatenate([np.ones(len(child)), -np.ones(len(child))])
    rows.add(both, column, sign, -np.inf, 0.0)


def _order(problem: Problem, number: int, rows: _Rows, size: int) -> None:
    """Add the rows of one order: one freight, its goods value, the least and the most.

    Goods are divided by a scale, so that a rounding of the solver stays a rounding.
    """
    order, first = problem.orders[number], len(problem.cost)
    scale = _scale(order)
    rungs = [(size + place, rung) for place, rung in enumerate(order.rungs)]
    fill = size + len(rungs)
    rows.one([*((place, 1.0) for place, _ in rungs), (first + order.switch, -1.0)], 0.0, 0.0)
    own, lifted = problem.goods.right == number, problem.lift.right == number
    column = np.concatenate([problem.goods.left[own], first + problem.lift.left[lifted]])
    worth = np.concatenate([problem.goods.value[own], problem.lift.value[lifted]])

    def with_goods(entries: list[tuple[int, float]], low: float, high: float) -> None:
        more, factor = zip(*entries, strict=True)
        everything = np.concatenate([column, np.array(more)])
        factors = np.concatenate([worth / scale, np.array(factor)])
        rows.add(np.zeros(len(everything), np.int64), everything, factors, low, high)

    if order.top > 0:
        with_goods(
            [(fill, 1.0), *((place, -rung.start / scale) for place, rung in rungs)], 0.0, np.inf
        )
    if any(rung.end < np.inf for _, rung in rungs):
        everything = float(worth.sum()) + order.top
        ends = [(place, -min(rung.end, everything) / scale) for place, rung in rungs]
        with_goods([(fill, 1.0), *ends], -np.inf, 0.0)
    if order.most is not None:
        with_goods([(first + order.switch, -order.most / scale)], -np.inf, 0.0)


def _scale(order: Order) -> float:
    """Return what the goods of an order are divided by."""
    return max(order.top, order.most or 0.0, 1.0)


def solve(problem: Problem, seconds: float, gap: float = 0.0) -> Solution | None:
    """Solve a problem to proof, or as far as the time allows.

    Parameters
    ----------
    seconds
        Most time that the solver may take.
    gap
        Relative gap at which it may stop.

    Returns
    -------
    Solution or None
        ``None`` when the solver found nothing in the time.

    Raises
    ------
    ValueError
        When no answer exists.
    """
    from scipy.optimize import Bounds, LinearConstraint, milp

    model = write(problem)
    found = milp(
        model.cost,
        integrality=model.whole.astype(int),
        bounds=Bounds(model.least, model.most),
        constraints=LinearConstraint(model.matrix, model.low, model.high),
        # With presolve HiGHS 1.12 may print a line of its own, and what is left here is small.
        options={"time_limit": seconds, "mip_rel_gap": gap, "presolve": problem.divisible},
    )
    if found.status == 2:
        raise ValueError("no choice covers every part within the limits given")
    if found.x is None:
        return None
    shares = np.asarray(found.x[: len(problem.cost)])
    bound = -np.inf if found.mip_dual_bound is None else problem.base + found.mip_dual_bound
    if problem.divisible:
        cost = problem.base + float(found.fun)
        return Solution(_largest(problem, shares), cost, bound, shares)
    columns = _largest(problem, shares)
    return Solution(columns, value(problem, columns), bound)


def _largest(problem: Problem, shares: Floats) -> Whole:
    """Return the column of each part with the largest share."""
    order = np.lexsort((-shares, problem.part))
    return np.asarray(order[problem.starts])

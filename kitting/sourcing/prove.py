"""The best answer and the proof that it is the best.

A heuristic gives an answer, a relaxation a bound. Columns and order modes that cost more than
the difference cannot be in a better answer and are left out, which sharpens the bound again. What
is still open is branched on: an order that is not placed, or pays this freight, or that. Where
few columns are left, HiGHS settles the rest.
"""

from __future__ import annotations

import heapq
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from kitting.sourcing.bound import CLOSED, Relaxation
from kitting.sourcing.heuristic import State, improve, likely
from kitting.sourcing.problem import Solution, value
from kitting.sourcing.programme import solve

if TYPE_CHECKING:
    from kitting.sourcing.bound import Bound, Modes, Prices
    from kitting.sourcing.problem import Flags, Problem, Whole

SMALL = 600
"""Columns up to which HiGHS is asked at once."""
CENT = 0.999
"""An answer must be better by about a cent to count."""


@dataclass(frozen=True)
class Effort:
    """How much work may go into the proof.

    Parameters
    ----------
    seconds
        Most time of each run of HiGHS.
    nodes
        Most branches.
    gap
        Relative gap at which to stop.
    """

    seconds: float = 30.0
    nodes: int = 400
    gap: float = 0.0


@dataclass(order=True)
class _Node:
    """A branch: its bound, and the modes that its orders may still have."""

    bound: float
    number: int
    modes: Modes
    live: Flags
    prices: Prices | None


class _Search:
    """Branch and bound over the modes of orders."""

    def __init__(self, problem: Problem, effort: Effort, start: Solution) -> None:
        self.problem, self.effort = problem, effort
        self.relaxation = Relaxation(problem)
        self.state = State(problem)
        self.best, self.upper = start.columns, start.cost
        self.ends = [rung.freight for order in problem.orders for rung in order.rungs]
        self.closed = np.inf

    def run(self) -> Solution:
        """Search until nothing is open or the effort is spent."""
        everything = np.ones(len(self.problem.cost), bool)
        root = _Node(-np.inf, 0, self.relaxation.all_modes, everything, None)
        heap, count = [root], 0
        while heap and count < self.effort.nodes:
            node = heapq.heappop(heap)
            if node.bound > self._limit():
                heap = []
                break
            count += 1
            for child in self._open(node):
                heapq.heappush(heap, replace(child, number=len(heap) + 1000 * count))
        lower = min([node.bound for node in heap] + [self.closed, self.upper])
        return Solution(self.best, self.upper, lower)

    def _limit(self) -> float:
        """Return the bound from which a branch is not worth opening."""
        return self.upper - max(CENT, self.effort.gap * abs(self.upper))

    def _open(self, node: _Node) -> list[_Node]:
        """Bound a branch; return its branches when it stays open."""
        modes, live, prices = node.modes, node.live, node.prices
        for steps in (120 if prices is None else 80, 80, 40, 40):
            bound = self.relaxation.improve(self.upper, steps, prices, modes, live)
            self._keep(*likely(self.state, bound))
            prices = bound.prices
            if bound.cost > self._limit():
                return []
            before = int(live.sum())
            modes, live = self._narrow(bound, modes, live)
            if not live.any() or any(not found for found in modes):
                return []
            if live.sum() > 0.95 * before:
                break
        open_orders = [n for n, found in enumerate(modes) if len(found) > 1]
        if not open_orders or live.sum() <= SMALL:
            self._settle(modes, live, bound.cost)
            return []
        number = max(open_orders, key=lambda n: self._doubt(n, bound))
        return [
            _Node(max(bound.cost, node.bound), 0, child, live, prices)
            for mode in modes[number]
            for child in [(*modes[:number], (mode,), *modes[number + 1 :])]
        ]

    def _doubt(self, number: int, bound: Bound) -> float:
        """Tell how much is at stake in the mode of an order that the relaxation leaves open."""
        most = max(bound.used[number].values(), default=1.0)
        return (1.0 - most) * (1.0 + self.problem.orders[number].bonus)

    def _keep(self, columns: Whole, worth: float) -> None:
        if worth < self.upper - 1e-6:
            self.best, self.upper = columns, worth

    def _narrow(self, bound: Bound, modes: Modes, live: Flags) -> tuple[Modes, Flags]:
        """Leave out columns and modes that no better answer can have."""
        room = self._limit() - bound.cost
        live = live & (bound.reduced <= room)
        kept: list[tuple[int, ...]] = []
        for number, found in enumerate(modes):
            left = tuple(m for m in found if bound.beyond[number].get(m, 0.0) <= room)
            if left == (CLOSED,):
                switch = self.problem.orders[number].switch
                needs = self.problem.needs
                live[needs.left[needs.right == switch]] = False
            kept.append(left)
        covered = np.zeros(self.problem.parts, bool)
        covered[self.problem.part[live]] = True
        return tuple(kept), live if covered.all() else np.zeros_like(live)

    def _settle(self, modes: Modes, live: Flags, bound: float) -> None:
        """Let HiGHS find the best answer of a branch."""
        places = np.flatnonzero(live)
        rest = narrowed(self.problem.only(live), modes)
        try:
            found = solve(rest, self.effort.seconds, self.effort.gap)
        except ValueError:
            return
        if found is None:
            self.closed = min(self.closed, bound)
            return
        self._keep(places[found.columns], value(self.problem, places[found.columns]))
        if found.bound < found.cost - CENT:
            self.closed = min(self.closed, max(bound, found.bound))


def narrowed(problem: Problem, modes: Modes) -> Problem:
    """Return the problem with the modes of its orders narrowed."""
    orders, kept = [], set(problem.kept)
    for order, found in zip(problem.orders, modes, strict=True):
        rungs = tuple(order.rungs[mode] for mode in found if mode != CLOSED)
        orders.append(replace(order, rungs=rungs or order.rungs))
        if CLOSED not in found:
            kept.add(order.switch)
    return replace(problem, orders=tuple(orders), kept=tuple(sorted(kept)))


def prove(problem: Problem, effort: Effort) -> Solution:
    """Find the best answer and its bound.

    Parameters
    ----------
    effort
        How much work may go into the proof.

    Raises
    ------
    ValueError
        When orders have limits that cannot be kept.
    """
    if problem.divisible or any(order.most is not None for order in problem.orders):
        settled = solve(problem, effort.seconds, effort.gap)
        if settled is None:
            raise ValueError("no choice within the limits was found in the time given")
        return settled
    if len(problem.cost) > SMALL:
        return _Search(problem, effort, improve(problem, hints=0)).run()
    found, known = solve(problem, effort.seconds, effort.gap), improve(problem, hints=1)
    if found is None:
        return known
    return found if found.cost <= known.cost else replace(known, bound=found.bound)

"""A lower bound without a solver, and prices that tell which columns cannot matter.

The links between columns and switches, and the goods values that orders must reach, are dropped
and paid for by multipliers instead (Lagrangian relaxation; Geoffrion 1974). What remains falls
apart: each part takes its cheapest column, each tree of switches is on or off. The multipliers
are improved by subgradient steps (Held, Wolfe and Crowder 1974).
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from kitting.sourcing.problem import add_up

if TYPE_CHECKING:
    from kitting.sourcing.problem import Flags, Floats, Problem, Whole

Modes = tuple[tuple[int, ...], ...]
"""For each order the rungs that are still possible; -1 = the order is not placed."""
CLOSED = -1
SHORTEST = 0.004
"""Step length at which the bound is as good as it gets."""
PATIENCE = 10
"""Steps without progress before the step length is halved."""


@dataclass(frozen=True)
class Prices:
    """Multipliers of the links (by part and switch) and of the goods values (by order)."""

    links: Floats
    goods: Floats


@dataclass(frozen=True)
class Bound:
    """What a relaxation tells.

    Parameters
    ----------
    cost
        Every answer costs at least this.
    prices
        The multipliers that prove it.
    reduced
        What choosing each column costs beyond the bound.
    beyond
        For each order and each of its modes, what that mode costs beyond the bound.
    used
        For each order how often each mode was right in the late steps, from 0 to 1.
    on, columns
        Switches and columns of the last step; a good start for a heuristic.
    """

    cost: float
    prices: Prices
    reduced: Floats
    beyond: tuple[dict[int, float], ...]
    used: tuple[dict[int, float], ...]
    on: Flags
    columns: Whole


class Relaxation:
    """A problem prepared for bounding."""

    def __init__(self, problem: Problem) -> None:
        self.problem = problem
        self.size = len(problem.cost)
        self.switches = len(problem.switch_cost)
        pair = problem.part[problem.needs.left] * self.switches + problem.needs.right
        pairs, self.pair = np.unique(pair, return_inverse=True)
        self.pair_switch = pairs % self.switches
        self.starts = problem.starts
        self.order_at = {order.switch: n for n, order in enumerate(problem.orders)}
        self.scale = np.array([max(order.top, 1.0) for order in problem.orders])
        self.rate = np.array([order.rate for order in problem.orders])
        self.kept = set(problem.kept)
        self.family = [int(p) for p in problem.parent]

    @cached_property
    def all_modes(self) -> Modes:
        """Every mode of every order."""
        return tuple(
            tuple(range(len(order.rungs))) + (() if order.switch in self.kept else (CLOSED,))
            for order in self.problem.orders
        )

    def no_prices(self) -> Prices:
        """Return multipliers that are all zero."""
        return Prices(np.zeros(len(self.pair_switch)), np.zeros(len(self.problem.orders)))

    def column_costs(self, prices: Prices) -> Floats:
        """Return what each column costs with its links paid and its goods refunded."""
        problem = self.problem
        refund = prices.goods[problem.goods.right] * problem.goods.value
        return np.asarray(
            problem.cost
            + add_up(problem.needs.left, prices.links[self.pair], self.size)
            - add_up(problem.goods.left, refund, self.size)
        )

    def switch_values(
        self, prices: Prices, modes: Modes
    ) -> tuple[Floats, list[dict[int, float]], list[int]]:
        """Return the value of each switch with all after it, and of each order's modes.

        The third answer is each order's best mode when it is placed.
        """
        problem = self.problem
        gain = prices.goods[problem.lift.right] * problem.lift.value
        net = (
            problem.switch_cost
            - add_up(self.pair_switch, prices.links, self.switches)
            - add_up(problem.lift.left, gain, self.switches)
        )
        below = [0.0] * self.switches
        totals: list[dict[int, float]] = [{} for _ in problem.orders]
        best = [CLOSED] * len(problem.orders)
        values: list[float] = net.tolist()
        goods: list[float] = prices.goods.tolist()
        for switch in range(self.switches - 1, -1, -1):
            here = values[switch] + below[switch]
            number = self.order_at.get(switch)
            if number is not None:
                rungs, found = problem.orders[number].rungs, totals[number]
                for mode in modes[number]:
                    if mode != CLOSED:
                        rung = rungs[mode]
                        found[mode] = here + rung.freight + goods[number] * rung.start
                here = min(found.values(), default=float("inf"))
                best[number] = min(found, key=found.__getitem__, default=CLOSED)
            values[switch] = here
            if self.family[switch] >= 0 and here < 0:
                below[self.family[switch]] += here
        return np.array(values), totals, best

    def improve(
        self,
        upper: float,
        steps: int,
        start: Prices | None = None,
        modes: Modes | None = None,
        live: Flags | None = None,
    ) -> Bound:
        """Improve the bound by some subgradient steps.

        Parameters
        ----------
        upper
            Cost of a known answer, which sets the length of the steps.
        steps
            How many.
        modes
            Modes that are still possible.
        live
            Columns that are still possible; of each part at least one.
        """
        climb = _Climb(self, modes or self.all_modes, live, start or self.no_prices())
        for step in range(steps):
            moved = climb.step(upper, late=2 * step >= steps)
            if not moved or climb.best >= upper or climb.length < SHORTEST:
                break
        return climb.result()


class _Climb:
    """The steps of one improvement."""

    def __init__(
        self, relaxation: Relaxation, modes: Modes, live: Flags | None, start: Prices
    ) -> None:
        self.relaxation, self.modes, self.live = relaxation, modes, live
        self.prices = self.best_prices = start
        self.best, self.length, self.stalled, self.counted = -np.inf, 1.0, 0, 0
        self.used: list[dict[int, float]] = [dict.fromkeys(found, 0.0) for found in modes]
        self.on = np.zeros(relaxation.switches, bool)
        self.columns = relaxation.starts

    def step(self, upper: float, *, late: bool) -> bool:
        """Evaluate the prices and take a step; tell whether there is one to take."""
        over, problem = self.relaxation, self.relaxation.problem
        costs = over.column_costs(self.prices)
        if self.live is not None:
            costs = np.where(self.live, costs, np.inf)
        least = np.minimum.reduceat(costs, over.starts)
        hits = np.flatnonzero(costs == least[problem.part])
        self.columns = hits[np.unique(problem.part[hits], return_index=True)[1]]
        values, _, best_modes = over.switch_values(self.prices, self.modes)
        self.on, bound = self._switch_on(values)
        bound += float(least.sum()) + problem.base
        self._judge(bound)
        if late:
            self.counted += 1
            for number, order in enumerate(problem.orders):
                mode = best_modes[number] if self.on[order.switch] else CLOSED
                self.used[number][mode] = self.used[number].get(mode, 0.0) + 1
        return self._move(upper, bound, best_modes)

    def _switch_on(self, values: Floats) -> tuple[Flags, float]:
        """Turn on what pays, and return the value of all that is on."""
        over = self.relaxation
        forced = {
            order.switch
            for number, order in enumerate(over.problem.orders)
            if CLOSED not in self.modes[number]
        } | over.kept
        shut = {
            order.switch
            for number, order in enumerate(over.problem.orders)
            if self.modes[number] == (CLOSED,)
        }
        on = np.zeros(over.switches, bool)
        bound = 0.0
        for switch, (value, parent) in enumerate(zip(values.tolist(), over.family, strict=True)):
            if parent < 0:
                on[switch] = switch not in shut and (value < 0 or switch in forced)
                bound += value if on[switch] else 0.0
            else:
                on[switch] = on[parent] and value < 0
        return on, bound

    def _judge(self, bound: float) -> None:
        """Keep the best prices; after a while without progress go back to them and step less."""
        if bound > self.best:
            self.stalled = 0 if bound > self.best + 1e-6 * abs(bound) else self.stalled + 1
            self.best, self.best_prices = bound, self.prices
        else:
            self.stalled += 1
        if self.stalled > PATIENCE:
            self.length, self.stalled, self.prices = self.length / 2, 0, self.best_prices

    def _move(self, upper: float, bound: float, best_modes: list[int]) -> bool:
        """Step along the subgradient; tell whether it is not zero."""
        over, problem = self.relaxation, self.relaxation.problem
        chosen = np.zeros(over.size, bool)
        chosen[self.columns] = True
        pairs, orders = len(over.pair_switch), len(problem.orders)
        used = np.bincount(over.pair[chosen[problem.needs.left]], minlength=pairs)
        links = used - self.on[over.pair_switch].astype(float)
        links[(links < 0) & (self.prices.links <= 0)] = 0
        rows, lifted = chosen[problem.goods.left], self.on[problem.lift.left]
        goods = add_up(problem.goods.right[rows], problem.goods.value[rows], orders)
        goods += add_up(problem.lift.right[lifted], problem.lift.value[lifted], orders)
        asked = np.array(
            [
                order.rungs[mode].start if mode != CLOSED and self.on[order.switch] else 0.0
                for order, mode in zip(problem.orders, best_modes, strict=True)
            ]
        )
        lacking = np.where(self.on[[o.switch for o in problem.orders]], asked - goods, 0.0)
        lacking[(lacking < 0) & (self.prices.goods <= 0)] = 0
        lacking *= 10 / over.scale
        norm = float(np.square(links).sum() + np.square(lacking).sum())
        if norm == 0:
            return False
        length = self.length * max(upper * 1.0005 - bound, 1.0) / norm
        self.prices = Prices(
            np.maximum(0, self.prices.links + length * links),
            np.clip(self.prices.goods + length * lacking * 10 / over.scale, 0, over.rate),
        )
        return True

    def result(self) -> Bound:
        """Return the best bound and what it tells of columns and modes."""
        over, problem = self.relaxation, self.relaxation.problem
        costs = over.column_costs(self.best_prices)
        if self.live is not None:
            costs = np.where(self.live, costs, np.inf)
        least = np.minimum.reduceat(costs, over.starts)
        _, totals, _ = over.switch_values(self.best_prices, self.modes)
        beyond = []
        for number, order in enumerate(problem.orders):
            found = dict(totals[number])
            if CLOSED in self.modes[number]:
                found[CLOSED] = self._without(costs, least, order.switch)
            lowest = min([*found.values(), 0.0] if CLOSED in found else found.values())
            beyond.append({mode: value - lowest for mode, value in found.items()})
        count = max(1, self.counted)
        return Bound(
            self.best,
            self.best_prices,
            costs - least[problem.part],
            tuple(beyond),
            tuple({m: times / count for m, times in used.items()} for used in self.used),
            self.on,
            self.columns,
        )

    def _without(self, costs: Floats, least: Floats, switch: int) -> float:
        """Return what the parts pay more when no column with this switch may be chosen."""
        needs = self.relaxation.problem.needs
        rest = costs.copy()
        rest[needs.left[needs.right == switch]] = np.inf
        return float((np.minimum.reduceat(rest, self.relaxation.starts) - least).sum())

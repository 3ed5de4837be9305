"""A fast answer without a solver: switches are dropped, added and swapped while that saves.

With the switches given, every part takes its cheapest column (Kuehn and Hamburger 1963 did this
for warehouses). Goods are then drawn towards orders that lack a little to their least value or
to cheaper freight. A relaxation hints at which orders to place and what goods value to aim at.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from kitting.sourcing.bound import CLOSED, Relaxation
from kitting.sourcing.exchange import exchange
from kitting.sourcing.problem import Solution, add_up, switches_on, value, with_parents

if TYPE_CHECKING:
    from kitting.sourcing.bound import Bound
    from kitting.sourcing.problem import Flags, Floats, Problem, Whole


HINTS, STEPS = 4, 40
"""How often a relaxation is asked for a hint, and its steps each time."""
DOUBTS = 8
"""Doubtful modes that are tried at each hint."""


class State:
    """A problem with what is asked of it again and again."""

    def __init__(self, problem: Problem) -> None:
        self.problem = problem
        self.starts = problem.starts
        self.dear = float(problem.cost.sum() + problem.switch_cost.sum()) + 1.0
        order = np.argsort(problem.needs.left, kind="stable")
        self.left = problem.needs.left[order]
        self.right = problem.needs.right[order]

    def choose(self, on: Flags, cost: Floats) -> Whole | None:
        """Return the cheapest column of each part with these switches; ``None`` if one has none."""
        shut = np.zeros(len(cost), bool)
        shut[self.left[~on[self.right]]] = True
        open_cost = np.where(shut, np.inf, cost)
        best = np.minimum.reduceat(open_cost, self.starts)
        if not np.isfinite(best).all():
            return None
        hits = np.flatnonzero(open_cost == best[self.problem.part])
        first = np.unique(self.problem.part[hits], return_index=True)[1]
        return np.asarray(hits[first])

    def goods_of(self, number: int) -> Floats:
        """Return the goods value that each column gives to an order."""
        found = np.zeros(len(self.problem.cost))
        rows = self.problem.goods.right == number
        found[self.problem.goods.left[rows]] = self.problem.goods.value[rows]
        return found

    def worth(self, columns: Whole | None) -> float:
        """Return what columns cost; infinite without columns."""
        return float("inf") if columns is None else value(self.problem, columns)


def improve(problem: Problem, hints: int = HINTS) -> Solution:
    """Find a good answer, and the bound that its hints give.

    Parameters
    ----------
    hints
        How often a relaxation is asked for a hint.
    """
    state = State(problem)
    everything = np.ones(len(problem.switch_cost), bool)
    columns = state.choose(everything, problem.cost)
    assert columns is not None  # every part has a column
    best, cost = descend(state, columns)
    relaxation, bound = Relaxation(problem), None
    for _ in range(hints):
        bound = relaxation.improve(cost, STEPS, bound.prices if bound else None)
        found = likely(state, bound, DOUBTS)
        best, cost = min((best, cost), found, key=lambda pair: pair[1])
    return Solution(best, cost, bound.cost if bound else -np.inf)


def likely(state: State, bound: Bound, doubts: int = 0) -> tuple[Whole, float]:
    """Make an answer of what a relaxation chose, each order held to its likeliest mode.

    Parameters
    ----------
    doubts
        Modes that are not the likeliest of their order and are tried as well, one at a time.

    Returns
    -------
    tuple
        The chosen columns and what they cost.
    """
    modes = [max(used, key=used.__getitem__) for used in bound.used]
    best, cost = _held_to(state, bound, modes)
    others = [
        (used[mode], number, mode)
        for number, used in enumerate(bound.used)
        for mode in used
        if mode != modes[number] and used[mode] > 0
    ]
    for _, number, mode in sorted(others, reverse=True)[:doubts]:
        trial = _held_to(state, bound, [*modes[:number], mode, *modes[number + 1 :]])
        if trial[1] < cost - 0.5:
            (best, cost), modes[number] = trial, mode
    return best, cost


def _held_to(state: State, bound: Bound, modes: list[int]) -> tuple[Whole, float]:
    """Make an answer with each order held to a mode, and improve it freely."""
    problem, goods = state.problem, state.problem.goods
    refund = bound.prices.goods[goods.right] * goods.value
    prices = problem.cost - add_up(goods.left, refund, len(problem.cost))
    on, held = bound.on.copy(), []
    for order, mode in zip(problem.orders, modes, strict=True):
        on[order.switch] = mode != CLOSED
        held.append(replace(order, rungs=(order.rungs[mode],)) if mode != CLOSED else order)
    on = with_parents(problem, on)
    columns = state.choose(on, prices)
    if columns is None:
        return bound.columns, state.worth(bound.columns)
    return descend(state, exchange(problem, columns, on, tuple(held)), 3)


def descend(state: State, columns: Whole, rounds: int = 30) -> tuple[Whole, float]:
    """Drop, add, swap and draw goods together until nothing saves any more."""
    cost = state.worth(columns)
    for _ in range(rounds):
        before = cost
        for move in (_exchange, _drop, _add, _swap, _gather):
            columns, cost = move(state, columns, cost)
        if cost > before - 0.5:
            break
    return columns, cost


def _exchange(state: State, columns: Whole, cost: float) -> tuple[Whole, float]:
    """Exchange the columns of single parts."""
    trial = exchange(state.problem, columns, switches_on(state.problem, columns))
    worth = state.worth(trial)
    return (trial, worth) if worth < cost - 0.5 else (columns, cost)


def _without(state: State, on: Flags, switch: int) -> Flags:
    """Turn a switch off and all that come after it."""
    off = on.copy()
    off[switch] = False
    parent = state.problem.parent
    while True:
        orphans = off & (parent >= 0) & ~off[parent]
        if not orphans.any():
            return off
        off &= ~orphans


def _drop(state: State, columns: Whole, cost: float) -> tuple[Whole, float]:
    """Turn off the switch that saves most, again and again."""
    while True:
        on = switches_on(state.problem, columns)
        found = []
        for switch in np.flatnonzero(on):
            if switch in state.problem.kept:
                continue
            trial = state.choose(_without(state, on, int(switch)), state.problem.cost)
            found.append((state.worth(trial), switch, trial))
        best = min(found, key=lambda f: f[:2], default=(cost, 0, None))
        if best[2] is None or best[0] > cost - 0.5:
            return columns, cost
        columns, cost = best[2], best[0]


def _add(state: State, columns: Whole, cost: float) -> tuple[Whole, float]:
    """Turn on each switch that saves."""
    on = switches_on(state.problem, columns)
    for switch in np.flatnonzero(~on):
        more = on.copy()
        more[switch] = True
        trial = state.choose(with_parents(state.problem, more), state.problem.cost)
        worth = state.worth(trial)
        if trial is not None and worth < cost - 0.5:
            columns, cost = trial, worth
            on = switches_on(state.problem, columns)
    return columns, cost


def _swap(state: State, columns: Whole, cost: float) -> tuple[Whole, float]:
    """Turn one order off and another on where that saves."""
    places = {order.switch for order in state.problem.orders}
    on = switches_on(state.problem, columns)
    for shut in np.flatnonzero(on):
        if shut in state.problem.kept or shut not in places:
            continue
        for opened in np.flatnonzero(~on):
            if opened not in places:
                continue
            trial_on = _without(state, on, int(shut))
            trial_on[opened] = True
            trial = state.choose(trial_on, state.problem.cost)
            worth = state.worth(trial)
            if trial is not None and worth < cost - 0.5:
                columns, cost = trial, worth
                on = switches_on(state.problem, columns)
                break
    return columns, cost


def _gather(state: State, columns: Whole, cost: float) -> tuple[Whole, float]:
    """Draw goods towards one order at a time, up to each value from which it costs less."""
    for number, order in enumerate(state.problem.orders):
        for start in sorted({rung.start for rung in order.rungs}):
            trial = _reach(state, columns, number, start)
            worth = state.worth(trial)
            if trial is not None and worth < cost - 0.5:
                columns, cost = trial, worth
    return columns, cost


def _reach(state: State, columns: Whole, number: int, start: float) -> Whole | None:
    """Choose columns that give an order a goods value, at little cost; ``None`` if that fails.

    The order's goods are made cheaper by ever smaller steps of a bisection until just enough of
    them is chosen; what was moved beyond the need is moved back, the dearest first.
    """
    problem = state.problem
    order = problem.orders[number]
    on = switches_on(problem, columns)
    on[order.switch] = True
    on = with_parents(problem, on)
    goods = state.goods_of(number)
    lifted = on[problem.lift.left] & (problem.lift.right == number)
    lacking = start - float(problem.lift.value[lifted].sum())
    if goods[columns].sum() >= lacking:
        return None
    low, high, best = 0.0, 1.0, None
    for _ in range(8):
        pull = high if best is None else (low + high) / 2
        trial = state.choose(on, problem.cost - pull * order.rate * goods)
        if trial is not None and goods[trial].sum() >= lacking:
            best, high = trial, pull
        elif best is None:
            return None
        else:
            low = pull
    assert best is not None  # the loop returns before that
    spare = float(goods[best].sum()) - lacking
    gain = goods[best] - goods[columns]
    extra = problem.cost[best] - problem.cost[columns]
    moved = np.flatnonzero((gain > 0) & (extra > 0))
    for part in moved[np.argsort(-extra[moved] / gain[moved])]:
        if gain[part] <= spare:
            spare -= gain[part]
            best[part] = columns[part]
    return best

"""Exchanging the column of one part at a time, with what that does to every order's terms."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from kitting.sourcing.problem import add_up, order_goods

if TYPE_CHECKING:
    from kitting.sourcing.problem import Flags, Floats, Order, Problem, Whole

DEAR = 1e12
"""Stands for a charge that cannot be had [cents of the shop]."""
MOVES = 400
"""Most rounds of exchanges."""


class Charges:
    """Freight and filling up of all orders at once; rungs side by side."""

    def __init__(self, orders: tuple[Order, ...]) -> None:
        width = max((len(order.rungs) for order in orders), default=1)
        shape = (len(orders), width)
        self.start, self.end = np.zeros(shape), np.full(shape, -np.inf)
        self.freight, self.rate = np.zeros(shape), np.array([order.rate for order in orders])
        for number, order in enumerate(orders):
            for place, rung in enumerate(order.rungs):
                self.start[number, place], self.end[number, place] = rung.start, rung.end
                self.freight[number, place] = rung.freight

    def at(self, order: Whole, goods: Floats) -> Floats:
        """Return the charge of each order at a goods value [cents of the shop]."""
        missing = np.maximum(0.0, self.start[order] - goods[:, None])
        cost = self.freight[order] + self.rate[order][:, None] * missing
        return np.asarray(np.where(goods[:, None] <= self.end[order], cost, DEAR).min(axis=1))


def exchange(
    problem: Problem, columns: Whole, on: Flags, orders: tuple[Order, ...] | None = None
) -> Whole:
    """Exchange columns, always the one that saves most, while that saves.

    Parameters
    ----------
    columns
        The chosen column of each part.
    on
        Switches that may be used.
    orders
        Other terms of the orders, as when each is held to one freight.
    """
    charges = Charges(orders or problem.orders)
    allowed = np.ones(len(problem.cost), bool)
    allowed[problem.needs.left[~on[problem.needs.right]]] = False
    goods = problem.goods
    rows = allowed[goods.left]
    left, right, worth = goods.left[rows], goods.right[rows], goods.value[rows]
    part = problem.part[left]
    columns = columns.copy()
    own = np.zeros((problem.parts, len(problem.orders)))
    own_rows = np.isin(goods.left, columns)
    own[problem.part[goods.left[own_rows]], goods.right[own_rows]] = goods.value[own_rows]
    total = order_goods(problem, columns, on)
    every = np.arange(len(problem.orders))
    starts = np.searchsorted(problem.part, np.arange(problem.parts))
    for _ in range(MOVES):
        bare = charges.at(np.tile(every, problem.parts), (total - own).ravel()).reshape(own.shape)
        change = charges.at(right, total[right] - own[part, right] + worth) - bare[part, right]
        saved = (bare - charges.at(every, total)).sum(axis=1)
        delta = problem.cost - problem.cost[columns][problem.part] + saved[problem.part]
        delta = delta + add_up(left, change, len(delta))
        delta[~allowed] = np.inf
        least = np.minimum.reduceat(delta, starts)
        touched = np.zeros(len(every), bool)
        moved = False
        for place in np.argsort(least)[:50]:
            if least[place] > -0.5:
                break
            new = int(starts[place] + np.argmin(delta[starts[place] : _end(starts, place, delta)]))
            gained = np.zeros(len(every))
            mine = slice(*np.searchsorted(left, [new, new + 1]))
            gained[right[mine]] = worth[mine]
            reach = (gained > 0) | (own[place] > 0)
            if (reach & touched).any():
                continue
            touched |= reach
            total += gained - own[place]
            own[place], columns[place], moved = gained, new, True
        if not moved:
            break
    return columns


def _end(starts: Whole, place: int, delta: Floats) -> int:
    """Return the place after a part's last column."""
    return int(starts[place + 1]) if place + 1 < len(starts) else len(delta)

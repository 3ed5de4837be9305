"""The choice as arithmetic: columns, switches, orders and pools, and what an answer costs.

A *column* is one complete way to cover one part. A *switch* is something that is paid for once
however many columns use it: an order to a supplier, a hazard charge, one more set, one more day
for which a stage waits. A column may be chosen only when all its switches are on. An *order*
knows the terms that depend on the value of its goods, and a *pool* is a purchase that several
parts draw from.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]
    Whole = NDArray[np.int64]
    Flags = NDArray[np.bool_]


def _none() -> Whole:
    return np.empty(0, np.int64)


@dataclass(frozen=True)
class Links:
    """A sparse table: in row ``left`` and column ``right`` stands ``value``."""

    left: Whole = field(default_factory=_none)
    right: Whole = field(default_factory=_none)
    value: Floats = field(default_factory=lambda: np.empty(0))

    def only(self, keep: Flags, renumber: Whole) -> Links:
        """Keep the rows whose ``left`` is kept, and give them new numbers."""
        rows = keep[self.left]
        return Links(renumber[self.left[rows]], self.right[rows], self.value[rows])


@dataclass
class Rows:
    """Rows of a sparse table as they are gathered."""

    left: list[int] = field(default_factory=list)
    right: list[int] = field(default_factory=list)
    value: list[float] = field(default_factory=list)

    def add(self, left: int, right: int, value: float = 1.0) -> None:
        """Add a row."""
        self.left.append(left)
        self.right.append(right)
        self.value.append(value)

    def extend(self, counts: list[int], right: list[int], value: list[float]) -> None:
        """Add rows whose ``left`` counts up from 0, each as often as told."""
        self.left += np.repeat(np.arange(len(counts)), counts).tolist()
        self.right += right
        self.value += value

    def links(self) -> Links:
        """Return the table."""
        return Links(
            np.array(self.left, np.int64),
            np.array(self.right, np.int64),
            np.array(self.value, float),
        )


@dataclass(frozen=True, slots=True)
class Rung:
    """Goods values between which one freight holds; freight in cents of the shop."""

    start: float = 0.0
    end: float = float("inf")
    freight: float = 0.0


@dataclass(frozen=True)
class Order:
    """Terms of one order that depend on its goods, in cents of the seller.

    Parameters
    ----------
    switch
        The switch that is on when the order is placed.
    rungs
        Freight by goods value; the least order stands in their starts.
    most
        Most goods (or another load) that the seller gives; ``None`` = no limit.
    rate
        Cents of the shop for one cent of the seller.
    """

    switch: int
    rungs: tuple[Rung, ...] = (Rung(),)
    most: float | None = None
    rate: float = 1.0

    @property
    def plain(self) -> bool:
        """Tell whether nothing depends on the value of the goods."""
        first = self.rungs[0]
        open_ended = first.start <= 0 and first.end == float("inf")
        return len(self.rungs) == 1 and open_ended and self.most is None

    @property
    def bonus(self) -> float:
        """The most that goods can be worth beyond themselves [cents of the shop]."""
        freights = [rung.freight for rung in self.rungs]
        least = min(rung.start for rung in self.rungs)
        return max(freights) - min(freights) + self.rate * least

    @property
    def rising(self) -> bool:
        """Tell whether more goods may cost more freight."""
        return any(rung.end < float("inf") for rung in self.rungs)

    @property
    def top(self) -> float:
        """Goods value from which nothing more is gained."""
        return max(rung.start for rung in self.rungs)

    def charge(self, goods: float) -> float:
        """Return freight and filling up, where they cost least [cents of the shop]."""
        costs = [
            rung.freight + self.rate * max(0.0, rung.start - goods)
            for rung in self.rungs
            if goods <= rung.end
        ]
        return min(costs, default=float("inf"))


@dataclass(frozen=True)
class Problem:
    """Everything that decides the cost of an answer; costs in cents of the shop.

    Parameters
    ----------
    parts
        How many parts there are; exactly one column of each is chosen.
    part, cost
        Part and own cost of each column; columns stand in order of their part.
    needs
        Column, switch: what must be on for the column.
    switch_cost, parent
        Cost of each switch, and the switch that must be on before it (-1 = none).
    orders
        Orders, of which ``goods`` (column, order, value) and ``lift`` (switch, order, value) tell
        the goods.
    draws, holds
        Column, pool, units drawn; switch, pool, units put in.
    kept
        Switches that are on in any case.
    base
        What every answer costs besides.
    divisible
        Columns may be mixed, as when a demand can be split at will.
    """

    parts: int
    part: Whole
    cost: Floats
    needs: Links
    switch_cost: Floats
    parent: Whole
    orders: tuple[Order, ...] = ()
    goods: Links = field(default_factory=Links)
    lift: Links = field(default_factory=Links)
    draws: Links = field(default_factory=Links)
    holds: Links = field(default_factory=Links)
    kept: tuple[int, ...] = ()
    base: float = 0.0
    divisible: bool = False

    @property
    def starts(self) -> Whole:
        """First column of each part."""
        return np.searchsorted(self.part, np.arange(self.parts))

    def only(self, keep: Flags) -> Problem:
        """Return the problem with some columns left out."""
        number = np.cumsum(keep) - 1
        return replace(
            self,
            part=self.part[keep],
            cost=self.cost[keep],
            needs=self.needs.only(keep, number),
            goods=self.goods.only(keep, number),
            draws=self.draws.only(keep, number),
        )


@dataclass(frozen=True)
class Solution:
    """A choice of one column for each part.

    Parameters
    ----------
    columns
        The chosen column of each part.
    cost
        What it costs.
    bound
        What every answer costs at least, as far as it is proved.
    shares
        How much of each column is chosen, when columns may be mixed; else empty.
    """

    columns: Whole
    cost: float
    bound: float
    shares: Floats = field(default_factory=lambda: np.empty(0))


def switches_on(problem: Problem, columns: Whole) -> Flags:
    """Find the switches that chosen columns need, those before them and the pools' included."""
    chosen = np.zeros(len(problem.cost), bool)
    chosen[columns] = True
    on = np.zeros(len(problem.switch_cost), bool)
    on[problem.needs.right[chosen[problem.needs.left]]] = True
    on[list(problem.kept)] = True
    _fill_pools(problem, chosen, on)
    return with_parents(problem, on)


def with_parents(problem: Problem, on: Flags) -> Flags:
    """Turn on whatever must be on before what is on."""
    on = on.copy()
    ahead = np.flatnonzero(on)
    while len(ahead):
        before = problem.parent[ahead]
        before = np.unique(before[before >= 0])
        ahead = before[~on[before]]
        on[ahead] = True
    return on


def _fill_pools(problem: Problem, chosen: Flags, on: Flags) -> None:
    """Turn on the pools' switches, in their order, until they hold what is drawn."""
    draws, holds = problem.draws, problem.holds
    rows = chosen[draws.left]
    if not rows.any():
        return
    pools = int(holds.right.max(initial=-1)) + 1
    asked = add_up(draws.right[rows], draws.value[rows], pools)
    held = np.zeros(pools)
    for switch, pool, units in zip(holds.left, holds.right, holds.value, strict=True):
        if asked[pool] - held[pool] > 0.5:
            on[switch] = True
            held[pool] += units


def value(problem: Problem, columns: Whole) -> float:
    """Return the cost of choosing one column for each part."""
    on = switches_on(problem, columns)
    cost = problem.base + float(problem.cost[columns].sum() + problem.switch_cost[on].sum())
    goods = order_goods(problem, columns, on)
    for order, worth in zip(problem.orders, goods, strict=True):
        if on[order.switch]:
            cost += order.charge(worth)
    return cost


def order_goods(problem: Problem, columns: Whole, on: Flags) -> Floats:
    """Return the goods value of each order [cents of the seller]."""
    chosen = np.zeros(len(problem.cost), bool)
    chosen[columns] = True
    rows, more = chosen[problem.goods.left], on[problem.lift.left]
    size = len(problem.orders)
    own = add_up(problem.goods.right[rows], problem.goods.value[rows], size)
    return own + add_up(problem.lift.right[more], problem.lift.value[more], size)


def add_up(places: Whole, values: Floats, size: int) -> Floats:
    """Add values up by their place; the result has ``size`` places."""
    return np.bincount(places, values, minlength=size).astype(float)

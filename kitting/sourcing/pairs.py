"""Columns of many parts at once: each source alone, and two sources where that beats both.

The same columns as a search over pairs finds, for parts whose sources all come in time; every
source and every pair of all the parts stands in one array. Splits over three are left out.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

from kitting.sourcing.columns import LEVELS, Column
from kitting.sourcing.demand import total

if TYPE_CHECKING:
    from kitting.sourcing.columns import Source, Stakes
    from kitting.sourcing.demand import Needs
    from kitting.sourcing.problem import Floats, Whole


def suits(needs: Needs, sources: list[Source], stakes: Stakes) -> bool:
    """Tell whether a part has only sources of its own, in time and of the usual terms."""
    first = min((need.day for need in needs if need.need in stakes.stages), default=None)
    return not stakes.moving and all(
        source.tap < 0
        and not source.way.deal.seller.incremental
        and not source.way.deal.deposit
        and not stakes.rising[source.order]
        and (first is None or source.way.deal.usable <= first)
        for source in sources
    )


@dataclass(frozen=True)
class _Table:
    """All sources of all parts, one in a row; price steps side by side."""

    asked: Whole
    pack: Whole
    take: Whole
    give: Whole
    start: Whole
    least: Whole
    until: Whole
    price: Whole
    per: Whole
    above: Whole
    under: Whole

    @classmethod
    def of(cls, rows: list[tuple[int, Source]]) -> _Table:
        """Lay out the sources with the quantity that is asked of each."""
        deals = [source.way.deal for _, source in rows]
        width = max(len(deal.steps) for deal in deals)
        shape = (len(rows), width)
        start, least, price = np.zeros(shape, int), np.ones(shape, int), np.zeros(shape, int)
        until, per = np.zeros(shape, int), np.ones(shape, int)
        for row, deal in enumerate(deals):
            for place, step in enumerate(deal.steps):
                start[row, place], least[row, place] = step.from_packs, step.least_packs
                price[row, place], per[row, place] = step.price, step.per
                last = place + 1 == len(deal.steps)
                until[row, place] = 2**62 if last else deal.steps[place + 1].from_packs
        rates = [deal.seller.rate or 1 for deal in deals]
        return cls(
            np.array([asked for asked, _ in rows]),
            np.array([deal.pack for deal in deals]),
            np.array([source.way.take for _, source in rows]),
            np.array([source.way.give for _, source in rows]),
            start,
            least,
            until,
            price,
            per,
            np.array([rate.numerator for rate in rates]),
            np.array([rate.denominator for rate in rates]),
        )

    def covers(self, row: Whole, packs: Whole) -> Whole:
        """Return how much of the part some packs cover."""
        return np.asarray(packs * self.pack[row] * self.give[row] // self.take[row])

    def packs(self, row: Whole, quantity: Whole) -> Whole:
        """Return the packs that are enough for a quantity of the part."""
        units = -(-quantity * self.take[row] // self.give[row])
        return np.asarray(-(-units // self.pack[row]))

    def quote(self, row: Whole, quantity: Whole) -> tuple[Whole, Whole]:
        """Return the cents of the shop and of the seller for a quantity."""
        wanted = np.maximum(1, self.packs(row, quantity))
        packs = np.maximum(wanted[:, None], np.maximum(self.start[row], self.least[row]))
        units = packs * self.pack[row][:, None]
        cents = (2 * units * self.price[row] + self.per[row]) // (2 * self.per[row])
        own = np.where(packs < self.until[row], cents, 2**61).min(axis=1)
        above, under = self.above[row], self.under[row]
        return (2 * own * above + under) // (2 * under), own

    def least_unit(self, row: Whole, alone: Whole) -> Floats:
        """Return a cost that one unit of the part never falls below."""
        reached = self.start[row] <= self.packs(row, self.asked[row])[:, None]
        unit = np.where(reached, self.price[row] / self.per[row], np.inf).min(axis=1)
        unit *= self.above[row] / self.under[row] * self.take[row] / self.give[row]
        return np.asarray(np.minimum(unit, alone / self.asked[row]) - 1e-9)


def pair_columns(jobs: list[tuple[Needs, list[Source]]]) -> list[list[Column]]:
    """List the columns of many parts.

    Parameters
    ----------
    jobs
        Needs and sources of each part; each suits.
    """
    if not jobs:
        return []
    rows: list[tuple[int, Source]] = []
    first: list[int] = []
    for needs, sources in jobs:
        first.append(len(rows))
        asked = total(needs)
        rows += [(asked, s) for s in sorted(sources, key=lambda s: -s.covers(1))]
    first.append(len(rows))
    table = _Table.of(rows)
    every = np.arange(len(rows))
    alone, own = table.quote(every, table.asked)
    found: list[dict[int, Column]] = [{} for _ in jobs]
    owner = np.repeat(np.arange(len(jobs)), np.diff(first))
    for row, (cost, cents) in enumerate(zip(alone.tolist(), own.tolist(), strict=True)):
        asked, source = rows[row]
        column = Column(cost, ((source, asked),), source.marks, ((source.order, cents),), (), ())
        _keep(found[owner[row]], column)
    for left, right, quantity, costs, cents in zip(*_splits(table, alone, first), strict=True):
        asked, source = rows[left]
        other = rows[right][1]
        _keep(found[owner[left]], _split(source, other, quantity, asked - quantity, costs, cents))
    return [sorted(columns.values(), key=lambda c: c.cost) for columns in found]


def _keep(found: dict[int, Column], column: Column) -> None:
    """Keep the cheaper of two columns that need the same orders."""
    known = found.get(column.marks)
    if known is None or column.cost < known.cost:
        found[column.marks] = column


def _split(
    source: Source, other: Source, quantity: int, rest: int, costs: list[int], cents: list[int]
) -> Column:
    """Write the column of two sources."""
    goods: tuple[tuple[int, int], ...] = ((source.order, cents[0]), (other.order, cents[1]))
    if source.order == other.order:
        goods = ((source.order, cents[0] + cents[1]),)
    lines = ((source, quantity), (other, rest))
    return Column(costs[0] + costs[1], lines, source.marks | other.marks, goods, (), ())


def _splits(
    table: _Table, alone: Whole, first: list[int]
) -> tuple[list[int], list[int], list[int], list[list[int]], list[list[int]]]:
    """Find the pairs that beat both their sources, each at its best quantity.

    Returns
    -------
    tuple
        Row of the first source (of the larger pack), row of the second, quantity of the first,
        and for both the cents of the shop and of the seller.
    """
    corners = {size: np.triu_indices(size, 1) for size in set(np.diff(first).tolist())}
    pairs = [(begin, corners[end - begin]) for begin, end in pairwise(first)]
    left = np.concatenate([begin + corner[0] for begin, corner in pairs])
    right = np.concatenate([begin + corner[1] for begin, corner in pairs])
    every = np.arange(len(alone))
    unit = table.least_unit(every, alone)
    enough = table.packs(every, table.asked)
    limit = np.minimum(alone[left], alone[right])
    best = limit.copy()
    quantity = np.zeros(len(left), int)
    for back in range(1, LEVELS + 1):
        packs = enough - back
        some = np.maximum(1, table.covers(every, np.maximum(1, packs)))
        part_cost = table.quote(every, some)[0]
        fits = (packs >= 1) & (some < table.asked)
        rest = table.asked - some
        hopeful = np.flatnonzero(fits[left] & (part_cost[left] + unit[right] * rest[left] < best))
        here, there = left[hopeful], right[hopeful]
        cost = part_cost[here] + table.quote(there, rest[here])[0]
        better = cost < best[hopeful]
        best[hopeful[better]] = cost[better]
        quantity[hopeful[better]] = some[here[better]]
    kept = np.flatnonzero(quantity)
    left, right, quantity = left[kept], right[kept], quantity[kept]
    one, two = table.quote(left, quantity), table.quote(right, table.asked[left] - quantity)
    costs = np.stack([one[0], two[0]], axis=1).tolist()
    cents = np.stack([one[1], two[1]], axis=1).tolist()
    return left.tolist(), right.tolist(), quantity.tolist(), costs, cents

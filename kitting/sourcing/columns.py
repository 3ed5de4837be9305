"""Columns: the sensible ways to cover one part completely, each priced exactly.

A column buys the part from one source, or splits it over several. Of two columns of a part the
one is left out that needs no less, comes no earlier and costs no less than the other, even when
the goods value that it gives to an order is counted for it at its most.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

from kitting.sourcing.demand import total
from kitting.sourcing.lateness import days_late, in_service

if TYPE_CHECKING:
    from collections.abc import Mapping

    from kitting.sourcing.demand import Needs
    from kitting.sourcing.market import Way

NODES = 1_000
"""Splits of one part that are looked at before only pairs of sources are tried."""
FEW_PARTS = 12
"""Parts up to which splits are listed that cost more and only move goods between orders."""
UNITS = 60
"""Units drawn from a purchase that others share up to which each number of units is tried."""
LEVELS = 8
"""Pack counts of a source that are tried in a pair, the largest first."""


@dataclass(frozen=True, slots=True)
class Source:
    """A way to cover a part, as the columns see it.

    Parameters
    ----------
    way
        The deal and the ratio in which its part serves.
    marks
        Bits of the order and of its hazard charge.
    order
        Number of the order.
    tap
        Number of the purchase that several parts draw from; -1 = the part's own purchase.
    """

    way: Way
    marks: int
    order: int
    tap: int = -1

    def covers(self, packs: int) -> int:
        """Return how much of the part some packs cover."""
        return self.holds(packs * self.way.deal.pack)

    def holds(self, units: int) -> int:
        """Return how much of the part some units cover."""
        return units * self.way.give // self.way.take

    def arrives(self, quantity: int) -> int:
        """Return how much of the part comes when a quantity of it is asked.

        The rest of a pack comes too, unless other parts may draw it.
        """
        if self.tap >= 0:
            return self.holds(self.way.units(quantity))
        return max(quantity, self.covers(self.packs(quantity)))

    def packs(self, quantity: int) -> int:
        """Return the packs that are enough for a quantity of the part."""
        return -(-self.way.units(quantity) // self.way.deal.pack)


class Column(NamedTuple):
    """One complete way to cover one part.

    Parameters
    ----------
    cost
        Cost of its own lines [cents of the shop].
    lines
        Each source and the quantity of the part that is asked of it.
    marks
        Bits of the orders and hazard charges that must be paid for.
    goods
        Order and the goods value given to it [cents of the seller].
    draws
        Tap and the units drawn from it.
    late
        Stage and the working days it must wait, where it must.
    """

    cost: int
    lines: tuple[tuple[Source, int], ...]
    marks: int
    goods: tuple[tuple[int, int], ...]
    draws: tuple[tuple[int, int], ...]
    late: tuple[tuple[int, int], ...]


@dataclass(frozen=True)
class Stakes:
    """What a column may weigh beyond its cost.

    Parameters
    ----------
    bonus
        Most that goods are worth to an order beyond themselves [cents of the shop].
    rate
        Cents of the shop for one cent of each order's seller.
    rising
        More goods may cost an order more freight.
    stages
        Number of the stage of each need; needs that cost nothing when late have none.
    moving
        Splits are listed that cost more and only move goods between orders.
    """

    bonus: tuple[float, ...]
    rate: tuple[float, ...]
    rising: tuple[bool, ...]
    stages: Mapping[int, int]
    moving: bool = False


def columns_of(needs: Needs, sources: list[Source], stakes: Stakes) -> list[Column]:
    """List the columns of one part, the cheapest first.

    Splits over any number of sources are tried while they are few, beyond ``NODES`` only pairs.

    Parameters
    ----------
    needs
        At least one need, all of one part.
    sources
        At least one source.
    """
    by_day = sorted(sources, key=lambda s: (s.way.deal.usable, -s.covers(1)))
    search = _Search(needs, by_day, stakes, thorough=True)
    try:
        search.run()
        return _undominated(search.found, stakes)
    except _TooMany:
        pass
    found: list[Column] = []
    by_pack = sorted(sources, key=lambda s: -s.covers(1))
    for order in (by_pack, by_day) if by_pack != by_day else (by_pack,):
        search = _Search(needs, order, stakes, thorough=False)
        search.run()
        found += search.found
    return _undominated(found, stakes)


class _TooMany(Exception):
    """The search for splits has looked at too many."""


class _Search:
    """A depth-first search for the splits of one part.

    Of each source but the last whole packs are taken. With the sources in order of their day that
    leaves nothing out, since what comes first is also used first.
    """

    def __init__(
        self, needs: Needs, sources: list[Source], stakes: Stakes, *, thorough: bool
    ) -> None:
        self.needs = in_service(needs, stakes.stages)
        self.asked = total(needs)
        self.sources = sources
        self.stakes = stakes
        self.deepest = len(sources) if thorough else 2
        self.thorough = thorough
        self.nodes = 0
        self.found: list[Column] = []
        self.prices: list[dict[int, tuple[int, int]]] = [{} for _ in sources]
        first = min((n.day for n in needs if n.need in stakes.stages), default=None)
        self.punctual = [first is None or s.way.deal.usable <= first for s in self.sources]
        orders = {s.order for s in sources} if stakes.moving else set()
        self.bonus = sum(stakes.bonus[order] for order in orders)
        self.limits = [self._limit(place) for place in range(len(sources))]
        units = [self._least_unit(place) for place in range(len(sources))]
        self.least = [min(units[place:], default=0.0) for place in range(len(sources) + 1)]

    def run(self) -> None:
        """Find the columns."""
        self._extend(0, self.asked, 0, (), float("inf"))

    def _price(self, place: int, quantity: int) -> tuple[int, int]:
        """Return cents of the shop and of the seller for a quantity; nothing for a tap."""
        known = self.prices[place].get(quantity)
        if known is None:
            way = self.sources[place].way
            known = (0, 0)
            if self.sources[place].tap < 0:
                quote = way.deal.quote(way.units(quantity))
                known = (way.deal.paid(quote), quote.cost)
            self.prices[place][quantity] = known
        return known

    def _limit(self, place: int) -> float:
        """Return what no split with this source needs to exceed: the source alone, if in time."""
        if not self.punctual[place] or self.sources[place].tap >= 0:
            return float("inf")
        order = self.sources[place].order
        dearer = self.stakes.bonus[order] if self.stakes.rising[order] else 0.0
        return self._price(place, self.asked)[0] + self.bonus + dearer

    def _least_unit(self, place: int) -> float:
        """Return a cost that one unit of the part never falls below."""
        source = self.sources[place]
        if source.tap >= 0:
            return 0.0
        enough, deal = source.packs(self.asked), source.way.deal
        rate = float(deal.seller.rate or 1)
        prices = [
            rate * step.price / step.per * source.way.take / source.way.give
            for step in deal.steps
            if step.from_packs <= enough
        ]
        return min([*prices, self._price(place, self.asked)[0] / self.asked]) - 1e-9

    def _extend(
        self,
        start: int,
        rest: int,
        cost: int,
        lines: tuple[tuple[int, int], ...],
        limit: float,
    ) -> None:
        """Cover the rest by each further source, wholly, or partly with others after it."""
        for place in range(start, len(self.sources)):
            self.nodes += 1
            if self.thorough and self.nodes > NODES:
                raise _TooMany
            here = min(limit, self.limits[place])
            all_of_it = cost + self._price(place, rest)[0]
            if not lines or all_of_it < here:
                self._keep((*lines, (place, rest)), all_of_it)
            if len(lines) + 1 >= self.deepest or place + 1 == len(self.sources):
                continue
            if cost + rest * self.least[place] >= here:
                continue
            for quantity in self._levels(place, rest):
                so_far = cost + self._price(place, quantity)[0]
                if so_far + (rest - quantity) * self.least[place + 1] < here:
                    more = (*lines, (place, quantity))
                    self._extend(place + 1, rest - quantity, so_far, more, here)

    def _levels(self, place: int, rest: int) -> list[int]:
        """List the quantities below the rest that are tried of a source, the largest first.

        Whole packs, or few whole units where other parts may draw the rest of a pack.
        """
        source = self.sources[place]
        loose = source.tap >= 0 and source.way.units(rest) <= UNITS
        most = (source.way.units(rest) if loose else source.packs(rest)) - 1
        if self.thorough and most > NODES:
            raise _TooMany
        least = 1 if self.thorough else max(1, most - LEVELS + 1)
        found = {source.holds(n) if loose else source.covers(n) for n in range(least, most + 1)}
        if not self.thorough:
            so_far = 0
            for need in self.needs[:LEVELS]:
                so_far += need.quantity
                found.add(source.covers(source.packs(so_far)))
        return sorted((q for q in found if 0 < q < rest), reverse=True)

    def _keep(self, lines: tuple[tuple[int, int], ...], cost: int) -> None:
        """Write a column down."""
        goods: dict[int, int] = {}
        marks, draws, arrivals = 0, [], []
        late: tuple[tuple[int, int], ...] = ()
        for place, quantity in lines:
            source = self.sources[place]
            deal = source.way.deal
            arrivals.append((deal.usable, source.arrives(quantity)))
            if source.tap >= 0:
                draws.append((source.tap, source.way.units(quantity)))
                continue
            marks |= source.marks
            own = self._price(place, quantity)[1]
            goods[source.order] = goods.get(source.order, 0) + own
        if not all(self.punctual[place] for place, _ in lines):
            late = days_late(self.needs, arrivals, self.stakes.stages)
        chosen = tuple((self.sources[place], quantity) for place, quantity in lines)
        self.found.append(
            Column(cost, chosen, marks, tuple(goods.items()), tuple(sorted(draws)), late)
        )


def _undominated(columns: list[Column], stakes: Stakes) -> list[Column]:
    """Leave out every column that another beats in all that counts."""
    kept: list[Column] = []
    for column in sorted(columns, key=lambda c: (c.cost, len(c.lines), len(c.late))):
        if not any(_beats(other, column, stakes) for other in kept):
            kept.append(column)
    return kept


def _beats(other: Column, column: Column, stakes: Stakes) -> bool:
    """Tell whether another column may stand wherever this one does, at no more cost."""
    if other.marks & ~column.marks:
        return False
    if other.draws and not _within(other.draws, column.draws):
        return False
    if other.late and not _within(other.late, column.late):
        return False
    room = float(column.cost - other.cost)
    given = dict(other.goods)
    for order, goods in column.goods:
        bonus = stakes.bonus[order]
        if bonus:
            lost = goods - given.get(order, 0)
            if lost > 0:
                room -= min(lost * stakes.rate[order], bonus)
            elif lost < 0 and stakes.rising[order]:
                room -= bonus
    return room >= 0


def _within(less: tuple[tuple[int, int], ...], more: tuple[tuple[int, int], ...]) -> bool:
    """Tell whether each entry of the first stands in the second with at least its number."""
    known = dict(more)
    return all(known.get(key, 0) >= number for key, number in less)

"""Wiring columns to switches: orders, hazard charges, shared purchases and waiting stages."""

from __future__ import annotations

from dataclasses import dataclass, field
from itertools import chain
from typing import TYPE_CHECKING

import numpy as np

from kitting.sourcing.problem import Order, Problem, Rows, Rung

if TYPE_CHECKING:
    from collections.abc import Mapping

    from kitting.sourcing.columns import Column
    from kitting.sourcing.market import Deal
    from kitting.sourcing.sellers import Seller

PACKS = 300
"""Pack counts of a shared purchase that are priced one by one; beyond, evenly spaced ones."""


@dataclass(frozen=True, slots=True)
class Tap:
    """Where parts draw from a shared purchase.

    Parameters
    ----------
    deal
        The shared purchase.
    content
        The part that is taken out of the set; blank = the deal's part itself.
    """

    deal: Deal
    content: str


def order_of(seller: Seller, switch: int) -> Order:
    """Write a seller's terms as an order of the problem."""
    rungs = []
    for place, (start, freight) in enumerate(seller.steps):
        later = seller.steps[place + 1 :]
        dearer = any(more > freight for _, more in later)
        end = float(later[0][0] - 1) if dearer else float("inf")
        begin = float(max(start, seller.least_order))
        if begin <= end:
            rungs.append(Rung(begin, end, float(seller.in_shop_money(freight))))
    return Order(switch, tuple(rungs), None, float(seller.rate or 1))


@dataclass
class Wiring:
    """The problem as it is put together.

    Parameters
    ----------
    columns, part
        Columns in order of their part, and the number of the part of each.
    orders
        Orders by the number of the seller; their switches are the first ones.
    parcel_cost
        What each order costs to handle [cents of the shop].
    """

    columns: list[Column]
    part: list[int]
    orders: list[Order]
    parcel_cost: int
    base: int = 0
    cost: list[float] = field(default_factory=list)
    parent: list[int] = field(default_factory=list)
    needs: Rows = field(default_factory=Rows)
    lift: Rows = field(default_factory=Rows)
    draws: Rows = field(default_factory=Rows)
    holds: Rows = field(default_factory=Rows)
    hazard: dict[int, int] = field(default_factory=dict)
    waiting: list[int] = field(default_factory=list)

    def switch(self, cost: float, parent: int = -1) -> int:
        """Add a switch and return its number."""
        self.cost.append(cost)
        self.parent.append(parent)
        return len(self.cost) - 1

    def wire_orders(self, charges: list[int]) -> None:
        """Link columns to the orders and hazard charges that their marks tell.

        Parameters
        ----------
        charges
            Hazard charge of each order [cents of the shop].
        """
        for order in self.orders:
            assert self.switch(self.parcel_cost) == order.switch
        for number, charge in enumerate(charges):
            if charge:
                self.hazard[number] = self.switch(charge, self.orders[number].switch)
        known = {marks: self._marked(marks) for marks in {c.marks for c in self.columns}}
        marked = [known[column.marks] for column in self.columns]
        right = list(chain.from_iterable(marked))
        self.needs.extend([len(found) for found in marked], right, [1.0] * len(right))

    def _marked(self, marks: int) -> list[int]:
        """Return the switches of some marks."""
        found = []
        for number, order in enumerate(self.orders):
            if marks >> (2 * number) & 1:
                found.append(order.switch)
            if marks >> (2 * number + 1) & 1 and number in self.hazard:
                found.append(self.hazard[number])
        return found

    def wire_waits(self, late_costs: list[int]) -> None:
        """Link columns to the days that stages wait; what must be waited anyway is the base.

        Parameters
        ----------
        late_costs
            Cost of a day that each stage waits [cents of the shop].
        """
        least: dict[int, dict[int, int]] = {}
        for column, part in zip(self.columns, self.part, strict=True):
            late = dict(column.late)
            known = least.get(part)
            if known is None:
                least[part] = late
            elif known:
                least[part] = {s: min(d, late[s]) for s, d in known.items() if s in late}
        bases: dict[int, int] = {}
        for found in least.values():
            for stage, days in found.items():
                bases[stage] = max(bases.get(stage, 0), days)
        self.base = sum(late_costs[stage] * days for stage, days in bases.items())
        reached = {pair for column in self.columns for pair in column.late}
        switches: dict[tuple[int, int], int] = {}
        before: dict[int, tuple[int, int]] = {}
        for stage, days in sorted(reached):
            since, parent = before.get(stage, (bases.get(stage, 0), -1))
            if days > since:
                switches[stage, days] = self.switch(late_costs[stage] * (days - since), parent)
                before[stage] = (days, switches[stage, days])
        self.waiting = list(switches.values())
        for place, column in enumerate(self.columns):
            for pair in column.late:
                if pair in switches:
                    self.needs.add(place, switches[pair])

    def wire_pools(
        self, taps: list[Tap], numbers: Mapping[str, int], hazardous: frozenset[str]
    ) -> None:
        """Price the shared purchases level by level and link what is drawn from them."""
        asked: dict[int, dict[int, int]] = {}
        for column, part in zip(self.columns, self.part, strict=True):
            for tap, units in column.draws:
                parts = asked.setdefault(tap, {})
                parts[part] = max(parts.get(part, 0), units)
        levels: dict[int, list[tuple[int, int]]] = {}
        for deal in dict.fromkeys(tap.deal for tap in taps):
            own = [n for n, tap in enumerate(taps) if tap.deal is deal and not tap.content]
            inside = [n for n, tap in enumerate(taps) if tap.deal is deal and tap.content]
            most = sum(sum(asked.get(n, {}).values()) for n in own)
            most += max((max(asked.get(n, {0: 0}).values()) for n in inside), default=0)
            if not most:
                continue
            found = self._levels(deal, most, numbers[deal.seller.name], deal.part in hazardous)
            levels.update(dict.fromkeys([*own, *inside], found))
            users = sum(len(asked.get(n, ())) for n in own)
            if users > 1 or (users and inside):
                self._rows(own, inside, found)
        for place, column in enumerate(self.columns):
            for tap, units in column.draws:
                switch = next(s for s, held in levels[tap] if held >= units)
                self.needs.add(place, switch)

    def _levels(self, deal: Deal, most: int, order: int, hazardous: bool) -> list[tuple[int, int]]:
        """Add a switch for each sensible pack count of a deal; return it and the units held."""
        count = -(-most // deal.pack)
        tried = sorted({count, *range(1, count + 1, max(1, count // PACKS))})
        before = self.orders[order].switch
        if hazardous:
            before = self.hazard.get(order, before)
        levels: list[tuple[int, int]] = []
        paid, goods, packs = 0, 0, 0
        for wanted in tried:
            quote = deal.quote(wanted * deal.pack)
            if quote.packs <= packs:
                continue
            before = self.switch(deal.paid(quote) - paid, before)
            self.lift.add(before, order, float(quote.cost - goods))
            levels.append((before, quote.packs * deal.pack))
            paid, goods, packs = deal.paid(quote), quote.cost, quote.packs
        return levels

    def _rows(self, own: list[int], inside: list[int], levels: list[tuple[int, int]]) -> None:
        """Let all that is drawn at a time not exceed what the levels hold."""
        for taken in inside or [-1]:
            row = len(set(self.holds.right))
            together = {*own, taken}
            for place, column in enumerate(self.columns):
                units = sum(units for tap, units in column.draws if tap in together)
                if units:
                    self.draws.add(place, row, float(units))
            before = 0
            for switch, held in levels:
                self.holds.add(switch, row, float(held - before))
                before = held

    def problem(self, parts: int, kept: tuple[int, ...]) -> Problem:
        """Return the problem."""
        goods = Rows()
        given = [column.goods for column in self.columns]
        goods.extend(
            [len(some) for some in given],
            [order for some in given for order, _ in some],
            [float(value) for some in given for _, value in some],
        )
        return Problem(
            parts=parts,
            part=np.array(self.part, np.int64),
            cost=np.array([column.cost for column in self.columns], float),
            needs=self.needs.links(),
            switch_cost=np.array(self.cost, float),
            parent=np.array(self.parent, np.int64),
            orders=tuple(self.orders),
            goods=goods.links(),
            lift=self.lift.links(),
            draws=self.draws.links(),
            holds=self.holds.links(),
            kept=kept,
            base=float(self.base),
        )

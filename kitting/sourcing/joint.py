"""How often to order from a supplier: its parts share the freight and the cost of the order."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from math import ceil, floor, inf, sqrt
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

    from kitting.sourcing.sellers import Seller

_SLACK = 1e-9
_SHORTEST = 1 / 260
"""A working day, in years: nobody orders more often."""


@dataclass(frozen=True, slots=True)
class Shared:
    """What a part adds when it is ordered together with others.

    Parameters
    ----------
    fixed
        Cost of having the part in an order [money].
    holding
        Cost of holding a unit for a year, times the units used in a year; above zero.
    least
        Time that the least quantity lasts [years]; orders that come within it are passed over.
    """

    fixed: float
    holding: float
    least: float = 0.0

    def turn(self, cycle: float) -> int:
        """Return in every how many-th order the part is best bought, with one in ``cycle``."""
        ratio = 2 * self.fixed / (self.holding * cycle * cycle)
        best = ceil((sqrt(1 + 4 * ratio) - 1) / 2 - _SLACK)
        return max(1, best, floor(self.least / cycle + _SLACK))


@dataclass(frozen=True, slots=True)
class Rhythm:
    """How often to order, and which part in every how many-th order.

    Parameters
    ----------
    cycle
        Time from order to order [years].
    turns
        1 = in each order, 2 = in every second ..., by part.
    cost
        Orders and holding in a year [money].
    """

    cycle: float
    turns: tuple[int, ...]
    cost: float


def together(
    fixed: float, parts: Sequence[Shared], between: tuple[float, float] = (0.0, inf)
) -> Rhythm:
    """Return how often to order parts that share the cost of an order, exactly.

    The best turns change at known cycles only, and between two of these one cycle is best, so that
    all are compared (the problem for which E. A. Silver, Management Science 22:1351-1361, 1976,
    gives a rule of thumb).

    Parameters
    ----------
    fixed
        Cost of an order, whatever is in it [money]; above zero unless a shortest cycle is given.
    parts
        The parts, one at least.
    between
        Shortest and longest cycle [years].
    """
    shortest, longest = between
    start = min(max(sqrt(2 * fixed / sum(p.holding for p in parts)), shortest), longest)
    best = _rhythm(fixed, parts, start, tuple(p.turn(start) for p in parts))
    # Cycles at which the orders alone cost more than that need no look.
    shortest = min(max(shortest, fixed / best.cost), start)
    marks = {shortest, longest}
    for part in parts:
        for turn in range(1, part.turn(shortest) + 1):
            marks |= {sqrt(2 * part.fixed / (part.holding * turn * (turn + 1))), part.least / turn}
    for at, until in pairwise(sorted(m for m in marks if shortest <= m <= longest)):
        turns = tuple(p.turn((at + until) / 2 if until < inf else 2 * at) for p in parts)
        orders = fixed + sum(p.fixed / k for p, k in zip(parts, turns, strict=True))
        held = sum(p.holding * k for p, k in zip(parts, turns, strict=True))
        found = _rhythm(fixed, parts, min(max(sqrt(2 * orders / held), at), until), turns)
        best = min(best, found, key=lambda r: r.cost)
    return best


def _rhythm(fixed: float, parts: Sequence[Shared], cycle: float, turns: tuple[int, ...]) -> Rhythm:
    """Cost orders and holding of a year."""
    cost = fixed / cycle
    for part, turn in zip(parts, turns, strict=True):
        cost += part.fixed / (turn * cycle) + part.holding * turn * cycle / 2
    return Rhythm(cycle, turns, cost)


def from_seller(
    seller: Seller, parcel_cost: float, goods: float, parts: Sequence[Shared], longest: float
) -> tuple[Rhythm, int]:
    """Return how often to order from a seller, and the freight of the usual order [its cents].

    Each step of the freight holds for the cycles in which the use comes to its goods value.

    Parameters
    ----------
    seller
        The seller; its least order bounds the cycle unless goods would keep too long.
    parcel_cost
        Cost of an order besides freight [cents].
    goods
        Goods of a year [cents of the seller].
    parts
        The parts, each with its least quantity.
    longest
        Longest cycle, as by shelf life [years].
    """
    ways = []
    for place, (start, freight) in enumerate(seller.steps):
        later = seller.steps[place + 1 :]
        until = min(later[0][0] / goods if later else inf, longest)
        at = max(min(max(start, seller.least_order) / goods, longest), _SHORTEST)
        if start / goods <= until and at <= max(until, _SHORTEST):
            fixed = parcel_cost + seller.in_shop_money(freight)
            ways.append((together(fixed, parts, (at, max(until, at))), freight))
    return min(ways, key=lambda way: way[0].cost)

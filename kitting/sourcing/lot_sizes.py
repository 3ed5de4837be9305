"""How much to order at a time: for known needs exactly, for steady use the economic quantity."""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil, floor, inf, sqrt
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence


@dataclass(frozen=True, slots=True)
class Lot:
    """A quantity and what ordering it again and again costs.

    Parameters
    ----------
    quantity
        How much at a time.
    cost
        Goods, orders and holding [money per time].
    """

    quantity: float
    cost: float


def lots(
    needs: Sequence[float],
    fixed: Sequence[float],
    holding: float,
    price: Sequence[float] | None = None,
) -> tuple[list[float], float]:
    """Return what to order in each period so that known needs cost least, exactly.

    Some best plan orders only when nothing is left, so each order covers whole periods; the
    cheapest way to cover the first periods is found from the ways to cover fewer of them (H. M.
    Wagner and T. M. Whitin, Management Science 5:89-96, 1958).

    Parameters
    ----------
    needs
        Need of each period; an order comes in at its start.
    fixed
        Cost of an order in each period [money].
    holding
        Cost of a unit left at the end of a period [money].
    price
        Cost of a unit in each period; none = the same in all, and left out.

    Returns
    -------
    tuple
        Orders by period, and their least cost [money].
    """
    count = len(needs)
    least, since = [0.0, *[inf] * count], [0] * (count + 1)
    for start in range(count):
        unit = price[start] if price is not None else 0.0
        cost, ordered = 0.0, 0.0
        for end in range(start, count):
            cost += needs[end] * (unit + holding * (end - start))
            ordered += needs[end]
            total = least[start] + cost + (fixed[start] if ordered > 0 else 0.0)
            if total < least[end + 1]:
                least[end + 1], since[end + 1] = total, start
    plan, end = [0.0] * count, count
    while end:
        start = since[end]
        plan[start] = float(sum(needs[start:end]))
        end = start
    return plan, least[count]


def with_breaks(
    terms: tuple[float, float, float],
    breaks: Sequence[tuple[float, float]],
    step: float = 0.0,
    most: float = inf,
    *,
    incremental: bool = False,
) -> Lot:
    """Return the quantity that costs least where the price falls with the quantity, exactly.

    Without a break it is the quantity at which orders and holding cost alike (F. W. Harris, 1913).
    Between two breaks the cost falls to one lowest point and rises again, so that this point, the
    ends and, in whole packs, its neighbours are all that need be compared (L. V. Snyder and Z. M.
    Shen, Fundamentals of Supply Chain Theory, 2nd edition, section 3.4).

    Parameters
    ----------
    terms
        Cost of an order [money], share of a unit's price that holding it costs for the time of the
        use, and the use [units per time].
    breaks
        Quantity from which a price holds, and the price of a unit [money]; the first is the least
        that may be ordered.
    step
        Quantities are multiples of it; 0 = any.
    most
        Largest quantity, as by shelf life; the least that may be ordered is exceeded by nothing.
    incremental
        Each price holds for the units above its break, not for all.
    """
    fixed, share, rate = terms
    most = max(most, breaks[0][0])
    best, before = Lot(0.0, inf), 0.0
    for place, (start, price) in enumerate(breaks):
        if incremental and place:
            before += (breaks[place - 1][1] - price) * start
        until = min(breaks[place + 1][0] if place + 1 < len(breaks) else inf, most)
        extra = before if incremental else 0.0
        lowest = sqrt(2 * (fixed + extra) * rate / (share * price)) if share * price else inf
        for quantity in _near(lowest, (start, until), step):
            goods = rate * price + (fixed + extra) * rate / quantity
            cost = goods + share * (price * quantity + extra) / 2
            if cost < best.cost:
                best = Lot(quantity, cost)
    return best


def _near(lowest: float, between: tuple[float, float], step: float) -> list[float]:
    """List the quantities of a stretch that may cost least: the lowest point or its neighbours."""
    start, until = between
    at = min(max(lowest, start), until)
    if not step:
        return [at] if 0 < at < inf else []
    if at == inf:
        return []
    found = [floor(at / step) * step, ceil(at / step) * step]
    return [q for q in found if q > 0 and start <= q <= until]

"""How much to keep so that the work seldom waits: demand during a lead time, and what it is worth.

Shares are lists: the chance of 0, 1, 2 ... units.
"""

from __future__ import annotations

from math import exp
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

_REST = 1e-10
"""What may be left out of a distribution."""
_MOST = 100_000


def critical_ratio(short: float, over: float) -> float:
    """Return the chance of covering demand at which one more unit costs as much as it saves.

    Parameters
    ----------
    short
        Cost of a unit too few [money].
    over
        Cost of a unit too many [money].
    """
    return short / (short + over)


def least_enough(shares: Sequence[float], ratio: float) -> int:
    """Return the fewest units that cover the demand with at least some chance."""
    sure = 0.0
    for units, share in enumerate(shares):
        sure += share
        if sure >= ratio - 1e-12:
            return units
    return len(shares) - 1


def expected_cost(shares: Sequence[float], units: int, short: float, over: float) -> float:
    """Return what too few and too many units cost on average [money]."""
    return sum(
        share * (over * (units - d) if d < units else short * (d - units))
        for d, share in enumerate(shares)
    )


def demand_shares(
    rate: float, sizes: Mapping[int, float], days: Mapping[int, float]
) -> list[float]:
    """Return the demand during a lead time when jobs come at random and take what past jobs took.

    For each length of the lead time the jobs are Poisson and the sum is found by recursion (H. H.
    Panjer, ASTIN Bulletin 12:22-26, 1981).

    Parameters
    ----------
    rate
        Jobs per day.
    sizes
        Chance that a job takes so many units, one at least.
    days
        Chance that the lead time is so many days.
    """
    parts = [(_compound(rate * length, sizes), chance) for length, chance in days.items() if chance]
    found = [0.0] * max(len(shares) for shares, _ in parts)
    for shares, chance in parts:
        for units, share in enumerate(shares):
            found[units] += chance * share
    return found


def passed(sizes: Mapping[int, float], quantity: int) -> list[float]:
    """Return how far below its level the shelf is when it is seen to be time to order.

    A job that takes several units passes the level more often than it meets it. Where the same
    quantity is ordered again and again, what is had and ordered is equally often at each of
    level + 1 ... level + quantity before a job (G. Hadley and T. M. Whitin, Analysis of Inventory
    Systems, 1963, section 4-2), so that the units below follow from the sizes of jobs alone.

    Parameters
    ----------
    sizes
        Chance that a job takes so many units, one at least; their greatest common divisor is one.
    quantity
        Units that are ordered at a time, one at least.
    """
    beyond = [sum(f for s, f in sizes.items() if s > n) for n in range(max(sizes))]
    shares = [
        here - (beyond[n + quantity] if n + quantity < len(beyond) else 0.0)
        for n, here in enumerate(beyond)
    ]
    return [share / sum(shares) for share in shares]


def _compound(jobs: float, sizes: Mapping[int, float]) -> list[float]:
    """Return the shares of the sum over a Poisson number of jobs."""
    shares, total = [exp(-jobs)], exp(-jobs)
    while total < 1 - _REST and len(shares) < _MOST:
        n = len(shares)
        share = jobs / n * sum(s * f * shares[n - s] for s, f in sizes.items() if s <= n)
        shares.append(share)
        total += share
    return shares

"""Which sizes to have on the shelf, so that the right ones are there with a stated chance.

Each of some places wants one of the sizes, by shares, each place for itself. The wants by size are
then multinomial, and the chance that what is held suffices is exact: the sizes are gone through in
turn, each taking its share of the places that are left. The cheapest choice is found by branch
and bound; the bound is that wants are negatively associated (K. Joag-Dev, F. Proschan, Annals of
Statistics 11:286-295, 1983, from memory), so that the chance for all sizes is at most the product
of those for each.
"""

from __future__ import annotations

from bisect import bisect_left
from dataclasses import dataclass
from math import log, log1p
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

# Chances and their logarithms are compared up to this.
TIGHT = 1e-12


@dataclass(frozen=True, slots=True)
class Held:
    """One way to hold a size.

    Parameters
    ----------
    places
        How many places it serves.
    cost
        What it costs beyond what is there [cents].
    buy
        How much is bought [base units].
    """

    places: int
    cost: int
    buy: int = 0


def chance_of(shares: Sequence[float], held: Sequence[int], places: int) -> float:
    """Return the chance that every place finds its size.

    Parameters
    ----------
    shares
        Share of the places that want each size; together 1.
    held
        How many places each size can serve.
    places
        How many places there are.
    """
    rest = _nothing(places)
    for share, tail, many in reversed(list(zip(shares, _tails(shares), held, strict=True))):
        rest = _with(rest, _wants(places, share, tail))[:, min(many, places)]
    return float(rest[places])


def _tails(shares: Sequence[float]) -> list[float]:
    """Return the sum of the shares from each size on."""
    return [float(t) for t in np.cumsum(np.asarray(shares, dtype="float64")[::-1])[::-1]]


def _nothing(places: int) -> NDArray[np.float64]:
    """Return the chance that no size serves 0, 1 ... places: only none is served by none."""
    rest = np.zeros(places + 1)
    rest[0] = 1.0
    return rest


def _wants(places: int, share: float, tail: float) -> NDArray[np.float64]:
    """Return the chance that 0, 1 ... (columns) of 0, 1 ... (rows) places want a size.

    ``share`` is that of the size, ``tail`` that of all sizes that these places may want.
    """
    own = min(share / tail, 1.0) if tail > 0 else 0.0
    return _binomial(np.arange(places + 1)[:, None], own, places + 1)


def _with(rest: NDArray[np.float64], wants: NDArray[np.float64]) -> NDArray[np.float64]:
    """Add a size before those that are there.

    Parameters
    ----------
    rest
        Chance that those there suffice for 0, 1 ... places which want one of them.
    wants
        From ``_wants``.

    Returns
    -------
    array
        Chance that all suffice for 0, 1 ... places (rows) when the size serves 0, 1 ... (columns).
    """
    count = np.arange(len(rest))
    left = count[:, None] - count[None, :]
    served = np.where(left >= 0, rest[np.maximum(left, 0)], 0.0)
    return np.asarray(np.cumsum(wants * served, axis=1))


def _binomial(counts: NDArray[np.int64], share: float, length: int) -> NDArray[np.float64]:
    """Return the chance that 0, 1 ... (columns) of ``counts`` (rows) places want a size."""
    wanted = np.arange(length)
    others = np.maximum(counts - wanted, 0)
    log_factorial = np.append(
        0.0, np.cumsum(np.log(np.arange(1, max(int(counts.max()), length) + 1)))
    )
    ways = log_factorial[counts] - log_factorial[wanted] - log_factorial[others]
    neither = log1p(-share) if share < 1 else -1e9
    chance = np.exp(np.minimum(ways + wanted * _log(share) + others * neither, 0.0))
    return np.asarray(np.where(wanted <= counts, chance, 0.0))


def _one(places: int, share: float) -> NDArray[np.float64]:
    """Return the chance that 0, 1 ... of ``places`` places want a size."""
    return np.asarray(_binomial(np.array([[places]]), share, places + 1)[0])


def cheapest(
    shares: Sequence[float], ways: Sequence[Sequence[Held]], places: int, chance: float
) -> list[Held] | None:
    """Return the cheapest way to hold every size so that the chance is reached.

    Parameters
    ----------
    shares
        Share of the places that want each size; together 1.
    ways
        Ways to hold each size, serving ever more places at ever more cost; the first is what is
        there already.
    places
        How many places there are.
    chance
        Chance to reach that every place finds its size, from 0 to 1.

    Returns
    -------
    list or None
        A way for each size; ``None`` when not even holding the most of each reaches the chance.
    """
    search = _Search(shares, ways, places, chance)
    if search.reached([way[-1] for way in ways]) < chance - TIGHT:
        return None
    search.best = search.greedy()
    search.best_cost = sum(h.cost for h in search.best)
    search.look(len(ways), _nothing(places), 0, [])
    return search.best


class _Search:
    """Branch and bound from the last size to the first."""

    def __init__(
        self,
        shares: Sequence[float],
        ways: Sequence[Sequence[Held]],
        places: int,
        chance: float,
    ) -> None:
        self.shares, self.ways = shares, ways
        self.places, self.chance = places, chance
        self.best: list[Held] = []
        self.best_cost = 0
        self.alone = [
            [_log(float(np.minimum(_one(places, s)[: h.places + 1].sum(), 1.0))) for h in way]
            for s, way in zip(shares, ways, strict=True)
        ]
        self.fronts = self._fronts()
        self.least = _log(chance - TIGHT)
        tails = _tails(shares)
        self.wants = [_wants(places, s, t) for s, t in zip(shares, tails, strict=True)]
        self.whole = [_one(places, min(t, 1.0)) for t in tails]

    def reached(self, held: Sequence[Held]) -> float:
        """Return the chance that a choice reaches."""
        rest = _nothing(self.places)
        for wants, one in zip(reversed(self.wants), reversed(held), strict=True):
            rest = _with(rest, wants)[:, one.places]
        return float(rest[self.places])

    def _fronts(self) -> list[tuple[list[float], list[int]]]:
        """Return, for the first sizes, least costs by the logarithm of the chances' product.

        Each is a list of logarithms that rises and the cost at which each is reached.
        """
        pairs = [(0.0, 0)]
        found = []
        for way, logs in zip(self.ways, self.alone, strict=True):
            found.append(([p[0] for p in pairs], [p[1] for p in pairs]))
            sums = sorted(
                {
                    (a + log_of, c + h.cost)
                    for a, c in pairs
                    for h, log_of in zip(way, logs, strict=True)
                },
                key=lambda p: (p[1], -p[0]),
            )
            pairs = []
            for pair in sums:
                if not pairs or pair[0] > pairs[-1][0]:
                    pairs.append(pair)
        return found

    def greedy(self) -> list[Held]:
        """Return a choice that reaches the chance: always the step that gains most for its cost.

        What a step gains is told by its own size alone; what is then too much is left out again.
        """
        at = [0] * len(self.ways)
        while self.reached(self._at(at)) < self.chance - TIGHT:
            gains = []
            for size, (way, logs) in enumerate(zip(self.ways, self.alone, strict=True)):
                now = at[size]
                if now + 1 < len(way):
                    cost = max(way[now + 1].cost - way[now].cost, 1)
                    gains.append(((logs[now + 1] - logs[now]) / cost, -size))
            at[-max(gains)[1]] += 1
        for size in range(len(at)):
            while at[size]:
                less = [n - (s == size) for s, n in enumerate(at)]
                if self.reached(self._at(less)) < self.chance - TIGHT:
                    break
                at = less
        return self._at(at)

    def _at(self, at: Sequence[int]) -> list[Held]:
        return [way[n] for way, n in zip(self.ways, at, strict=True)]

    def look(self, size: int, rest: NDArray[np.float64], cost: int, chosen: list[Held]) -> None:
        """Choose for the sizes before ``size``, the others being chosen."""
        if size == 0:
            if rest[self.places] >= self.chance - TIGHT and cost < self.best_cost:
                self.best, self.best_cost = chosen, cost
            return
        size -= 1
        logs, costs = self.fronts[size]
        now = _with(rest, self.wants[size])
        # The chance if every size before were held without end.
        reach = self.whole[size] @ now
        for held in self.ways[size]:
            spent = cost + held.cost
            if spent + costs[0] >= self.best_cost:
                break
            room = _log(float(reach[held.places])) - self.least
            if room < -TIGHT:
                continue
            at = bisect_left(logs, -room - TIGHT)
            if at < len(logs) and spent + costs[at] < self.best_cost:
                self.look(size, now[:, held.places], spent, [held, *chosen])


def _log(chance: float) -> float:
    return log(chance) if chance > 0 else -1e9

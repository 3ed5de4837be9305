"""What comes together in the same basket: counted shares, confidence and lift."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from itertools import combinations
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    Basket = frozenset[str]


@dataclass(frozen=True, slots=True)
class Rule:
    """Baskets with some things, and what else they hold.

    Parameters
    ----------
    support
        Share of all baskets that hold both sides.
    confidence
        Share of the baskets with the one side that hold the other too.
    lift
        Confidence over the share of all baskets that hold the other side; 1 = no more than chance.
    """

    support: float
    confidence: float
    lift: float


def rule(baskets: Sequence[Basket], having: Iterable[str], also: Iterable[str]) -> Rule:
    """Count how often baskets that hold some things also hold others.

    Raises
    ------
    ValueError
        When no basket holds the one side, or none the other.
    """
    one, other = frozenset(having), frozenset(also)
    with_one = sum(one <= b for b in baskets)
    with_other = sum(other <= b for b in baskets)
    both = sum(one | other <= b for b in baskets)
    if not with_one or not with_other:
        raise ValueError("no basket holds that, so nothing can be said of it")
    confidence = both / with_one
    return Rule(both / len(baskets), confidence, confidence * len(baskets) / with_other)


def frequent(baskets: Sequence[Basket], least: int) -> dict[Basket, int]:
    """Return every set of things that at least some baskets hold, with how many do.

    Level by level: a set can be frequent only if all its parts are (Agrawal and Srikant, Fast
    algorithms for mining association rules, VLDB 1994).

    Parameters
    ----------
    least
        Baskets that must hold the set.
    """
    level = {
        frozenset([name]): count
        for name, count in Counter(name for b in baskets for name in b).items()
        if count >= least
    }
    found = dict(level)
    while level:
        size = len(next(iter(level))) + 1
        wider = {
            one | other
            for one, other in combinations(level, 2)
            if len(one | other) == size
            and all(frozenset(part) in level for part in combinations(one | other, size - 1))
        }
        level = {w: n for w in wider if (n := sum(w <= b for b in baskets)) >= least}
        found |= level
    return found

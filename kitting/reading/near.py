"""The nearest names to one that is unknown, quickly among many."""

from __future__ import annotations

import unicodedata
from functools import lru_cache
from typing import TYPE_CHECKING

from kitting.terms.numbers import fold

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence


_WORSE = 15


@lru_cache(maxsize=32)
def _folded(known: tuple[str, ...]) -> list[str]:
    return [fold(name) for name in known]


def near(name: str, known: Iterable[str], most: int = 3, least: int = 50) -> list[str]:
    """Return the nearest known names, best first, without those far behind the best.

    Parameters
    ----------
    name
        The unknown name.
    known
        Names to choose from.
    most
        How many to return.
    least
        Likeness from 0 to 100 below which a name is not near.
    """
    from rapidfuzz import fuzz, process

    names = tuple(known)
    found = process.extract(
        fold(name), _folded(names), scorer=fuzz.ratio, limit=most, score_cutoff=least
    )
    return [names[place] for _, score, place in found if score >= found[0][1] - _WORSE]


def instead(name: str, known: Iterable[str]) -> str:
    """Return ``; nearest: a, b`` for a message, or ``""`` when nothing is near."""
    found = near(name, known)
    return f"; nearest: {', '.join(found)}{strange([name, found[0]])}" if found else ""


def strange(names: Sequence[str]) -> str:
    """Name the letters outside ASCII that some of the names have and others lack.

    Two names may look the same and differ in such a letter; blank when there is none.
    """
    marks = [frozenset(c for c in name if not c.isascii()) for name in names]
    differing = sorted(c for c in frozenset[str]().union(*marks) if any(c not in m for m in marks))
    told = [f"{c} is {unicodedata.name(c, f'U+{ord(c):04X}').lower()}" for c in differing[:3]]
    return f" (mind: {', '.join(told)})" if told else ""

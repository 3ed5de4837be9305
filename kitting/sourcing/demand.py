"""The shortages of all builds, gathered by part, and what has been chosen to cover them."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from kitting.sourcing.market import FAR, Deal, day_numbers

if TYPE_CHECKING:
    import pandas as pd


@dataclass(frozen=True, slots=True)
class Need:
    """What one stage of one build is short of a part; the day is after 1970-01-01."""

    need: int
    part: str
    quantity: int
    day: int
    deferred: bool
    build: str = ""
    assembly: str = ""
    stage: str = ""


Needs = tuple[Need, ...]
"""Needs of one part, the earliest first."""


@dataclass(frozen=True, slots=True)
class Take:
    """Units of a deal chosen to cover needs.

    Parameters
    ----------
    units
        What the needs ask of the deal, in base units of the deal's part.
    covers
        Each need and how much of it is covered.
    why
        Why this deal, in a sentence.
    """

    deal: Deal
    units: int
    covers: tuple[tuple[Need, int], ...]
    why: str


def gather(shortages: pd.DataFrame) -> dict[str, Needs]:
    """Group shortages by part, each part's needs in order of their day.

    Parameters
    ----------
    shortages
        Table ``shortages``; rows of no quantity are left out.
    """
    days = day_numbers(shortages["day"], FAR)
    columns = ("need", "part", "quantity")
    rows = zip(
        *(shortages[c].tolist() for c in columns),
        days,
        *(shortages[c].tolist() for c in ("deferred", "build", "assembly", "stage")),
        strict=True,
    )
    found: dict[str, list[Need]] = defaultdict(list)
    for need in (Need(*row) for row in rows):
        if need.quantity > 0:
            found[need.part].append(need)
    return {
        part: tuple(sorted(needs, key=lambda n: (n.day, n.need))) for part, needs in found.items()
    }


def total(needs: Needs) -> int:
    """Return how much the needs ask together [base units]."""
    return sum(need.quantity for need in needs)


def split(needs: Needs, quantity: int) -> tuple[list[tuple[Need, int]], Needs]:
    """Cover the earliest needs with a quantity; return what is covered and what remains."""
    covered: list[tuple[Need, int]] = []
    for place, need in enumerate(needs):
        if quantity <= 0:
            return covered, needs[place:]
        part = min(quantity, need.quantity)
        covered.append((need, part))
        quantity -= part
        if part < need.quantity:
            rest = replace(need, quantity=need.quantity - part)
            return covered, (rest, *needs[place + 1 :])
    return covered, ()

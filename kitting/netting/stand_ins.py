"""Which part may serve for which other, and which is tried first."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from math import gcd
from typing import TYPE_CHECKING

from kitting.terms.words import StandInKind

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    import pandas as pd

    Pairs = Mapping[str, list["Way"]]


@dataclass(frozen=True, slots=True, order=True)
class Way:
    """``take`` base units of ``stand_in`` serve for ``give`` of the part, in lowest terms."""

    stand_in: str
    take: int
    give: int


def ways(stand_ins: pd.DataFrame, parts: Iterable[str]) -> dict[str, list[Way]]:
    """Return the stand-ins of each part in the order in which they are tried.

    A superseding part serves for the part it supersedes and for whatever that part supersedes;
    alternates serve both ways, but not for each other's alternates. Superseding parts come before
    alternates, near ones before far ones, equal ones by part number. Where a pair is there twice,
    the first way in that order holds, and the way as written before the way turned round.

    Parameters
    ----------
    stand_ins
        Table ``stand_ins``; rows without a positive ratio are passed over.
    parts
        The parts that need stand-ins.
    """
    newer: defaultdict[str, list[Way]] = defaultdict(list)
    like: defaultdict[str, list[Way]] = defaultdict(list)
    turned: defaultdict[str, list[Way]] = defaultdict(list)
    columns = (stand_ins[c].tolist() for c in ("part", "stand_in", "kind", "take", "give"))
    for part, stand_in, kind, take, give in zip(*columns, strict=True):
        if take < 1 or give < 1:
            continue
        if kind == StandInKind.SUPERSEDES.value:
            newer[part].append(_way(stand_in, take, give))
        else:
            like[part].append(_way(stand_in, take, give))
            turned[stand_in].append(_way(part, give, take))
    named = newer.keys() | like.keys() | turned.keys()
    return {part: _ranked(part, newer, like, turned) for part in parts if part in named}


def _way(stand_in: str, take: int, give: int) -> Way:
    common = gcd(take, give)
    return Way(stand_in, take // common, give // common)


def _ranked(part: str, newer: Pairs, like: Pairs, turned: Pairs) -> list[Way]:
    """List a part's stand-ins: rows of supersessions step by step, then alternates."""
    found: dict[str, Way] = {}
    front = [Way(part, 1, 1)]
    while front:
        steps = sorted(
            _way(step.stand_in, way.take * step.take, way.give * step.give)
            for way in front
            for step in newer.get(way.stand_in, ())
        )
        front = []
        for way in steps:
            if way.stand_in != part and way.stand_in not in found:
                found[way.stand_in] = way
                front.append(way)
    others: dict[str, Way] = {}
    for way in (*sorted(like.get(part, ())), *sorted(turned.get(part, ()))):
        if way.stand_in != part and way.stand_in not in found:
            others.setdefault(way.stand_in, way)
    return [*found.values(), *(others[name] for name in sorted(others))]

"""Covering wants from lots that may be kept for a build, by a part's own lots and by stand-ins."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from kitting.netting.match import Lots, Wants, match

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    Whole = NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class Keeping:
    """Whose a want is and whom a lot is kept for, as codes of builds.

    Parameters
    ----------
    want
        Build of each want; -1 when nothing is kept for it.
    lot
        Build that each lot is kept for; -1 = anyone.
    """

    want: Whole
    lot: Whole


@dataclass(frozen=True, slots=True)
class Pair:
    """A part's stand-in, as codes of parts; ``take`` of it serve for ``give`` of the part.

    Parameters
    ----------
    part, stand_in
        Codes of the two.
    rank
        Place among the part's stand-ins.
    take, give
        The ratio, in lowest terms.
    """

    part: int
    stand_in: int
    rank: int
    take: int
    give: int


@dataclass(frozen=True, slots=True)
class Cover:
    """Row of the want, row of the lot, how much was taken and how much of the want it covers."""

    want: Whole
    lot: Whole
    quantity: Whole
    covers: Whole


class Covering:
    """A covering under way: what is still wanted (``left``) and still there (``there``)."""

    def __init__(self, wants: Wants, lots: Lots, keeping: Keeping) -> None:
        """Begin with everything wanted and everything there.

        Parameters
        ----------
        wants, lots
            Groups are codes of parts.
        keeping
            Whose they are.
        """
        self.wants = wants
        self.lots = lots
        self.keeping = keeping
        self.left = wants.quantity.copy()
        self.there = lots.quantity.copy()
        self.covers: list[Cover] = []

    def own(self) -> None:
        """Serve every want from the lots of its own part."""
        self._serve(np.arange(len(self.left)), self.wants.group, (1, 1))

    def stand_ins(self, pairs: Sequence[Pair], parts: int) -> None:
        """Serve what is still wanted from stand-ins, priority by priority, then by rank and ratio.

        Parameters
        ----------
        pairs
            Which part may serve for which.
        parts
            How many codes of parts there are.
        """
        passes = _passes(pairs)
        helped = np.zeros(parts, bool)
        helped[[pair.part for pair in pairs]] = True
        rows = np.flatnonzero(helped[self.wants.group] & (self.left > 0))
        priority = self.wants.priority[rows]
        serving = np.full(parts, -1)
        for level in np.unique(priority).tolist():
            equal = rows[priority == level]
            for ratio, asked, stand_ins in passes:
                serving[asked] = stand_ins
                group = serving[self.wants.group[equal]]
                serving[asked] = -1
                self._serve(equal[group >= 0], group[group >= 0], ratio)

    def _serve(self, rows: Whole, group: Whole, ratio: tuple[int, int]) -> None:
        """Serve some wants from the lots of the given groups, lots that are kept for them first."""
        kept = self.keeping.lot
        whole = self.there >= ratio[0]
        lots = np.flatnonzero(whole & (kept >= 0))
        if len(lots):
            width = 1 + int(kept.max())
            pools, pool = np.unique(self.lots.group[lots] * width + kept[lots], return_inverse=True)
            build = self.keeping.want[rows]
            asked = group * width + build
            at = np.searchsorted(pools, asked).clip(max=len(pools) - 1)
            ours = np.flatnonzero((build >= 0) & (pools[at] == asked))
            self._share(rows[ours], at[ours], lots, pool, ratio)
        lots = np.flatnonzero(whole & (kept < 0))
        self._share(rows, group, lots, self.lots.group[lots], ratio)

    def _share(
        self, rows: Whole, group: Whole, lots: Whole, pool: Whole, ratio: tuple[int, int]
    ) -> None:
        """Match in whole batches of the ratio and write down what was covered."""
        take, give = ratio
        ours, theirs = self.wants, self.lots
        shares = match(
            Wants(group, ours.priority[rows], ours.day[rows], self.left[rows] // give),
            Lots(pool, theirs.first[lots], theirs.last[lots], self.there[lots] // take),
        )
        cover = Cover(
            rows[shares.want], lots[shares.lot], shares.quantity * take, shares.quantity * give
        )
        np.subtract.at(self.left, cover.want, cover.covers)
        np.subtract.at(self.there, cover.lot, cover.quantity)
        self.covers.append(cover)

    def result(self) -> Cover:
        """Return all that was covered so far, in the order in which it was."""
        return Cover(
            np.concatenate([c.want for c in self.covers]),
            np.concatenate([c.lot for c in self.covers]),
            np.concatenate([c.quantity for c in self.covers]),
            np.concatenate([c.covers for c in self.covers]),
        )


def _passes(pairs: Sequence[Pair]) -> list[tuple[tuple[int, int], list[int], list[int]]]:
    """Gather pairs that are served together: ratio, parts and stand-ins, by rank and ratio."""
    together: defaultdict[tuple[int, int, int], list[Pair]] = defaultdict(list)
    for pair in pairs:
        together[pair.rank, pair.take, pair.give].append(pair)
    return [
        ((take, give), [p.part for p in group], [p.stand_in for p in group])
        for (_, take, give), group in sorted(together.items(), key=lambda item: item[0])
    ]

"""Covering wants from lots that may be kept for a build, by a part's own lots and by stand-ins."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from kitting.netting.lend import lend
from kitting.netting.match import Lots, Shares, Wants

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from numpy.typing import NDArray

    Whole = NDArray[np.int64]
    Sharing = Callable[[Wants, Lots], Shares]


@dataclass(frozen=True, slots=True)
class Tier:
    """Some of the lots, and which wants each of them may serve, as codes of what keeps them.

    Parameters
    ----------
    lot
        Code of each lot; -1 when it is not of this tier.
    want
        Code of each want, which equal lots may serve, -1 = none; ``None`` when every want may be
        served.
    """

    lot: Whole
    want: Whole | None


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

    def __init__(self, wants: Wants, lots: Lots) -> None:
        """Begin with everything wanted and everything there.

        Parameters
        ----------
        wants, lots
            Groups are codes of parts.
        """
        self.wants = wants
        self.lots = lots
        self.left = wants.quantity.copy()
        self.there = lots.quantity.copy()
        self.covers: list[Cover] = []

    def own(self, rows: Whole, sharing: Sharing, tiers: Sequence[Tier]) -> None:
        """Serve wants from the lots of their own part.

        Parameters
        ----------
        rows
            The wants.
        sharing
            ``match`` for wants that use up what they take, ``lend`` for those that put it back.
        tiers
            The lots that may serve, those to be taken first in front.
        """
        self._serve((rows, self.wants.group[rows]), (1, 1), sharing, tiers)

    def stand_ins(
        self,
        who: tuple[Whole, Sequence[Tier]],
        sharing: Sharing,
        pairs: Sequence[Pair],
        parts: int,
    ) -> None:
        """Serve what is still wanted from stand-ins, priority by priority, then by rank and ratio.

        Parameters
        ----------
        who, sharing
            Rows with tiers, and sharing, as for ``own``.
        pairs
            Which part may serve for which.
        parts
            How many codes of parts there are.
        """
        rows, tiers = who
        passes = _passes(pairs)
        helped = np.zeros(parts, bool)
        helped[[pair.part for pair in pairs]] = True
        rows = rows[helped[self.wants.group[rows]] & (self.left[rows] > 0)]
        priority = self.wants.priority[rows]
        serving = np.full(parts, -1)
        for level in np.unique(priority).tolist():
            equal = rows[priority == level]
            for ratio, asked, stand_ins in passes:
                serving[asked] = stand_ins
                group = serving[self.wants.group[equal]]
                serving[asked] = -1
                self._serve((equal[group >= 0], group[group >= 0]), ratio, sharing, tiers)

    def _serve(
        self,
        ours: tuple[Whole, Whole],
        ratio: tuple[int, int],
        sharing: Sharing,
        tiers: Sequence[Tier],
    ) -> None:
        """Serve wants (rows and the groups that serve them), tier by tier."""
        rows, group = ours
        for tier in tiers:
            lots = np.flatnonzero((self.there >= ratio[0]) & (tier.lot >= 0))
            if tier.want is None:
                self._share(ours, (lots, self.lots.group[lots]), ratio, sharing)
            elif len(lots):
                width = 1 + int(tier.lot.max())
                pools, pool = np.unique(
                    self.lots.group[lots] * width + tier.lot[lots], return_inverse=True
                )
                code = tier.want[rows]
                asked = group * width + code
                at = np.searchsorted(pools, asked).clip(max=len(pools) - 1)
                own = np.flatnonzero((code >= 0) & (pools[at] == asked))
                self._share((rows[own], at[own]), (lots, pool), ratio, sharing)

    def _share(
        self,
        ours: tuple[Whole, Whole],
        theirs: tuple[Whole, Whole],
        ratio: tuple[int, int],
        sharing: Sharing,
    ) -> None:
        """Share rows of lots out among rows of wants in whole batches of the ratio."""
        (rows, group), (lots, pool), (take, give) = ours, theirs, ratio
        shares = sharing(
            Wants(group, self.wants.priority[rows], self.wants.day[rows], self.left[rows] // give),
            Lots(pool, self.lots.first[lots], self.lots.last[lots], self.there[lots] // take),
        )
        want, lot = rows[shares.want], lots[shares.lot]
        cover = Cover(want, lot, shares.quantity * take, shares.quantity * give)
        np.subtract.at(self.left, want, cover.covers)
        if sharing is not lend:
            np.subtract.at(self.there, lot, cover.quantity)
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

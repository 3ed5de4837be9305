"""Sharing lots out among wants, group by group: arrays in, arrays out.

Wants are served one after the other, and each takes the lots in one fixed order. Since every lot
also meets the wants in one fixed order, going lot by lot gives the same answer as going want by
want: with one order on each side there is exactly one sharing in which no want and no lot would
both rather have each other. So the next lot of every group is shared out at once, by one running
sum over the wants of all groups (a round). Groups where that would read their wants too often go
through ``queue`` instead, which looks at each want and each lot about once.

For wants of equal priority the sharing covers as much as any could (Glover 1967, Maximum matching
in a convex bipartite graph, Naval Research Logistics Quarterly 14, 313-316: points in order, each
to the interval that ends first).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from kitting.netting.queue import serve
from kitting.netting.ranks import sorted_rows

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Whole = NDArray[np.int64]
    Flags = NDArray[np.bool_]

# A round reads each want of its groups; below so many groups a queue is quicker than a round.
BREADTH = 40
# Wants are read once per lot in rounds: more reads than this for each row and a queue is quicker.
READS = 80


@dataclass(frozen=True, slots=True)
class Wants:
    """What is wanted; arrays of one length, equal rows served as they stand.

    Parameters
    ----------
    group
        What may serve it: lots of the same group. Whole numbers from 0.
    priority
        The least is served first.
    day
        Day on which the lot must be usable; within a priority the earliest is served first.
    quantity
        How much; zero or more.
    """

    group: Whole
    priority: Whole
    day: Whole
    quantity: Whole

    def at(self, rows: Whole) -> Wants:
        """Return some of the rows."""
        return Wants(self.group[rows], self.priority[rows], self.day[rows], self.quantity[rows])


@dataclass(frozen=True, slots=True)
class Lots:
    """What there is; arrays of one length, equal rows taken as they stand.

    Parameters
    ----------
    group
        Whole numbers from 0.
    first, last
        The days between which it may be used, both included.
    quantity
        How much; zero or more.
    """

    group: Whole
    first: Whole
    last: Whole
    quantity: Whole

    def at(self, rows: Whole) -> Lots:
        """Return some of the rows."""
        return Lots(self.group[rows], self.first[rows], self.last[rows], self.quantity[rows])


@dataclass(frozen=True, slots=True)
class Shares:
    """Who takes what: row of the want, row of the lot, how much; by want in the order taken."""

    want: Whole
    lot: Whole
    quantity: Whole


def match(wants: Wants, lots: Lots) -> Shares:
    """Share the lots out among the wants of their group.

    Wants are served by priority, day and row. Each takes from the lots of its group whose days
    include its own, the one that ends first, then the one that begins first, then by row, until it
    has enough.

    Parameters
    ----------
    wants, lots
        Rows in any order of groups.
    """
    groups = 1 + max(int(side.max(initial=-1)) for side in (wants.group, lots.group))
    kept_wants, kept_lots = _meeting(wants, lots, groups)
    of_want = kept_wants[sorted_rows(*_want_keys(wants.at(kept_wants)))]
    of_lot = kept_lots[sorted_rows(*_lot_keys(lots.at(kept_lots)))]
    pieces = _share(wants.at(of_want), lots.at(of_lot), groups)
    want = np.concatenate([p.want for p in pieces])
    lot = np.concatenate([p.lot for p in pieces])
    quantity = np.concatenate([p.quantity for p in pieces])
    return Shares(of_want[want], of_lot[lot], quantity)


def _want_keys(wants: Wants) -> tuple[Whole, ...]:
    return wants.group, wants.priority, wants.day


def _lot_keys(lots: Lots) -> tuple[Whole, ...]:
    return lots.group, lots.last, lots.first


def _meeting(wants: Wants, lots: Lots, groups: int) -> tuple[Whole, Whole]:
    """Return the rows that can share at all: something wanted and something there."""
    asked = np.zeros(groups, bool)
    asked[wants.group[wants.quantity > 0]] = True
    there = np.zeros(groups, bool)
    there[lots.group[lots.quantity > 0]] = True
    return (
        np.flatnonzero(there[wants.group] & (wants.quantity > 0)),
        np.flatnonzero(asked[lots.group] & (lots.quantity > 0)),
    )


def _share(wants: Wants, lots: Lots, groups: int) -> list[Shares]:
    """Share sorted lots out among sorted wants, row numbers being those of the sorted rows."""
    n_wants = np.bincount(wants.group, minlength=groups)
    n_lots = np.bincount(lots.group, minlength=groups)
    next_lot = np.cumsum(n_lots) - n_lots
    end_lot = next_lot + n_lots
    long = n_wants * n_lots > READS * (n_wants + n_lots)
    left = wants.quantity.copy()
    pieces = _rounds(wants, lots, left, next_lot, np.where(long, next_lot, end_lot))
    end_want = np.cumsum(n_wants)
    missing = np.zeros(groups, bool)
    missing[wants.group[left > 0]] = True
    for group in np.flatnonzero(missing & (next_lot < end_lot)).tolist():
        a, b = end_want[group] - n_wants[group], end_want[group]
        c, d = next_lot[group], end_lot[group]
        served = serve(
            wants.day[a:b], left[a:b], lots.first[c:d], lots.last[c:d], lots.quantity[c:d]
        )
        pieces.append(Shares(served[0] + a, served[1] + c, served[2]))
    return pieces


def _rounds(wants: Wants, lots: Lots, left: Whole, next_lot: Whole, end_lot: Whole) -> list[Shares]:
    """Share out the next lot of every group at once, while many groups have both sides.

    Alters ``left`` and ``next_lot``, which the caller made for that.
    """
    none = np.zeros(0, np.int64)
    pieces = [Shares(none, none, none)]
    row = np.flatnonzero((next_lot < end_lot)[wants.group])
    while True:
        group = wants.group[row]
        begins = np.flatnonzero(np.diff(group, prepend=-1))
        if len(begins) < BREADTH:
            return pieces
        active = group[begins]
        lot = next_lot[active]
        sizes = np.diff(begins, append=len(row))
        day, want = wants.day[row], left[row]
        fits = np.repeat(lots.first[lot], sizes) <= day
        fits &= day <= np.repeat(lots.last[lot], sizes)
        want *= fits
        before = np.cumsum(want) - want
        before -= np.repeat(before[begins], sizes)
        taken = np.clip(np.repeat(lots.quantity[lot], sizes) - before, 0, want)
        hit = np.flatnonzero(taken)
        pieces.append(Shares(row[hit], np.repeat(lot, sizes)[hit], taken[hit]))
        left[row] -= taken
        next_lot[active] += 1
        row = row[(left[row] > 0) & np.repeat(next_lot[active] < end_lot[active], sizes)]

"""Lending: what is taken for a stage and put back, so that one lot serves any number of wants."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from kitting.netting.match import Lots, Shares, Wants
from kitting.netting.ranks import sorted_rows

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Whole = NDArray[np.int64]


def lend(wants: Wants, lots: Lots) -> Shares:
    """Give each want what it needs as if it were the only one.

    It takes from the lots of its group whose days include its own, in the order of ``match``. The
    next lot of every group is offered at once; the rounds are as many as a group has lots.

    Parameters
    ----------
    wants, lots
        Rows in any order of groups.
    """
    order = sorted_rows(lots.group, lots.last, lots.first)
    sorted_lots = lots.at(order)
    turn = np.searchsorted(sorted_lots.group, wants.group)
    end = np.searchsorted(sorted_lots.group, wants.group, side="right")
    left = wants.quantity.copy()
    none = np.zeros(0, np.int64)
    pieces = [Shares(none, none, none)]
    row = np.flatnonzero((turn < end) & (left > 0))
    while len(row):
        lot, day = turn[row], wants.day[row]
        fits = (sorted_lots.first[lot] <= day) & (day <= sorted_lots.last[lot])
        taken = np.minimum(left[row], sorted_lots.quantity[lot]) * fits
        hit = np.flatnonzero(taken)
        pieces.append(Shares(row[hit], order[lot[hit]], taken[hit]))
        left[row] -= taken
        turn[row] += 1
        row = row[(left[row] > 0) & (turn[row] < end[row])]
    return Shares(
        np.concatenate([p.want for p in pieces]),
        np.concatenate([p.lot for p in pieces]),
        np.concatenate([p.quantity for p in pieces]),
    )

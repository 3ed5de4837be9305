"""The chance that stages start, and builds end, on their day: exact, without sampling.

With fixed work days a stage starts on the latest of its planned day and, over all deliveries that
it or a stage before it needs, the day of arrival plus the longest work in between. It is in time
exactly when each delivery is there by its own last day, and since deliveries are independent, the
chance is the product of theirs. Shifting every last day by t gives the chance to be at most t days
late, and the days late to expect are the sum over t of what those chances lack to 1.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from kitting.timing.tails import FAR

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Real = NDArray[np.float64]
    Whole = NDArray[np.int64]

_SURE = 1e-12


@dataclass(frozen=True, eq=False)
class Uses:
    """Which deliveries which stages need.

    Parameters
    ----------
    delivery, stage
        Places of the delivery and of the stage, pair by pair, sorted by delivery, none twice.
    """

    delivery: Whole
    stage: Whole


def tightest(last: Whole, uses: Uses) -> tuple[Whole, Whole]:
    """Return the last day on which each delivery may be there, for each stage to be in time.

    Parameters
    ----------
    last
        From ``last_days``, ``(to, from)``.
    uses
        Which deliveries which stages need.

    Returns
    -------
    tuple
        The deliveries that are used, and ``(to, delivery)`` [shop working days from today].
    """
    if not len(uses.delivery):
        return uses.delivery, np.empty((len(last), 0), dtype="int64")
    used, first = np.unique(uses.delivery, return_index=True)
    return used, np.minimum.reduceat(last[:, uses.stage], first, axis=1)


def in_time(arrives: Real, last: Whole) -> Real:
    """Return the chance that each stage is in time.

    Parameters
    ----------
    arrives
        ``(delivery, day)``: chance that it can be used by the end of each shop working day.
    last
        ``(to, delivery)``: day by which it must be there.

    Returns
    -------
    array
        By stage: the product over deliveries.
    """
    return np.asarray(_share(arrives, last).prod(axis=1))


def _share(arrives: Real, last: Whole) -> Real:
    """Return ``(to, delivery)``: the chance that each delivery is there by its last day."""
    by = np.minimum(last, arrives.shape[1] - 1)
    share = arrives[np.arange(arrives.shape[0]), np.maximum(by, 0)]
    return np.where(last < 0, 0.0, np.where(last >= FAR, 1.0, share))


def days_late(arrives: Real, last: Whole) -> Real:
    """Return the days late to expect of each stage [shop working days].

    What has not come by the end of ``arrives`` counts as coming on the day after.

    Parameters
    ----------
    arrives, last
        As for ``in_time``.
    """
    late = np.zeros(len(last))
    to, delivery = np.nonzero(_share(arrives, last) < 1.0)
    if len(to):
        rows, first = np.unique(to, return_index=True)
        together = np.multiply.reduceat(_onwards(arrives, delivery, last[to, delivery]), first)
        late[rows] = (1.0 - together).sum(axis=1)
    return late


def _onwards(arrives: Real, delivery: Whole, by: Whole) -> Real:
    """Return ``(pair, t)``: the chance that a delivery is there t days after its last day."""
    unsure = np.flatnonzero((arrives < 1.0 - _SURE).any(axis=0))
    days = int(unsure[-1]) + 1 if len(unsure) else 0
    by = np.minimum(by, min(days, arrives.shape[1] - 1))
    before = max(-int(by.min()), 0)
    length = days + before
    padded = np.ones((len(arrives), before + days + length))
    padded[:, :before] = 0.0
    padded[:, before : before + days] = arrives[:, :days]
    windows = np.lib.stride_tricks.sliding_window_view(padded, length, axis=1)
    found: Real = windows[delivery, by + before]
    return found


@dataclass(frozen=True, eq=False)
class Sway:
    """How each delivery sways one stage or build.

    Parameters
    ----------
    share
        Chance that the delivery is there by its last day.
    without
        Chance of the whole if the delivery were here.
    sooner
        Chance of the whole if it came some days sooner.
    late_saved
        Days late to expect that are saved when it comes sooner [shop working days].
    """

    share: Real
    without: Real
    sooner: Real
    late_saved: Real


def sway(arrives: Real, last: Whole, sooner: int = 1) -> Sway:
    """Return how each delivery sways one stage or build.

    Parameters
    ----------
    arrives
        As for ``in_time``.
    last
        By delivery: day by which it must be there; of one stage.
    sooner
        How much sooner it would come, by asking or by express [shop working days].
    """
    share = _share(arrives, last[None])[0]
    without = _others(share[:, None])[:, 0]
    later = _share(arrives, np.where(last < FAR, last + sooner, last)[None])[0]
    saved = np.zeros(len(last))
    held = np.flatnonzero(share < 1.0)
    if len(held):
        onwards = _onwards(arrives, held, last[held])
        moved = np.ones_like(onwards)
        moved[:, : -sooner or None] = onwards[:, sooner:]
        saved[held] = (_others(onwards) * (moved - onwards)).sum(axis=1)
    return Sway(share, without, without * later, saved)


def _others(factors: Real) -> Real:
    """Return for each row the product of all other rows; zeros need no division."""
    ahead, behind = np.ones_like(factors), np.ones_like(factors)
    np.cumprod(factors[:-1], axis=0, out=ahead[1:])
    behind[:-1] = np.cumprod(factors[:0:-1], axis=0)[::-1]
    return np.asarray(ahead * behind)

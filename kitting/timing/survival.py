"""How long until it comes, from what has come and what is still awaited.

An order that is still open tells only that its time is longer than what has passed so far; leaving
it out, or counting it as come, makes every supplier look faster than it is.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from numpy.typing import NDArray

    Real = NDArray[np.float64]
    Whole = NDArray[np.int64]

EARLIEST, LATEST = -60, 260
"""First and last day of every distribution [working days after the stated day]; what comes later
than a working year is left beyond the end."""
CELLS = LATEST - EARLIEST + 1


def learned(
    slip: Whole, came: NDArray[np.bool_], weight: Real, prior: Real, strength: float
) -> Real:
    """Return the cumulative share that has come by each day, drawn towards a prior.

    The chance to come on a day, when it has not come before, is
    (strength x prior mass on the day + weight that came on it) /
    (strength x prior mass from the day on + weight at risk on it): the product limit with
    ``strength`` more orders that behaved like the prior. This is the posterior mean of a
    beta-Stacy process (Walker and Muliere 1997), and the product limit itself (Kaplan and Meier
    1958) at strength 0.

    Parameters
    ----------
    slip
        Days after the stated day on which it came, or for how long it has been awaited.
    came
        Whether it came.
    weight
        What each observation counts for.
    prior
        Cumulative share by day from ``EARLIEST`` to ``LATEST``; what it lacks to 1 comes later.
    strength
        How many orders the prior counts for.

    Returns
    -------
    array
        Cumulative share by day from ``EARLIEST`` to ``LATEST``.
    """
    mass = np.diff(prior, prepend=0.0)
    beyond = slip > LATEST
    cell = np.clip(slip - EARLIEST, 0, CELLS - 1)
    seen = came & ~beyond
    events = np.bincount(cell[seen], weights=weight[seen], minlength=CELLS)
    at_risk = np.bincount(cell, weights=weight, minlength=CELLS)[::-1].cumsum()[::-1]
    at_risk = np.maximum(at_risk, events)
    due = strength * (1.0 - prior + mass) + at_risk
    hazard = np.divide(strength * mass + events, due, out=np.zeros(CELLS), where=due > 1e-12)
    return np.asarray(1.0 - np.cumprod(1.0 - np.minimum(hazard, 1.0)))


def learned_by(
    data: tuple[Whole, NDArray[np.bool_], Real],
    paths: Sequence[tuple[str, ...]],
    roots: Mapping[str, Real],
    strength: float,
) -> dict[tuple[str, ...], Real]:
    """Learn the share that has come by each day, for each level of a tree.

    Parameters
    ----------
    data
        Slip, came and weight of each observation, as for ``learned``.
    paths
        Where each observation belongs, from the widest to the narrowest: class, supplier ...
    roots
        What is assumed of each widest level.
    strength
        How many orders each level counts for in the next.

    Returns
    -------
    dict
        Cumulative share by day, by each path and each of its beginnings that has observations.
    """
    slip, came, weight = data
    rows: dict[tuple[str, ...], list[int]] = {}
    for row, path in enumerate(paths):
        for depth in range(1, len(path) + 1):
            rows.setdefault(path[:depth], []).append(row)
    found: dict[tuple[str, ...], Real] = {}
    for path in sorted(rows, key=len):
        prior = found[path[:-1]] if len(path) > 1 else roots[path[0]]
        at = rows[path]
        found[path] = learned(slip[at], came[at], weight[at], prior, strength)
    return found


def quantile(share: Real, confidence: float) -> int:
    """Return the first day by which the share has come [working days after the stated day].

    ``LATEST`` when the share is not reached within a working year.
    """
    cell = int(np.searchsorted(share, confidence - 1e-9))
    return min(cell, CELLS - 1) + EARLIEST

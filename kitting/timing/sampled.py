"""The chance by sampling, for what no product tells: shared delays and work days that vary.

With independent deliveries and fixed work days it agrees with ``chance``, which is exact and
faster; the tests hold the two against each other.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from kitting.timing.stage_days import SLIVER

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from kitting.timing.chance import Uses
    from kitting.timing.tails import Work

    Real = NDArray[np.float64]
    Whole = NDArray[np.int64]


@dataclass(frozen=True, eq=False)
class Plans:
    """What the work is planned to be.

    Parameters
    ----------
    work
        The stages and what each waits for.
    starts
        Planned first day of each stage [shop working days from today].
    finish
        Planned last day of the bench work [shop working days from today].
    least, most
        Shortest and longest work of each stage; ``None`` = as in ``work`` [working days].
    """

    work: Work
    starts: Whole
    finish: int
    least: Real | None = None
    most: Real | None = None


@dataclass(frozen=True, eq=False)
class Shared:
    """A delay that befalls everything of one supplier at once: a strike, a lorry, a closed port.

    Parameters
    ----------
    supplier
        Number of the supplier of each delivery.
    chance
        By supplier: how likely the delay is.
    days
        By supplier: how long it is in the mean, geometric from 1 [working days].
    """

    supplier: Whole
    chance: Real
    days: Real


def sampled(
    arrives: Real,
    uses: Uses,
    plans: Plans,
    rng: np.random.Generator,
    times: int = 20_000,
    shared: Shared | None = None,
) -> tuple[Real, Real]:
    """Return the chance that each stage, and at last the build, is in time, and its days late.

    Parameters
    ----------
    arrives
        ``(delivery, day)``: chance that it can be used by the end of each shop working day. What
        has not come by the last comes on the day after.
    uses
        Which deliveries which stages need.
    plans
        The work.
    rng
        Source of chance; the same one gives the same answer.
    times
        How many courses of events.
    shared
        Delays that suppliers share.

    Returns
    -------
    tuple
        Share in time and mean days late [shop working days], one row more than stages: the last
        is the end of the build.
    """
    days = _arrivals(arrives, rng, times)
    if shared is not None:
        days = days + _shared(shared, rng, times)[shared.supplier]
    work = plans.work
    there = np.tile(plans.starts.astype("float64")[:, None], (1, times))
    for delivery, stage in zip(uses.delivery, uses.stage, strict=True):
        np.maximum(there[stage], days[delivery], out=there[stage])
    start, bench, end = (np.full((len(work.keys), times), -np.inf) for _ in range(3))
    spent = _work(plans, rng, times)
    for at, before in enumerate(work.before):
        ahead = list(before)
        held = bench[ahead].max(axis=0, initial=-np.inf)
        aside = work.aside[at]
        waits = end[ahead].max(axis=0, initial=-np.inf) if aside else held
        start[at] = np.maximum(there[at], waits)
        end[at] = start[at] + spent[at]
        bench[at] = held if aside else end[at]
    late_start = np.floor(start + SLIVER) - plans.starts[:, None]
    late_end = np.ceil(bench.max(axis=0) - SLIVER) - 1 - plans.finish
    late = np.maximum(np.vstack([late_start, late_end]), 0.0)
    return (late == 0).mean(axis=1), late.mean(axis=1)


def _arrivals(arrives: Real, rng: np.random.Generator, times: int) -> Real:
    """Return ``(delivery, course)``: the day on which each can be used."""
    drawn = rng.random((len(arrives), times))
    days = np.empty_like(drawn)
    for share, row, into in zip(arrives, drawn, days, strict=True):
        into[:] = np.searchsorted(share, row, side="right")
    return days


def _shared(shared: Shared, rng: np.random.Generator, times: int) -> Real:
    """Return ``(supplier, course)``: the days by which all its deliveries are late."""
    shape = (len(shared.chance), times)
    befalls = rng.random(shape) < shared.chance[:, None]
    return np.where(befalls, rng.geometric(1.0 / shared.days[:, None], shape), 0.0)


def _work(plans: Plans, rng: np.random.Generator, times: int) -> Real:
    """Return ``(stage, course)``: how long each stage takes, triangular between its bounds."""
    usual = np.tile(plans.work.days[:, None], (1, times))
    if plans.least is None or plans.most is None:
        return usual
    varies = plans.most > plans.least
    bounds = (plans.least[varies], plans.work.days[varies], plans.most[varies])
    low, mode, high = (np.asarray(b)[:, None] for b in bounds)
    usual[varies] = rng.triangular(low, mode, high, (int(varies.sum()), times))
    return usual

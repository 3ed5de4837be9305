"""The chance by sampling, for what no product tells: what slips together, and work that varies.

With independent deliveries and fixed work days it agrees with ``chance``, which is exact and
faster; the tests hold the two against each other.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from kitting.timing.stage_days import SLIVER

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from kitting.timing.chance import Uses
    from kitting.timing.job_chance import Return
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
    points
        ``(3, stage)``: shortest, likely and longest work; ``None`` = as in ``work`` [working days].
    """

    work: Work
    starts: Whole
    finish: int
    points: Real | None = None


@dataclass(frozen=True, eq=False)
class Drawn:
    """Courses of events, one more row than stages: the last is the end of the bench work.

    Parameters
    ----------
    days
        ``(stage, course)``: first day of each stage, last of the bench work [shop working days
        from today].
    late
        ``(stage, course)``: how many days after the plan [shop working days].
    """

    days: Real
    late: Real

    @property
    def in_time(self) -> Real:
        """Share of the courses in which each is in time."""
        return np.asarray((self.late == 0).mean(axis=1))


def sampled(
    arrives: Real,
    uses: Uses,
    plans: Plans,
    rng: np.random.Generator,
    courses: int = 20_000,
    together: tuple[Whole | None, Sequence[Return]] = (None, ()),
) -> Drawn:
    """Draw courses of events.

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
    courses
        How many.
    together
        Whose each delivery is: those of one are late together, each as its own chances say, as
        when one lorry, strike or closed port holds them all; ``None`` = all independent. Beside it
        the deliveries that are jobs.
    """
    whose, jobs = together
    work, size = plans.work, (len(plans.work.keys), courses)
    groups = np.arange(len(arrives)) if whose is None else whose
    luck = rng.random((int(groups.max(initial=-1)) + 1, courses))[groups]
    days = np.empty_like(luck)
    for share, row, into in zip(arrives, luck, days, strict=True):
        into[:] = np.searchsorted(share, row, side="right")
    away = {job.delivery: job for job in jobs}
    needs: list[list[int]] = [[] for _ in work.keys]
    for delivery, stage in zip(uses.delivery.tolist(), uses.stage.tolist(), strict=True):
        needs[stage].append(delivery)
    start, bench, end = (np.full(size, -np.inf) for _ in range(3))
    spent = _work(plans, rng, courses)
    for at, before in enumerate(work.before):
        ahead = list(before)
        held = bench[ahead].max(axis=0, initial=-np.inf)
        aside = work.aside[at]
        waits = end[ahead].max(axis=0, initial=-np.inf) if aside else held
        start[at] = np.maximum(waits, plans.starts[at])
        for delivery in needs[at]:
            if delivery in away:
                days[delivery] = _back(away[delivery], luck[delivery], start, plans.starts)
            np.maximum(start[at], days[delivery], out=start[at])
        end[at] = start[at] + spent[at]
        bench[at] = held if aside else end[at]
    found = np.vstack([np.floor(start + SLIVER), np.ceil(bench.max(axis=0) - SLIVER) - 1])
    planned = np.append(plans.starts, plans.finish)[:, None]
    return Drawn(found, np.maximum(found - planned, 0.0))


def _back(job: Return, luck: Real, start: Real, planned: Whole) -> Real:
    """Return the day on which a job can be used in each course, by when it leaves."""
    after = list(job.after)
    late = np.zeros(len(luck), dtype="int64")
    if after:
        behind = np.floor(start[after] + SLIVER) - planned[after][:, None]
        late = np.clip(behind.max(axis=0), 0, len(job.returns) - 1).astype("int64")
    days = np.empty(len(luck))
    for t in np.unique(late).tolist():
        at = late == t
        days[at] = np.searchsorted(job.returns[t], luck[at], side="right")
    return days


def _work(plans: Plans, rng: np.random.Generator, courses: int) -> Real:
    """Return ``(stage, course)``: how long each stage takes.

    Three points are drawn from the beta distribution between the shortest and the longest whose
    mean is the expected work that is planned, (shortest + 4 likely + longest) / 6.
    """
    spent = np.tile(plans.work.days[:, None], (1, courses))
    if plans.points is None:
        return spent
    varies = plans.points[2] > plans.points[0]
    low, likely, high = plans.points[:, varies, None]
    width = high - low
    shape = (int(varies.sum()), courses)
    drawn = rng.beta(1 + 4 * (likely - low) / width, 1 + 4 * (high - likely) / width, shape)
    spent[varies] = low + drawn * width
    return spent

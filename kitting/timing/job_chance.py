"""The chance of stages that wait for jobs, exactly: a late part may hold up both.

A job that leaves t days late is back by its last day with a chance that falls with t; read the
other way round, it allows the stages that it goes after to be so many days late and no more. Given
what the jobs allow, a stage is in time exactly when each delivery is there by its own last day and
by the last day for the stages that the jobs go after, moved by what is allowed. The chance is the
sum over what the jobs allow, jobs that go together at once; where the stages before are sure, it is
the plain product.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from kitting.timing.chance import days_late, in_time
from kitting.timing.tails import FAR

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from kitting.timing.course import Course

    Real = NDArray[np.float64]
    Whole = NDArray[np.int64]

_LEAST = 1e-7


@dataclass(frozen=True, eq=False)
class Return:
    """A delivery that is a job, which leaves after some stages.

    Parameters
    ----------
    delivery
        Row of the delivery.
    after
        Places of the stages in the work.
    returns
        ``(t, day)``: chance that it can be used by each day when the latest is t days late; as
        many rows as they may be late.
    """

    delivery: int
    after: tuple[int, ...]
    returns: Real


@dataclass(frozen=True, eq=False)
class _Group:
    """Jobs that go together.

    Parameters
    ----------
    jobs
        Column of each among those used, and its returns.
    last
        By column: last day for the stages before to be in time.
    unsure
        Columns that may hold these up.
    """

    jobs: list[tuple[int, Real]]
    last: Whole
    unsure: Whole


def chance_with_jobs(arrives: Real, one: Course, jobs: Sequence[Return]) -> tuple[Real, Real]:
    """Return the chance that each stage is in time, and the days late to expect.

    Parameters
    ----------
    arrives
        ``(delivery, day)``: chance that each can be used by the end of each shop working day.
    one
        The build.
    jobs
        Those of its deliveries that are jobs, in the order in which they go.

    Returns
    -------
    tuple
        By place in the work [shop working days], one more for the end of the bench work.
    """
    mine = arrives[one.used]
    groups = _groups(mine, one, jobs)
    if not any(len(group.unsure) for group in groups):
        mine = mine.copy()
        for group in groups:
            for column, returns in group.jobs:
                mine[column] = returns[0]
        return in_time(mine, one.last), days_late(mine, one.last)
    plain = np.ones(len(one.used), dtype=bool)
    for group in groups:
        plain[[column for column, _ in group.jobs]] = False
        plain[group.unsure] = False
    days = np.arange(arrives.shape[1])
    chance, late = (np.empty(len(one.last)) for _ in range(2))
    for row, last in enumerate(one.last):
        by = np.where(last >= FAR, FAR, last + days[:, None])
        share = _share(mine[plain], by[:, plain]).prod(axis=1)
        if share.any():
            share = share * _given(mine, by, groups, ~plain)
        chance[row], late[row] = share[0], (1.0 - share).sum()
    return chance, late


def _groups(mine: Real, one: Course, jobs: Sequence[Return]) -> list[_Group]:
    """Return the jobs by what they go after, the latest first."""
    column = {delivery: n for n, delivery in enumerate(one.used.tolist())}
    found: dict[tuple[int, ...], _Group] = {}
    for job in jobs:
        if job.delivery not in column:
            continue
        if job.after not in found:
            last = one.last[list(job.after)].min(axis=0, initial=FAR)
            held = _share(mine, last[None])[0] < 1.0 - _LEAST
            found[job.after] = _Group([], last, np.flatnonzero(held))
        found[job.after].jobs.append((column[job.delivery], job.returns))
    return list(found.values())[::-1]


def _share(mine: Real, by: Whole) -> Real:
    """Return ``(row, delivery)``: the chance that each delivery is there by a day."""
    days = np.clip(by, 0, mine.shape[1] - 1)
    share = mine[np.arange(len(mine)), days]
    return np.where(by < 0, 0.0, np.where(by >= FAR, 1.0, share))


def _given(mine: Real, by: Whole, groups: Sequence[_Group], left: NDArray[np.bool_]) -> Real:
    """Return the chance of jobs, and of what may hold them up, by row of ``by``.

    ``left`` tells the columns that are still to be counted.
    """
    if not groups:
        return np.asarray(_share(mine[left], by[:, left]).prod(axis=1))
    group, *rest = groups
    left = left.copy()
    left[[column for column, _ in group.jobs]] = False
    most = max(len(returns) for _, returns in group.jobs)
    if not len(group.unsure):
        most = 1
    found = np.zeros(len(by))
    allowed = _back(group, by, 0)
    for t in range(most):
        more = _back(group, by, t + 1) if t + 1 < most else np.zeros(len(by))
        weight = allowed - more
        allowed = more
        at = np.flatnonzero(weight > _LEAST**2)
        if len(at):
            tighter = np.minimum(by[at], np.where(group.last >= FAR, FAR, group.last + t))
            found[at] += weight[at] * _given(mine, tighter, rest, left)
    return found


def _back(group: _Group, by: Whole, t: int) -> Real:
    """Return the chance that all jobs of a group that leave t days late are back in time."""
    share = np.ones(len(by))
    for column, returns in group.jobs:
        share *= _share(returns[[min(t, len(returns) - 1)]], by[:, [column]])[:, 0]
    return share

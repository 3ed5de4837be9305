"""Which stages wait for a bench or for people, and who is there meanwhile."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from kitting.timing.workload import PER_DAY

if TYPE_CHECKING:
    from collections.abc import Sequence

    from kitting.timing.workload import Workload


@dataclass(frozen=True, slots=True)
class Wait:
    """What a stage waits for.

    Parameters
    ----------
    days
        How long, after its own day has come and what it follows is done [working days].
    what
        The bench, or people.
    behind
        Builds that hold it just before the stage begins.
    """

    days: float = 0.0
    what: str = ""
    behind: tuple[str, ...] = ()


def waits(load: Workload, starts: Sequence[int], names: Sequence[str]) -> dict[int, Wait]:
    """Return the waits by job; a job that starts as soon as it may has none.

    Parameters
    ----------
    load
        The workload.
    starts
        Start of each job [ticks].
    names
        Names of the builds.
    """
    jobs = load.jobs
    ends = [s + t for s, t in zip(starts, jobs.ticks, strict=True)]
    users: list[list[int]] = [[] for _ in jobs.capacity]
    for job, demands in enumerate(jobs.demands):
        for resource, _ in demands:
            users[resource].append(job)
    found = {}
    for job, start in enumerate(starts):
        could = max([jobs.release[job], *(ends[o] for o in jobs.before[job])])
        if start <= could:
            continue
        for resource, units in jobs.demands[job]:
            there = _holding(load, (starts, ends), users[resource], job)
            if jobs.shared[resource]:
                there = [o for o in there if jobs.holder[o] != jobs.holder[job]]
            if _peak(load, (starts, ends), there, resource) + units > jobs.capacity[resource]:
                who = dict.fromkeys(names[load.places[o][0]] for o in there)
                days = (start - could) * load.tick / PER_DAY
                found[job] = Wait(days, load.resources[resource], tuple(sorted(who)))
                break
    return found


def _holding(
    load: Workload, plan: tuple[Sequence[int], Sequence[int]], users: Sequence[int], job: int
) -> list[int]:
    """Return the jobs that would meet a job if it began one tick earlier."""
    starts, ends = plan
    begin = starts[job] - 1
    end = begin + load.jobs.ticks[job]
    return [o for o in users if o != job and starts[o] < end and ends[o] > begin]


def _peak(
    load: Workload, plan: tuple[Sequence[int], Sequence[int]], there: Sequence[int], resource: int
) -> int:
    """Return the most units that some jobs take at once."""
    starts, ends = plan
    jobs = load.jobs
    taken = {o: n for o in there for r, n in jobs.demands[o] if r == resource}
    most = 0
    for moment in {starts[o] for o in there}:
        active = [o for o in there if starts[o] <= moment < ends[o]]
        if jobs.shared[resource]:
            most = max(most, len({jobs.holder[o] for o in active}))
        else:
            most = max(most, sum(taken[o] for o in active))
    return most

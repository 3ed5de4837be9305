"""Small sets of jobs, and a plain count of what a plan takes, tick by tick."""

from __future__ import annotations

from itertools import permutations
from typing import TYPE_CHECKING

from kitting.timing.serial import Jobs, place_in_order

if TYPE_CHECKING:
    from collections.abc import Sequence


def jobs_of(
    rows: Sequence[tuple], capacity: Sequence[int], *, shared: Sequence[bool] = (), weight=(1,)
) -> Jobs:
    """Make jobs from rows of ticks, before, demands, then release, group, due, holder if given."""
    filled = [(*row, *(0, 0, None, None)[len(row) - 3 :]) for row in rows]
    ticks, before, demands, release, group, due, holder = zip(*filled, strict=True)
    holder = tuple(n if h is None else h for n, h in enumerate(holder))
    return Jobs(
        ticks, before, demands, release, group, due, tuple(capacity), tuple(weight), holder,
        tuple(shared) or (False,) * len(capacity),
    )  # fmt: skip


def faults(jobs: Jobs, starts: Sequence[int]) -> list[str]:
    """Return how a plan breaks its rules, counted plainly."""
    found = []
    ends = [s + t for s, t in zip(starts, jobs.ticks, strict=True)]
    for job, start in enumerate(starts):
        if start < jobs.release[job]:
            found.append(f"{job} starts before it may")
        found += [f"{job} starts before {o} ends" for o in jobs.before[job] if start < ends[o]]
    for resource, units in enumerate(jobs.capacity):
        for tick in range(max(ends, default=0)):
            active = [j for j in range(len(jobs)) if starts[j] <= tick < ends[j]]
            takes = {j: n for j in active for r, n in jobs.demands[j] if r == resource}
            if jobs.shared[resource]:
                used = len({jobs.holder[j] for j in takes})
            else:
                used = sum(takes.values())
            if used > units:
                found.append(f"{used} of resource {resource} at tick {tick}")
    return found


def best_cost(jobs: Jobs) -> int:
    """Return the least cost of any order: some order leads to a best plan."""
    costs = []
    for order in permutations(range(len(jobs))):
        place = {j: n for n, j in enumerate(order)}
        if all(place[o] < place[j] for j, before in enumerate(jobs.before) for o in before):
            costs.append(jobs.cost(place_in_order(jobs, order)))
    return min(costs)

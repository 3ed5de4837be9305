"""Jobs on limited benches and people: the serial scheme that places one after another.

Time is whole ticks. What is free of a resource is kept as whole numbers whose bit ``t`` says that
at least so many units are free at tick ``t``; the first gap that is long enough is then found by
a few shifts, whatever the number of ticks. The scheme is that of J. E. Kelley, The critical-path
method: resources planning and scheduling, in: Muth, Thompson, Industrial Scheduling, 1963 (from
memory); forward and backward passes in turn are the justification of V. Valls, F. Ballestin,
S. Quintanilla, European Journal of Operational Research 165:375-386, 2005 (from memory).
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

_NEAR = 4
LATE = 1000
"""A tick beyond a date weighs as much as this many ticks of finishing later."""


@dataclass(frozen=True)
class Jobs:
    """Jobs that share resources; every sequence but ``capacity`` and ``weight`` is by job.

    Parameters
    ----------
    ticks
        How long each takes [ticks].
    before
        The jobs that each one follows; never in a circle.
    demands
        What each takes while it lasts: resource and units, above zero.
    release
        First tick at which it may start.
    group
        The build that it belongs to, from 0.
    due
        Tick by which it is to be finished; ``None`` = any.
    capacity
        Units of each resource; no demand is above it.
    weight
        How much a tick counts, by group.
    holder
        What stands on a bench, by job: jobs of one holder share a bench that is shared.
    shared
        Whether a resource is a bench, where the jobs of one holder take one unit together.
    """

    ticks: tuple[int, ...]
    before: tuple[tuple[int, ...], ...]
    demands: tuple[tuple[tuple[int, int], ...], ...]
    release: tuple[int, ...]
    group: tuple[int, ...]
    due: tuple[int | None, ...]
    capacity: tuple[int, ...]
    weight: tuple[int, ...]
    holder: tuple[int, ...]
    shared: tuple[bool, ...]

    def __len__(self) -> int:
        return len(self.ticks)

    @cached_property
    def after(self) -> tuple[tuple[int, ...], ...]:
        """The jobs that follow each one."""
        found: list[list[int]] = [[] for _ in self.ticks]
        for job, before in enumerate(self.before):
            for other in before:
                found[other].append(job)
        return tuple(tuple(f) for f in found)

    @cached_property
    def horizon(self) -> int:
        """Ticks within which any order of the jobs can be placed."""
        return max(self.release, default=0) + sum(self.ticks) + 1

    @cached_property
    def topological(self) -> tuple[int, ...]:
        """The jobs, each after those that it follows, else in their own order."""
        return tuple(sorted(range(len(self)), key=lambda j: (self._depth[j], j)))

    @cached_property
    def _depth(self) -> list[int]:
        depth = [0] * len(self)
        waits = [len(b) for b in self.before]
        ready = [j for j, n in enumerate(waits) if n == 0]
        for job in ready:
            for other in self.after[job]:
                depth[other] = max(depth[other], depth[job] + 1)
                waits[other] -= 1
                if waits[other] == 0:
                    ready.append(other)
        return depth

    @cached_property
    def place(self) -> tuple[int, ...]:
        """Where each job stands in ``topological``."""
        found = [0] * len(self)
        for place, job in enumerate(self.topological):
            found[job] = place
        return tuple(found)

    def ends(self, starts: Sequence[int]) -> list[int]:
        """Return when each group is finished [ticks]."""
        found = [0] * len(self.weight)
        for group, start, ticks in zip(self.group, starts, self.ticks, strict=True):
            found[group] = max(found[group], start + ticks)
        return found

    def cost(self, starts: Sequence[int]) -> int:
        """Return what a plan costs: weighted ends of the groups, and far more what is late.

        A group's lateness is that of its latest job against the job's own date.
        """
        late = [0] * len(self.weight)
        for job, due in enumerate(self.due):
            if due is not None:
                over = starts[job] + self.ticks[job] - due
                late[self.group[job]] = max(late[self.group[job]], over)
        ends = self.ends(starts)
        return sum(
            w * (end + LATE * over) for w, end, over in zip(self.weight, ends, late, strict=True)
        )

    def bound(self) -> int:
        """Return a cost that no plan can be below: each group alone, and all work on each resource.

        The second holds where all is one group: work divided by capacity, rounded up.
        """
        alone = self.earliest()
        least = self.cost(alone)
        if len(self.weight) != 1:
            return least
        first = min(self.release, default=0)
        for resource, units in enumerate(self.capacity):
            if not self.shared[resource]:
                pairs = zip(self.ticks, self.demands, strict=True)
                work = sum(t * n for t, d in pairs for r, n in d if r == resource)
                least = max(least, self.weight[0] * (first - -work // units))
        return least

    def earliest(self) -> list[int]:
        """Return the first tick at which each could start if nothing were limited."""
        starts = list(self.release)
        for job in self.topological:
            for other in self.before[job]:
                starts[job] = max(starts[job], starts[other] + self.ticks[other])
        return starts

    def tails(self) -> list[int]:
        """Return the longest way from the start of each to the end of all that follows it."""
        found = list(self.ticks)
        for job in reversed(self.topological):
            found[job] += max((found[o] for o in self.after[job]), default=0)
        return found


def place_in_order(jobs: Jobs, order: Sequence[int]) -> list[int]:
    """Place each job of an order as early as it can be, given those before it.

    Parameters
    ----------
    jobs
        The jobs.
    order
        Every job once, each after those that it follows.

    Returns
    -------
    list
        Start of each job [ticks].
    """
    return _serial(jobs, order, jobs.before, jobs.release)


def _serial(
    jobs: Jobs,
    order: Sequence[int],
    before: Sequence[Sequence[int]],
    release: Sequence[int],
) -> list[int]:
    all_free = (1 << (max(release, default=0) + sum(jobs.ticks) + 1)) - 1
    free = [[all_free] * units for units in jobs.capacity]
    own: list[dict[int, int]] = [{} for _ in jobs.capacity]
    starts = [0] * len(jobs)
    ends = [0] * len(jobs)
    for job in order:
        start = release[job]
        for other in before[job]:
            if ends[other] > start:
                start = ends[other]
        ticks = jobs.ticks[job]
        demands = jobs.demands[job]
        if ticks and demands:
            holder = jobs.holder[job]
            gaps = -1
            for resource, units in demands:
                held = own[resource].get(holder, 0) if jobs.shared[resource] else 0
                gaps &= free[resource][units - 1] | held
            start = _first_gap(gaps >> start, ticks) + start
            window = ((1 << ticks) - 1) << start
            for resource, units in demands:
                taken = window
                if jobs.shared[resource]:
                    held = own[resource].get(holder, 0)
                    own[resource][holder] = held | window
                    taken &= ~held
                _take(free[resource], units, taken)
        starts[job] = start
        ends[job] = start + ticks
    return starts


def _first_gap(gaps: int, ticks: int) -> int:
    """Return the first bit from which as many bits in a row are set.

    Looks at the near future first, since shifting all of it takes long where ticks are short.
    """
    width = _NEAR * ticks
    while True:
        run = gaps & ((1 << width) - 1)
        have = 1
        while have < ticks:
            step = min(have, ticks - have)
            run &= run >> step
            have += step
        if run:
            return (run & -run).bit_length() - 1
        width *= _NEAR


def _take(free: list[int], units: int, window: int) -> None:
    """Take units of one resource while the window lasts."""
    top = len(free)
    for level in range(top):
        above = free[level + units] if level + units < top else 0
        free[level] ^= (free[level] ^ above) & window


def justified(jobs: Jobs, starts: Sequence[int]) -> list[int]:
    """Return the plan with every job as late as it can be while no group ends later.

    A job that keeps its date goes on keeping it. No job starts earlier than in the plan given.
    """
    ends = [s + t for s, t in zip(starts, jobs.ticks, strict=True)]
    group_ends = jobs.ends(starts)
    last = max(group_ends, default=0)
    release = []
    for job, end in enumerate(ends):
        latest = group_ends[jobs.group[job]]
        due = jobs.due[job]
        if due is not None:
            latest = max(end, min(latest, due))
        release.append(last - latest)
    order = sorted(range(len(jobs)), key=lambda j: (-ends[j], -starts[j], -jobs.place[j]))
    mirrored = _serial(jobs, order, jobs.after, release)
    return [last - s - t for s, t in zip(mirrored, jobs.ticks, strict=True)]


def tightened(jobs: Jobs, starts: Sequence[int]) -> list[int]:
    """Return a plan that is never worse: all as late as can be, then all as early as can be."""
    late = justified(jobs, starts)
    return place_in_order(jobs, in_order(jobs, late))


def in_order(jobs: Jobs, starts: Sequence[int]) -> list[int]:
    """Return the jobs by start, each after those that it follows."""
    return sorted(range(len(jobs)), key=lambda j: (starts[j], jobs.place[j]))

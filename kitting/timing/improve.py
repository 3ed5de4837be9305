"""Better plans for jobs on limited benches: priority rules, justification, crossing of orders.

Orders of jobs are crossed as in S. Hartmann, A competitive genetic algorithm for resource-
constrained project scheduling, Naval Research Logistics 45:733-750, 1998 (from memory), and every
plan is justified. Chance comes from a seed, and the end from a count of plans, so the same question
has the same answer on every machine.
"""

from __future__ import annotations

import heapq
from dataclasses import dataclass
from itertools import chain
from typing import TYPE_CHECKING

import numpy as np

from kitting.timing.serial import in_order, place_in_order, tightened

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from kitting.timing.serial import Jobs

_HERD, _STALE, _SWAPS, _WIDTH = 30, 120, 0.05, 0.25


@dataclass(frozen=True, slots=True)
class Effort:
    """How long to look for a better plan.

    Parameters
    ----------
    plans
        How many plans are made at most.
    seed
        Where chance begins.
    solver
        Ask the optional solver too, which proves its answer when it can.
    seconds
        How long the solver may take [s].
    """

    plans: int = 1000
    seed: int = 1
    solver: bool = False
    seconds: float = 20.0


def improved(jobs: Jobs, effort: Effort) -> list[int]:
    """Return the start of each job in the best plan found [ticks].

    Stops early when no plan can cost less.
    """
    if not len(jobs):
        return []
    search = _Search(jobs, effort)
    search.run()
    return search.best


class _Search:
    """The herd of orders, and the best plan so far."""

    def __init__(self, jobs: Jobs, effort: Effort) -> None:
        self.jobs = jobs
        self.left = effort.plans
        self.chance = np.random.default_rng(effort.seed)
        self.bound = jobs.bound()
        self.best: list[int] = []
        self.best_cost = -1

    @property
    def done(self) -> bool:
        return self.left <= 0 or self.best_cost == self.bound

    def run(self) -> None:
        """Breed orders until the count of plans is used up or nothing can be better."""
        firsts = [by_rank(self.jobs, rule) for rule in rules(self.jobs)]
        while not self.done:
            self._breed(firsts)
            firsts = []

    def _breed(self, orders: list[list[int]]) -> None:
        """Breed from some orders and drawn ones, until the best of them stays the best."""
        herd: list[tuple[int, list[int]]] = []
        for order in chain(orders, self._drawn(_HERD - len(orders))):
            herd.append(self._judged(order))
            if self.done:
                return
        herd.sort(key=lambda one: one[0])
        stale = 0
        while stale < _STALE and not self.done:
            mother, father = self._picked(herd), self._picked(herd)
            child = self._judged(self._swapped(self._crossed(mother, father)))
            stale = 0 if child[0] < herd[0][0] else stale + 1
            if all(child != one for one in herd):
                herd = sorted([*herd, child], key=lambda one: one[0])[:_HERD]

    def _judged(self, order: Sequence[int]) -> tuple[int, list[int]]:
        """Return cost and order of the plan that an order leads to, tightened."""
        starts = place_in_order(self.jobs, order)
        cost = self.jobs.cost(starts)
        self.left -= 1
        while True:
            tight = tightened(self.jobs, starts)
            self.left -= 2
            less = self.jobs.cost(tight)
            starts, before, cost = tight, cost, less
            if less >= before:
                break
        if self.best_cost < 0 or cost < self.best_cost:
            self.best, self.best_cost = starts, cost
        return cost, in_order(self.jobs, starts)

    def _drawn(self, count: int) -> Iterator[list[int]]:
        """Yield orders drawn around the latest finish."""
        latest = np.array(rules(self.jobs)[0])
        width = max(float(np.ptp(latest)), 1.0) * _WIDTH
        for _ in range(count):
            yield by_rank(self.jobs, (latest + self.chance.normal(0, width, len(latest))).tolist())

    def _picked(self, herd: list[tuple[int, list[int]]]) -> list[int]:
        """Return the better of two orders drawn from the herd."""
        return herd[int(self.chance.integers(0, len(herd), 2).min())][1]

    def _crossed(self, mother: list[int], father: list[int]) -> list[int]:
        """Cross two orders between two cuts; what each job follows stays before it."""
        count = len(mother)
        one, other = sorted(self.chance.integers(0, count + 1, 2).tolist())
        head = mother[:one]
        taken = set(head)
        middle = [j for j in father if j not in taken][: other - one]
        taken.update(middle)
        return [*head, *middle, *(j for j in mother if j not in taken)]

    def _swapped(self, order: list[int]) -> list[int]:
        """Change places of some neighbours that do not follow each other."""
        found = list(order)
        for at in np.flatnonzero(self.chance.random(len(order) - 1) < _SWAPS).tolist():
            one, other = found[at], found[at + 1]
            if one not in self.jobs.before[other]:
                found[at], found[at + 1] = other, one
        return found


def rules(jobs: Jobs) -> list[list[float]]:
    """Return ranks of the jobs by each priority rule, lower first.

    Latest finish, least slack, most work behind it, longest way to the end, and the group that
    weighs most (then by latest finish).
    """
    earliest, tails = jobs.earliest(), jobs.tails()
    ends = jobs.ends(earliest)
    latest = [0] * len(jobs)
    for job in range(len(jobs)):
        room = ends[jobs.group[job]]
        latest[job] = room - tails[job] + jobs.ticks[job]
        if jobs.due[job] is not None:
            latest[job] = min(latest[job], jobs.due[job] or 0)
    slack = [f - t - e for f, t, e in zip(latest, jobs.ticks, earliest, strict=True)]
    behind = [
        float(t + sum(jobs.ticks[o] for o in a))
        for t, a in zip(jobs.ticks, jobs.after, strict=True)
    ]
    heavy = [-jobs.weight[g] * 10.0 * jobs.horizon for g in jobs.group]
    return [
        [float(f) for f in latest],
        [float(s) for s in slack],
        [-b for b in behind],
        [-float(t) for t in tails],
        [h + f for h, f in zip(heavy, latest, strict=True)],
    ]


def by_rank(jobs: Jobs, ranks: Sequence[float]) -> list[int]:
    """Return the jobs by rank, lower first, each after those that it follows."""
    waits = [len(b) for b in jobs.before]
    ready = [(ranks[j], j) for j, n in enumerate(waits) if n == 0]
    heapq.heapify(ready)
    order = []
    while ready:
        _, job = heapq.heappop(ready)
        order.append(job)
        for other in jobs.after[job]:
            waits[other] -= 1
            if waits[other] == 0:
                heapq.heappush(ready, (ranks[other], other))
    return order

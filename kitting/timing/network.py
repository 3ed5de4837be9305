"""The order of work: stages, what each follows, and what is built into what.

Offsets are working days from a build's start, so that one pass serves every build that has the
same assemblies built in, whatever its dates.
"""

from __future__ import annotations

import heapq
from dataclasses import dataclass
from functools import cached_property
from graphlib import CycleError, TopologicalSorter
from typing import TYPE_CHECKING

from kitting.errors import LoopError, UnknownName
from kitting.terms.conditions import split_list
from kitting.terms.nearest import nearest
from kitting.timing.three_points import expected, told, variance

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    import pandas as pd


@dataclass(frozen=True, slots=True)
class Step:
    """One stage of an assembly; a step without a name is the assembly's completion.

    ``work_days`` are the expected ones where three points are given, and ``variance`` is theirs
    [working days squared].
    """

    assembly: str
    stage: str
    name: str = ""
    after: tuple[str, ...] = ()
    work_days: float = 0.0
    place: str = ""
    deferred: bool = False
    variance: float = 0.0
    people: int = 1

    @property
    def key(self) -> tuple[str, str]:
        """Assembly and stage."""
        return self.assembly, self.stage


@dataclass(frozen=True, slots=True)
class Placed:
    """A step with its place in time.

    Parameters
    ----------
    step
        The step.
    start, end
        Earliest start and end after the build's start [working days].
    """

    step: Step
    start: float
    end: float


BuiltIn = tuple[str, str, str]
Key = tuple[str, str]


@dataclass(frozen=True)
class Network:
    """Every step of a build, with what each follows.

    Parameters
    ----------
    nodes
        Steps by assembly and stage; a blank stage is the assembly's completion.
    follows
        The steps that each one follows.
    order
        Keys, each after those that it follows, else in the sheet's order.
    """

    nodes: Mapping[Key, Step]
    follows: Mapping[Key, frozenset[Key]]
    order: Sequence[Key]

    @cached_property
    def bench_follows(self) -> dict[Key, frozenset[Key]]:
        """The bench stages that each bench stage follows, through completions and what is later."""
        return {
            key: self._through(key, deferred=False)
            for key in self.order
            if key[1] and not self.nodes[key].deferred
        }

    def follows_of(self, key: Key) -> frozenset[Key]:
        """Return the stages that a stage waits for; a deferred one waits for deferred ones too."""
        if self.nodes[key].deferred:
            return self._through(key, deferred=True)
        return self.bench_follows[key]

    def _through(self, key: Key, deferred: bool) -> frozenset[Key]:
        """Return the stages before a step; others between pass on what they follow."""
        found: set[Key] = set()
        seen: set[Key] = set()
        open_ends = list(self.follows[key])
        while open_ends:
            other = open_ends.pop()
            if other in seen:
                continue
            seen.add(other)
            if other[1] and (deferred or not self.nodes[other].deferred):
                found.add(other)
            else:
                open_ends += self.follows[other]
        return frozenset(found)


def steps_of(stages: pd.DataFrame) -> dict[str, list[Step]]:
    """Return the steps of each assembly, from table ``stages``, in the sheet's order.

    Three points count when both the least and the most work days are given and the likely ones
    lie between.
    """
    found: dict[str, list[Step]] = {}
    columns = ["assembly", "stage", "name", "after", "work_days", "place", "deferred"]
    three = (stages[c].tolist() for c in ("work_days_least", "work_days_most"))
    people = stages["people"].fillna(1).tolist()
    for (assembly, stage, name, after, likely, place, deferred), least, most, hands in zip(
        zip(*(stages[c].tolist() for c in columns), strict=True), *three, people, strict=True
    ):
        spread = told(least, likely, most)
        step = Step(
            assembly, stage, name, split_list(after),
            work_days=expected(least, likely, most) if spread else likely,
            place=place, deferred=deferred,
            variance=variance(least, most) if spread else 0.0, people=int(hands),
        )  # fmt: skip
        found.setdefault(assembly, []).append(step)
    return found


def place(
    assembly: str, built_in: Iterable[BuiltIn], steps: Mapping[str, Sequence[Step]]
) -> list[Placed]:
    """Place every stage of an assembly, and of what is built into it, as early as it can be.

    A stage starts when the bench stages that it follows are finished, and when every assembly that
    is built in at it is finished; a stage that follows nothing starts with the build. A deferred
    stage is placed likewise, but nothing waits for it: what follows it waits for what it follows.
    The work days of a stage serve all alike assemblies of one build.

    Parameters
    ----------
    assembly
        What is built.
    built_in
        Receiving assembly, its stage, and the assembly built in there.
    steps
        Steps by assembly.

    Returns
    -------
    list
        In order of work: by start, then so that each comes after what it follows.

    Raises
    ------
    LoopError
        When stages follow each other in a circle.
    UnknownName
        When a stage follows one that its assembly does not have.
    """
    return forward(linked(assembly, built_in, steps))


def linked(
    assembly: str, built_in: Iterable[BuiltIn], steps: Mapping[str, Sequence[Step]]
) -> Network:
    """Link every stage of an assembly, and of what is built into it, with what it follows.

    Raises
    ------
    LoopError
        When stages follow each other in a circle.
    UnknownName
        When a stage follows one that its assembly does not have.
    """
    built_in = list(built_in)
    nodes: dict[Key, Step] = {}
    follows: dict[Key, set[Key]] = {}
    for name in dict.fromkeys((assembly, *(b[0] for b in built_in), *(b[2] for b in built_in))):
        own = steps.get(name, ())
        for step in own:
            nodes[step.key] = step
            follows[step.key] = {(name, other) for other in step.after}
        _refuse_unknown(own, name)
        nodes[name, ""] = Step(name, "")
        follows[name, ""] = {step.key for step in own}
    for receiver, stage, child in built_in:
        at = (receiver, stage) if (receiver, stage) in nodes else (receiver, "")
        follows[at].add((child, ""))
    return Network(nodes, {k: frozenset(f) for k, f in follows.items()}, _sorted(follows))


def _refuse_unknown(own: Sequence[Step], assembly: str) -> None:
    known = {step.stage for step in own}
    for step in own:
        for other in step.after:
            if other not in known:
                raise UnknownName(
                    f'stage "{step.stage}" of {assembly} follows "{other}", which {assembly} does '
                    f"not have{nearest(other, known)}"
                )


def _sorted(follows: Mapping[Key, set[Key]]) -> list[Key]:
    """Sort so that each comes after what it follows; among those that may, the sheet's order."""
    try:
        TopologicalSorter(follows).prepare()
    except CycleError as fault:
        loop = [f"{a} {s}".strip() for a, s in fault.args[1]]
        raise LoopError("stages", loop) from fault
    rank = {key: n for n, key in enumerate(follows)}
    waits = {key: len(before) for key, before in follows.items()}
    then: dict[Key, list[Key]] = {key: [] for key in follows}
    for key, before in follows.items():
        for other in before:
            then[other].append(key)
    ready = [(rank[key], key) for key, n in waits.items() if n == 0]
    heapq.heapify(ready)
    done = []
    while ready:
        _, key = heapq.heappop(ready)
        done.append(key)
        for other in then[key]:
            waits[other] -= 1
            if waits[other] == 0:
                heapq.heappush(ready, (rank[other], other))
    return done


def forward(network: Network) -> list[Placed]:
    """Place every stage of a network as early as it can be; see ``place``."""
    end: dict[Key, float] = {}
    frees: dict[Key, float] = {}
    placed = []
    for key in network.order:
        step, follows = network.nodes[key], network.follows[key]
        bench = max((frees[other] for other in follows), default=0.0)
        whole = max((end[other] for other in follows), default=0.0)
        waits_for_all = step.deferred or not step.stage
        start = whole if waits_for_all else bench
        end[key] = start + step.work_days
        frees[key] = bench if waits_for_all else end[key]
        if step.stage:
            placed.append(Placed(step, start, end[key]))
    return sorted(placed, key=lambda p: p.start)

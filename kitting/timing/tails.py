"""The longest work between stages: how far a late part pushes each stage and the end of a build."""

from __future__ import annotations

from dataclasses import dataclass
from graphlib import CycleError, TopologicalSorter
from typing import TYPE_CHECKING

import numpy as np

from kitting.errors import LoopError
from kitting.timing.stage_days import SLIVER

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from numpy.typing import NDArray

    from kitting.timing.network import BuiltIn, Step

Key = tuple[str, str]
FAR = 1 << 30
"""Day by which something is surely there, or does not matter [shop working days]."""


@dataclass(frozen=True, eq=False)
class Work:
    """The stages of a build in an order of work, and what each waits for.

    Parameters
    ----------
    keys
        Assembly and stage; blank stage = the assembly is complete.
    before
        For each, the places of those that must be finished first, all earlier.
    days
        How long each takes [working days].
    aside
        What nothing on the bench waits for: deferred stages, and completion itself. Such a one
        waits for all that it follows; what follows it waits only for the bench stages before it.
    """

    keys: tuple[Key, ...]
    before: tuple[tuple[int, ...], ...]
    days: NDArray[np.float64]
    aside: NDArray[np.bool_]


def work_of(
    assembly: str, built_in: Iterable[BuiltIn], steps: Mapping[str, Sequence[Step]]
) -> Work:
    """Return the work of an assembly and of what is built into it.

    Parameters
    ----------
    assembly
        What is built.
    built_in
        Receiving assembly, its stage, and the assembly built in there.
    steps
        Steps by assembly.

    Raises
    ------
    LoopError
        When stages follow each other in a circle.
    """
    built_in = list(built_in)
    follows: dict[Key, list[Key]] = {}
    of: dict[Key, Step | None] = {}
    names = dict.fromkeys((assembly, *(b[0] for b in built_in), *(b[2] for b in built_in)))
    for name in names:
        own = steps.get(name, ())
        for step in own:
            of[step.key] = step
            follows[step.key] = [(name, other) for other in step.after]
        of[name, ""] = None
        follows[name, ""] = [step.key for step in own]
    for receiver, stage, child in built_in:
        at = (receiver, stage) if (receiver, stage) in of else (receiver, "")
        follows[at].append((child, ""))
    try:
        keys = tuple(TopologicalSorter(follows).static_order())
    except CycleError as fault:
        raise LoopError("stages", [f"{a} {s}".strip() for a, s in fault.args[1]]) from fault
    place = {key: n for n, key in enumerate(keys)}
    done = [of.get(key) for key in keys]
    return Work(
        keys,
        tuple(tuple(place[other] for other in follows.get(key, ())) for key in keys),
        np.array([step.work_days if step else 0.0 for step in done]),
        np.array([step is None or step.deferred for step in done]),
    )


def between(work: Work) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return the longest work from each stage's start to each other's, and to the end.

    Returns
    -------
    tuple
        ``(to, from)``: days from the start of the second to the start of the first [working
        days], minus infinity where the first does not wait for the second; and from the start of
        each to the end of all work on the bench.
    """
    n = len(work.keys)
    start, bench, end = (np.full((n, n), -np.inf) for _ in range(3))
    for at, before in enumerate(work.before):
        ahead = list(before)
        held = bench[ahead].max(axis=0) if ahead else bench[at]
        if work.aside[at]:
            start[at] = end[ahead].max(axis=0) if ahead else start[at]
            bench[at] = held
        else:
            start[at] = held
        start[at, at] = 0.0
        end[at] = start[at] + work.days[at]
        if not work.aside[at]:
            bench[at] = end[at]
    return start, bench.max(axis=0, initial=-np.inf)


def last_days(starts: NDArray[np.int64], finish: int, work: Work) -> NDArray[np.int64]:
    """Return the last day on which parts of a stage may be there, for each stage to be in time.

    Parameters
    ----------
    starts
        Planned first day of each stage of ``work`` [shop working days from today].
    finish
        Planned last day of the build's bench work [shop working days from today].
    work
        From ``work_of``.

    Returns
    -------
    array
        ``(to, from)`` [shop working days from today], one row more than stages: the last is for
        the end of the build. ``FAR`` where it does not matter.
    """
    to_start, to_end = between(work)
    with np.errstate(invalid="ignore"):
        by_start = np.ceil(starts[:, None] + 1 - SLIVER - to_start) - 1
        by_end = np.floor(finish + 1 + SLIVER - to_end)
    last = np.vstack([by_start, by_end])
    return np.where(np.isfinite(last), last, FAR).astype("int64")

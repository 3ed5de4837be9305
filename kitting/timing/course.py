"""Builds as numbers: their stages, what each waits for, and by which day that must be there."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from kitting.timing.chance import Uses, tightest
from kitting.timing.deliveries import NO_DAY
from kitting.timing.job_chance import Return
from kitting.timing.tails import FAR, last_days

if TYPE_CHECKING:
    import pandas as pd
    from numpy.typing import NDArray

    from kitting.timing.deliveries import Deliveries, ShopDays
    from kitting.timing.tails import Work

    Whole = NDArray[np.int64]


class Stage(NamedTuple):
    """A stage with its first and last day [shop working days from today]."""

    assembly: str
    stage: str
    start: int
    finish: int
    deferred: bool


class Use(NamedTuple):
    """A stage that waits for a delivery."""

    assembly: str
    stage: str
    deferred: bool
    delivery: int


def stages_by_build(stage_days: pd.DataFrame, scale: ShopDays) -> dict[str, list[Stage]]:
    """Return the stages of table ``stage_days`` by build."""
    stages: dict[str, list[Stage]] = {}
    columns = [stage_days[c].tolist() for c in ("build", "assembly", "stage", "deferred")]
    numbers = [scale.at(stage_days[c]).tolist() for c in ("start", "finish")]
    for build, assembly, stage, deferred, start, finish in zip(*columns, *numbers, strict=True):
        one = Stage(assembly, stage, start, finish, deferred)
        stages.setdefault(build, []).append(one)
    return stages


def uses_by_build(needs: pd.DataFrame, need: Whole, delivery: Whole) -> dict[str, list[Use]]:
    """Return what waits for which delivery by build, from rows of table ``needs``."""
    uses: dict[str, list[Use]] = {}
    named = [needs[c].to_numpy(dtype=object)[need] for c in ("build", "assembly", "stage")]
    deferred_need = needs["deferred"].to_numpy("bool")[need].tolist()
    for build, *rest in zip(*named, deferred_need, delivery.tolist(), strict=True):
        uses.setdefault(build, []).append(Use(*rest))
    return uses


def jobs_of(build: str, work: Work, deliveries: Deliveries) -> list[Return]:
    """Return the deliveries that are jobs of a build, in the order in which they go."""
    place = {key: n for n, key in enumerate(work.keys)}
    return [
        Return(job.delivery, tuple(place[key] for key in job.after), job.returns)
        for job in deliveries.away
        if job.build == build
    ]


@dataclass(frozen=True, slots=True)
class Course:
    """One build as numbers.

    Parameters
    ----------
    stages
        Assembly, stage and place in the work of each stage.
    work
        The work.
    starts, finish
        First day of each place, and last day of the bench work [shop working days from today].
    waits
        Which deliveries which places need.
    used
        The deliveries that it waits for.
    own, last
        Last day of each of them for parts of each place alone, and for each place to be in time;
        the last row is for all parts, and for the end of the build.
    """

    stages: list[tuple[str, str, int]]
    work: Work
    starts: Whole
    finish: int
    waits: Uses
    used: Whole
    own: Whole
    last: Whole


def course(stages: list[Stage], uses: list[Use], work: Work) -> Course:
    """Return one build as numbers.

    Parameters
    ----------
    stages, uses
        Of that build.
    work
        From ``work_of``, of what is built.
    """
    place = {key: n for n, key in enumerate(work.keys)}
    named = [(s.assembly, s.stage, place[s.assembly, s.stage]) for s in stages]
    at = np.array([n for *_, n in named], dtype="int64")
    starts = np.full(len(work.keys), NO_DAY)
    starts[at] = [s.start for s in stages]
    finish = max((s.finish for s in stages if not s.deferred), default=0)
    bench = at[[not s.deferred for s in stages]]
    own = np.full((len(starts) + 1, len(starts)), FAR)
    own[at, at] = starts[at]
    own[-1, bench] = starts[bench]
    pairs = {
        (use.delivery, where)
        for use in uses
        if (where := place.get((use.assembly, use.stage), -1)) >= 0
        and (not use.deferred or work.aside[where])
    }
    waits = Uses(*np.array(sorted(pairs), dtype="int64").reshape(-1, 2).T)
    used, by_own = tightest(own, waits)
    last = tightest(last_days(starts, finish, work), waits)[1]
    return Course(named, work, starts, finish, waits, used, by_own, last)

"""All open builds on the benches and people that there are."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from kitting.tables.times import BUILD_DAYS, SCHEDULE
from kitting.timing.bench_findings import bench_findings
from kitting.timing.calendars import SHOP
from kitting.timing.improve import Effort, improved
from kitting.timing.network import forward
from kitting.timing.serial import justified
from kitting.timing.stage_days import SLIVER
from kitting.timing.three_points import chance_by
from kitting.timing.waits import Wait, waits
from kitting.timing.workdays import add_days
from kitting.timing.workload import PER_DAY, Workload, workload

if TYPE_CHECKING:
    from collections.abc import Mapping

    from kitting.tables.shop import Shop
    from kitting.terms.days import Calendar
    from kitting.terms.findings import Finding
    from kitting.timing.network import Key, Step

NOT_KNOWN = float("nan")


def schedule(
    shop: Shop,
    builds: pd.DataFrame,
    built_in: pd.DataFrame,
    calendars: Mapping[str, Calendar],
    ready: pd.DataFrame | None = None,
    effort: Effort | None = None,
) -> tuple[pd.DataFrame, pd.DataFrame, tuple[Finding, ...]]:
    """Place every stage of every build so that no bench and nobody is asked for twice at once.

    A place that the setting ``benches`` names holds so many stages at once; a stage takes
    ``people`` of the shop's people while it lasts. Deferred stages take neither and hold nothing;
    they follow when what they follow is done. A build of a better priority by one counts twice as
    much; keeping dates comes before finishing early. A bench is free between two stages of a
    build.

    The builds are placed one stage after another by priority rules, and the plan is improved until
    no plan can be better or ``effort`` is spent; with the optional solver it is proved best where
    the solver can.

    Parameters
    ----------
    shop
        Reads ``stages``, ``dates`` and ``shop`` (settings ``benches``, ``people``).
    builds
        Table ``builds``; a build without a start has stages without days.
    built_in
        Table ``built_in``.
    calendars
        From ``calendars``; the shop's is ``shop``.
    ready
        Table ``readiness``: no stage starts before its kit is ready; ``None`` = parts hold
        nothing. A kit of which nobody knows the day holds nothing either.
    effort
        How long to look for a better plan.

    Returns
    -------
    DataFrame
        Table ``schedule``: builds in the given order, stages in order of work. Its columns hold
        those of ``stage_days``, and ``STAGE_DAYS.conform`` gives that table.
    DataFrame
        Table ``build_days``. Its chance is that of the sum of the stages along the path that
        decides the end, as if it were normal: other paths, parts and the builds ahead are left
        out, so it is rather too high.
    tuple
        Findings: builds and stages that cannot keep their date, builds that wait for a bench or
        for people, places that hold two at once.

    Raises
    ------
    LoopError
        When stages follow each other in a circle.
    UnknownName
        When a stage follows one that its assembly does not have.
    InputError
        When the setting ``benches`` or ``people`` cannot be understood.
    KittingError
        When the solver is asked for and not installed.
    """
    load = workload(shop, builds, built_in, calendars, ready)
    starts = best_plan(load, effort or Effort())
    names = builds["build"].tolist()
    late = justified(load.jobs, starts)
    held = waits(load, starts, names)
    rows: list[_Row] = []
    by_build: list[dict[Key, int]] = [{} for _ in names]
    for job, (at, key) in enumerate(load.places):
        by_build[at][key] = job
    for at, name in enumerate(names):
        rows += _rows(load, (at, name), by_build[at], (starts, late, held))
    if not rows:
        return SCHEDULE.empty(), BUILD_DAYS.empty(), tuple(load.dates.findings)
    frame = _frame(rows, load.first, calendars[SHOP])
    seen = bench_findings(shop, names, frame, load, starts, calendars[SHOP])
    return frame, _build_days(names, frame, load, shop["dates"]), (*load.dates.findings, *seen)


def best_plan(load: Workload, effort: Effort) -> list[int]:
    """Return the start of each job of a workload [ticks]."""
    starts = improved(load.jobs, effort)
    if effort.solver and len(load.jobs) and load.jobs.cost(starts) > load.jobs.bound():
        from kitting.timing.cp_sat import solved

        starts, _ = solved(load.jobs, starts, effort.seconds, effort.seed)
    return starts


@dataclass(frozen=True, slots=True)
class _Row:
    """One stage of one build; times are working days after the first day."""

    build: str
    step: Step
    order: int
    begins: float
    ends: float
    slack: float
    wait: Wait
    variance: float


def _rows(
    load: Workload,
    build: tuple[int, str],
    jobs: Mapping[Key, int],
    plan: tuple[list[int], list[int], dict[int, Wait]],
) -> list[_Row]:
    """Return the stages of one build in order of work."""
    at, name = build
    starts, late, held = plan
    network = load.networks[at]
    per_day = PER_DAY / load.tick
    if not jobs and at not in load.groups:
        return [
            _Row(name, p.step, n, NOT_KNOWN, NOT_KNOWN, NOT_KNOWN, Wait(), 0.0)
            for n, p in enumerate(forward(network), 1)
        ]
    begins = {key: starts[job] / per_day for key, job in jobs.items()}
    ends = {key: (starts[job] + load.jobs.ticks[job]) / per_day for key, job in jobs.items()}
    start_of_build = load.dates.release[name, "", ""] / PER_DAY
    variance: dict[Key, float] = {}
    for key in network.order:
        step = network.nodes[key]
        if not step.stage:
            continue
        follows = network.follows_of(key)
        if step.deferred:
            own = load.dates.release.get((name, *key), 0) / PER_DAY
            begins[key] = max([start_of_build, own, *(ends[o] for o in follows)])
            ends[key] = begins[key] + step.work_days
        tight = (variance[o] for o in follows if begins[key] - ends[o] <= SLIVER)
        variance[key] = step.variance + max(tight, default=0.0)
    place = {key: n for n, key in enumerate(network.order)}
    in_order = sorted(begins, key=lambda k: (begins[k], place[k]))
    return [
        _Row(
            name, network.nodes[key], n, begins[key], ends[key],
            (late[jobs[key]] - starts[jobs[key]]) / per_day if key in jobs else NOT_KNOWN,
            held.get(jobs.get(key, -1), Wait()), variance[key],
        )
        for n, key in enumerate(in_order, 1)
    ]  # fmt: skip


def _frame(rows: list[_Row], first: np.datetime64, calendar: Calendar) -> pd.DataFrame:
    begins = np.array([r.begins for r in rows])
    ends = np.array([r.ends for r in rows])
    slack = np.array([r.slack for r in rows])
    known = ~np.isnan(begins)
    start = np.floor(np.where(known, begins, 0) + SLIVER).astype("int64")
    last = np.ceil(np.where(known, ends, 0) - SLIVER).astype("int64") - 1
    latest = np.floor(np.where(np.isnan(slack), 0, begins + slack) + SLIVER).astype("int64")

    def days(offsets: np.ndarray, there: np.ndarray) -> np.ndarray:
        from_day = np.where(there, first, np.datetime64("NaT", "D"))
        return add_days(from_day, offsets, calendar, blank_outside=True).astype("datetime64[s]")

    return SCHEDULE.conform(
        pd.DataFrame(
            {
                "build": [r.build for r in rows],
                "assembly": [r.step.assembly for r in rows],
                "stage": [r.step.stage for r in rows],
                "name": [r.step.name for r in rows],
                "start": days(start, known),
                "finish": days(np.maximum(last, start), known),
                "work_days": [r.step.work_days for r in rows],
                "place": [r.step.place for r in rows],
                "deferred": [r.step.deferred for r in rows],
                "order": [r.order for r in rows],
                "begins": begins,
                "ends": ends,
                "latest": days(latest, ~np.isnan(slack)),
                "slack": slack,
                "critical": slack == 0,
                "waits": [r.wait.days for r in rows],
                "waits_for": [r.wait.what for r in rows],
                "behind": ["; ".join(r.wait.behind) for r in rows],
                "people": [0 if r.step.deferred else r.step.people for r in rows],
                "variance": [r.variance for r in rows],
            }
        )
    )


def _build_days(
    names: list[str], frame: pd.DataFrame, load: Workload, dates: pd.DataFrame
) -> pd.DataFrame:
    whole = dates[dates["stage"] == ""].set_index("build")["not_after"]
    alone = dict(zip(load.groups, load.jobs.ends(load.jobs.earliest()), strict=True))
    place = {name: at for at, name in enumerate(names)}
    rows = []
    for build, stages in frame.groupby("build", sort=False):
        at = place[str(build)]
        bench = stages[~stages["deferred"]]
        last = bench.sort_values(["ends", "variance"]).iloc[-1] if len(bench) else None
        due = load.dates.due.get((str(build), "", ""))
        late, chance, later = 0, NOT_KNOWN, NOT_KNOWN
        if last is not None and at in alone:
            later = last["ends"] - alone[at] * load.tick / PER_DAY
            room = (due or 0) / PER_DAY
            if due is not None:
                late = max(int(np.ceil(last["ends"] - SLIVER) - room), 0)
            if due is not None and last["variance"]:
                chance = chance_by(last["ends"], last["variance"], room)
        rows.append(
            {
                "build": build,
                "start": bench["start"].min(),
                "finish": bench["finish"].max(skipna=False),
                "not_after": whole.get(build, pd.NaT),
                "days_late": late,
                "waits": later,
                "chance": chance,
            }
        )
    return BUILD_DAYS.conform(pd.DataFrame(rows))

"""When jobs that are sent out are back, each as a delivery with its own chance.

A job leaves after the stages before it. By how many days these are late is a chance that their own
deliveries tell exactly; from each day on which it then leaves, it takes its lead time with its
spread, by the calendars of who does it and of who brings it. An order's promise holds when the job
leaves on its day, and moves with it when it leaves later.

Of a job alone that is its chance; for the stages that wait for it, and for what held it up besides,
see ``job_chance``.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np
import pandas as pd

from kitting.tables.outlook import DELIVERIES
from kitting.terms.conditions import split_list
from kitting.timing.calendars import inspection_days
from kitting.timing.chance import in_time
from kitting.timing.course import course, stages_by_build, uses_by_build
from kitting.timing.deliveries import HORIZON, NO_SOURCE, Away
from kitting.timing.network import steps_of
from kitting.timing.roads import Roads
from kitting.timing.stage_days import built_in_by_build
from kitting.timing.survival import EARLIEST, LATEST
from kitting.timing.tails import work_of
from kitting.timing.workdays import add_days

if TYPE_CHECKING:
    from collections.abc import Mapping

    from numpy.typing import NDArray

    from kitting.tables.shop import Shop
    from kitting.terms.days import Calendar
    from kitting.timing.course import Course
    from kitting.timing.deliveries import Deliveries
    from kitting.timing.lead_times import LeadTimes
    from kitting.timing.outlook import Planned

    Real = NDArray[np.float64]
    Whole = NDArray[np.int64]
    Pairs = tuple[Whole, Whole]
    Keys = tuple[tuple[str, str], ...]

_LEAST = 1e-9
_SLIPS = np.arange(EARLIEST, LATEST + 1)


class _Job(NamedTuple):
    """Jobs that go and come together; ``out`` in shop working days from today."""

    build: str
    assembly: str
    supplier: str
    carrier: str
    order: str
    after: str
    out: int
    lead: int
    back: np.datetime64


def with_jobs(
    shop: Shop,
    builds: pd.DataFrame,
    planned: Planned,
    found: Deliveries,
    pairs: Pairs,
    learned: tuple[LeadTimes, Mapping[str, Calendar]],
) -> tuple[Deliveries, Pairs]:
    """Let stages wait for the return of their jobs, instead of for what is ordered.

    Parameters
    ----------
    shop
        Reads ``stages``, ``suppliers``, ``carriers`` and ``shop`` (setting ``goods_in_days``).
    builds
        Table ``builds``, of the builds that were planned.
    planned
        The frames of the plan.
    found
        From ``deliveries``.
    pairs
        From ``covered_by``.
    learned
        From ``lead_times``, and from ``calendars``.

    Returns
    -------
    tuple
        Both with a delivery more for each job. What nobody does, what has no day to go, and what is
        asked for by the very stage in which it is away, is as it was.

    Raises
    ------
    LoopError
        When stages follow each other in a circle.
    """
    jobs = _gathered(planned, found)
    if not jobs:
        return found, pairs
    names = pd.Series([job.supplier for job in jobs], dtype="str").drop_duplicates()
    roads = Roads(shop, learned[1], names)
    goods_in = dict(zip(names.tolist(), inspection_days(shop, names).tolist(), strict=True))
    stages = stages_by_build(planned.stage_days, found.scale)
    steps, inside = steps_of(shop["stages"]), built_in_by_build(planned.built_in)
    theirs = {job.build for job in jobs}
    works = {
        build: work_of(assembly, sorted(inside.get(build, ())), steps)
        for build, assembly in zip(builds["build"], builds["assembly"], strict=True)
        if build in theirs
    }
    need, delivery = pairs
    of_build = planned.needs["build"].to_numpy(dtype=object)[need]
    table: list[dict[str, Any]] = []
    lates: dict[tuple[str, Keys], Real] = {}
    for job in sorted(jobs, key=lambda job: job.out):
        mine = np.isin(need, jobs[job]) & (delivery != NO_SOURCE)
        if not mine.any():
            continue
        keys = tuple((job.assembly, stage) for stage in split_list(job.after))
        if (job.build, keys) not in lates:
            arrives = np.vstack([found.arrives, np.zeros(HORIZON)])
            waits = np.where(delivery == NO_SOURCE, len(found.arrives), delivery)
            own = of_build == job.build
            uses = uses_by_build(planned.needs, need[own], waits[own])
            one = course(stages[job.build], uses.get(job.build, []), works[job.build])
            lates[job.build, keys] = _late(one, keys, arrives)
        late = lates[job.build, keys]
        if job.order:
            returns = _moved(job, len(late) + 1, found.arrives[delivery[mine][0]])
        else:
            by = roads, goods_in[job.supplier], learned[0]
            returns = _returns(job, len(late) + 1, by, found)
        new = len(found.arrives)
        delivery = np.where(mine, new, delivery)
        away = Away(new, job.build, keys, returns[:-1])
        found, row = _added(found, (job, away), late, returns, learned[0])
        table.append(row)
    if table:
        more = pd.concat([found.table, DELIVERIES.conform(pd.DataFrame(table))], ignore_index=True)
        found = replace(found, table=DELIVERIES.conform(more))
    return _moved_to(found, planned, jobs, (need, delivery)), (need, delivery)


def _gathered(planned: Planned, found: Deliveries) -> dict[_Job, list[int]]:
    """Return the jobs that go and come together, with the rows of the needs that want them."""
    rows = planned.outwork[(planned.outwork["supplier"] != "") & planned.outwork["out"].notna()]
    rows = rows[rows["wanted"] == rows["stage"]]
    needs = planned.needs
    at: dict[tuple[str, ...], list[int]] = {}
    names = zip(*(needs[c].tolist() for c in ("build", "assembly", "stage", "part")), strict=True)
    for row, key in enumerate(names):
        at.setdefault(key, []).append(row)
    out = found.scale.at(rows["out"]).tolist()
    back = rows["back"].to_numpy("datetime64[D]")
    lead = rows["lead_days"].fillna(0).astype("int64").tolist()
    names = zip(*(rows[c].tolist() for c in ("build", "assembly", "stage", "job")), strict=True)
    whom = zip(*(rows[c].tolist() for c in ("supplier", "carrier", "order", "after")), strict=True)
    jobs: dict[_Job, list[int]] = {}
    for key, by, *days in zip(names, whom, out, lead, back, strict=True):
        jobs.setdefault(_Job(key[0], key[1], *by, *days), []).extend(at.get(key, ()))
    return jobs


def _late(one: Course, keys: Keys, arrives: Real) -> Real:
    """Return the chance of each number of days by which the latest of some stages is late."""
    places = [place for *key, place in one.stages if tuple(key) in keys]
    if not places or not len(one.used):
        return np.ones(1)
    last = one.last[places].min(axis=0)
    by = in_time(arrives[one.used], last[None] + np.arange(HORIZON)[:, None])
    chance = np.diff(by, prepend=0.0)
    there = np.flatnonzero(chance > _LEAST)
    return chance[: there[-1] + 1] if len(there) else np.zeros(1)


def _returns(job: _Job, many: int, by: tuple[Roads, int, LeadTimes], found: Deliveries) -> Real:
    """Return ``(t, day)``: the chance to be usable by each day when it leaves t days late."""
    (roads, goods_in, times), scale = by, found.scale
    leaves = add_days(scale.first, job.out + np.arange(many), scale.calendar, blank_outside=True)
    share = times.share(job.supplier, times.class_of(job.supplier, job.lead), job.carrier)
    lead = np.maximum(job.lead + _SLIPS, 0)
    door = roads.of(job.supplier, job.carrier).at_door(leaves[:, None], lead[None, :])
    usable = add_days(door, goods_in, scale.calendar, blank_outside=True)
    numbers = scale.at(pd.Series(usable.ravel())).reshape(usable.shape)
    days = np.arange(HORIZON)
    cells = np.array([np.searchsorted(row, days, side="right") for row in numbers])
    return np.asarray(np.concatenate([[0.0], share])[cells])


def _moved(job: _Job, many: int, arrives: Real) -> Real:
    """Return the same for an ordered job: its promise, moved by the days it leaves late."""
    days = np.arange(HORIZON) - np.arange(many)[:, None]
    moved = np.where(days < 0, 0.0, arrives[np.maximum(days, 0)])
    return np.where(days < job.out, 0.0, moved)


def _added(
    found: Deliveries, made: tuple[_Job, Away], late: Real, returns: Real, times: LeadTimes
) -> tuple[Deliveries, dict[str, Any]]:
    """Return the deliveries with the chances of one more, and its row of the table."""
    job, away = made
    arrives = late @ returns[:-1]
    # What could go today and is ordered tomorrow goes a day later; what goes later does not mind.
    tomorrow = late @ returns[1:] if job.out == 0 and not job.order else arrives
    cell = int(np.searchsorted(arrives, times.confidence - _LEAST))
    likely = add_days(found.scale.first, min(cell, HORIZON), found.scale.calendar)
    row: dict[str, Any] = {
        "delivery": away.delivery,
        "order": job.order,
        "supplier": job.supplier,
        "carrier": job.carrier,
        "build": job.build,
        "class": times.class_of(job.supplier, job.lead),
        "expected": job.back.astype("datetime64[s]"),
        "stated": job.lead,
        "likely": likely[0].astype("datetime64[s]") if cell < HORIZON else pd.NaT,
    }
    more = replace(
        found,
        arrives=np.vstack([found.arrives, arrives]),
        tomorrow=np.vstack([found.tomorrow, tomorrow]),
        away=(*found.away, away),
    )
    return more, row


def _moved_to(
    found: Deliveries, planned: Planned, jobs: Mapping[_Job, list[int]], pairs: Pairs
) -> Deliveries:
    """Let order lines and buys that serve one job alone stand for its return."""
    back = {one.delivery for one in found.away}
    brings = {int(n): int(d) for n, d in zip(*pairs, strict=True) if d in back}
    row_of = {number: row for row, number in enumerate(planned.needs["need"].tolist())}
    served: dict[int, set[int]] = {}
    pegs = planned.buy_needs
    for buy, number in zip(pegs["buy"].tolist(), pegs["need"].tolist(), strict=True):
        served.setdefault(buy, set()).add(brings.get(row_of[number], NO_SOURCE))
    of_buy = found.of_buy.copy()
    for row, buy in enumerate(planned.buys["buy"].tolist()):
        (only, *more) = served.get(buy, {NO_SOURCE})
        of_buy[row] = of_buy[row] if more or only == NO_SOURCE else only
    by_order = {
        (job.order, job.build, planned.needs["part"].iat[row]): brings[row]
        for job, rows in jobs.items()
        for row in rows
        if job.order and row in brings
    }
    columns = (planned.coming[c].tolist() for c in ("order", "build", "part"))
    lines = zip(zip(*columns, strict=True), found.of_line.tolist(), strict=True)
    of_line = [by_order.get(key, old) for key, old in lines]
    return replace(found, of_buy=of_buy, of_line=np.array(of_line, dtype="int64"))

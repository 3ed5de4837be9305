"""How sure a plan is: the chance of each need, stage and build, and what decides it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from kitting.tables.outlook import CHANCE, DRIVERS, NEED_CHANCE
from kitting.timing.chance import days_late, in_time, sway
from kitting.timing.course import course, jobs_of, stages_by_build, uses_by_build
from kitting.timing.deliveries import NO_SOURCE
from kitting.timing.job_chance import chance_with_jobs
from kitting.timing.network import steps_of
from kitting.timing.stage_days import built_in_by_build
from kitting.timing.tails import FAR, work_of

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray

    from kitting.tables.shop import Shop
    from kitting.timing.course import Course
    from kitting.timing.deliveries import Deliveries, ShopDays
    from kitting.timing.job_chance import Return

    Real = NDArray[np.float64]
    Whole = NDArray[np.int64]

SURE = 1e-6
"""What is less unsure than this holds up nothing."""


@dataclass(frozen=True, eq=False)
class Planned:
    """The frames of a plan that its chances are read from, the tables of those names.

    ``outwork`` is table ``outwork_days``.
    """

    stage_days: pd.DataFrame
    built_in: pd.DataFrame
    needs: pd.DataFrame
    supply: pd.DataFrame
    picks: pd.DataFrame
    coming: pd.DataFrame
    outwork: pd.DataFrame
    offer_days: pd.DataFrame
    buys: pd.DataFrame
    buy_needs: pd.DataFrame
    order_by: pd.DataFrame


@dataclass(frozen=True, eq=False)
class Outlook:
    """Tables ``chance``, ``need_chance`` and ``drivers``."""

    chance: pd.DataFrame
    need_chance: pd.DataFrame
    drivers: pd.DataFrame


def covered_by(planned: Planned, deliveries: Deliveries) -> tuple[Whole, Whole]:
    """Return which needs wait for which deliveries.

    Returns
    -------
    tuple
        Row of the need and row of the delivery, pair by pair; ``NO_SOURCE`` for a need of which
        something is covered by nothing. A need served from the shelf alone has no pair.
    """
    needs, supply, picks = planned.needs, planned.supply, planned.picks
    of_need = pd.Index(needs["need"])
    lot = pd.Index(supply["supply"]).get_indexer(picks["supply"])
    orders = supply["order"].to_numpy(dtype=object)[lot]
    by_order = np.flatnonzero(orders != "")
    at = of_need.get_indexer(picks["need"].to_numpy()[by_order])
    line = _lines(planned, lot[by_order])
    short = needs["quantity"].to_numpy(copy=True)
    np.subtract.at(short, of_need.get_indexer(picks["need"]), picks["covers"].to_numpy())
    bought = of_need.get_indexer(planned.buy_needs["need"])
    np.subtract.at(short, bought, planned.buy_needs["quantity"].to_numpy())
    buy = pd.Index(planned.buys["buy"]).get_indexer(planned.buy_needs["buy"])
    bare = np.flatnonzero(short > 0)
    need = np.concatenate([at, bought, bare])
    delivery = np.concatenate(
        [deliveries.of_line[line], deliveries.of_buy[buy], np.full(len(bare), NO_SOURCE)]
    )
    return need.astype("int64"), delivery.astype("int64")


def _lines(planned: Planned, lot: Whole) -> Whole:
    """Return the row of ``coming`` of each row of ``supply`` that is an order."""
    coming, supply = planned.coming, planned.supply
    usable = coming["usable"].to_numpy("datetime64[s]").astype("int64").tolist()
    names = zip(coming["order"].tolist(), coming["part"].tolist(), usable, strict=True)
    row_of: dict[tuple[str, str, int], int] = {}
    for row, name in enumerate(names):
        row_of.setdefault(name, row)
    asked = supply[["order", "part", "from_set"]].take(lot)
    ordered = asked["from_set"].where(asked["from_set"] != "", asked["part"])
    days = supply["from_day"].to_numpy("datetime64[s]").astype("int64")[lot].tolist()
    keys = zip(asked["order"].tolist(), ordered.tolist(), days, strict=True)
    return np.array([row_of[key] for key in keys], dtype="int64")


def outlook(
    shop: Shop,
    builds: pd.DataFrame,
    planned: Planned,
    deliveries: Deliveries,
    pairs: tuple[Whole, Whole],
) -> Outlook:
    """Return how sure each need, stage and build is.

    Parameters
    ----------
    shop
        Reads ``stages``.
    builds
        Table ``builds``, of the builds that were planned.
    planned
        The frames of the plan.
    deliveries
        From ``deliveries``.
    pairs
        From ``covered_by``.

    Raises
    ------
    LoopError
        When stages follow each other in a circle.
    """
    arrives = np.vstack([deliveries.arrives, np.zeros(deliveries.arrives.shape[1])])
    need, delivery = pairs
    delivery = np.where(delivery == NO_SOURCE, len(arrives) - 1, delivery)
    scale = deliveries.scale
    stages = stages_by_build(planned.stage_days, scale)
    uses = uses_by_build(planned.needs, need, delivery)
    inside = built_in_by_build(planned.built_in)
    steps = steps_of(shop["stages"])
    chances: list[dict[str, Any]] = []
    drivers: list[dict[str, Any]] = []
    for build, assembly in zip(builds["build"].tolist(), builds["assembly"].tolist(), strict=True):
        if build not in stages:
            continue
        work = work_of(assembly, sorted(inside.get(build, ())), steps)
        one = course(stages[build], uses.get(build, []), work)
        jobs = jobs_of(build, work, deliveries)
        chances += [{"build": build, **row} for row in _chances(one, arrives, jobs)]
        sooner = _leaving(arrives, jobs) if jobs else arrives
        drivers += [{"build": build, **row} for row in _drivers(one, sooner, deliveries)]
    return Outlook(
        CHANCE.conform(pd.DataFrame(chances)) if chances else CHANCE.empty(),
        _by_need(planned.needs, arrives, (need, delivery), scale),
        DRIVERS.conform(pd.DataFrame(drivers)) if drivers else DRIVERS.empty(),
    )


def _leaving(arrives: Real, jobs: list[Return]) -> Real:
    """Return ``arrives`` with jobs that leave on their day, as they do when all parts are there."""
    found = arrives.copy()
    for job in jobs:
        found[job.delivery] = job.returns[0]
    return found


def _chances(one: Course, arrives: Real, jobs: list[Return]) -> Iterator[dict[str, Any]]:
    """Yield the rows of table ``chance``: the build as a whole, then its stages."""
    mine = arrives[one.used]
    parts = in_time(mine, one.own)
    if jobs:
        whole, late = chance_with_jobs(arrives, one, jobs)
        parts[-1] = in_time(_leaving(arrives, jobs)[one.used], one.own[-1:])[0]
    else:
        whole, late = in_time(mine, one.last), days_late(mine, one.last)
    late[(one.last[:, one.used == len(arrives) - 1] < FAR).any(axis=1)] = np.nan
    for assembly, stage, place in [("", "", len(late) - 1), *one.stages]:
        yield {
            "assembly": assembly,
            "stage": stage,
            "parts": parts[place],
            "chance": whole[place],
            "expected_late": late[place],
        }


def _drivers(one: Course, arrives: Real, deliveries: Deliveries) -> Iterator[dict[str, Any]]:
    """Yield the rows of table ``drivers``: what may hold up the build, the worst first."""
    mine = arrives[one.used]
    parts, whole = (sway(mine, rows[-1]) for rows in (one.own, one.last))
    orders, suppliers = ([*deliveries.table[c].tolist(), ""] for c in ("order", "supplier"))
    for n in np.argsort(parts.share, kind="stable"):
        if parts.share[n] > 1.0 - SURE and whole.share[n] > 1.0 - SURE:
            continue
        delivery = int(one.used[n])
        brought = delivery < len(arrives) - 1
        yield {
            "delivery": delivery if brought else NO_SOURCE,
            "order": orders[delivery],
            "supplier": suppliers[delivery],
            "chance": parts.share[n],
            "gain": parts.sooner[n] - parts.share[n] * parts.without[n] if brought else 0.0,
            "late_saved": whole.late_saved[n] if brought else 0.0,
            "without": parts.without[n],
        }


def _by_need(
    needs: pd.DataFrame, arrives: Real, pairs: tuple[Whole, Whole], scale: ShopDays
) -> pd.DataFrame:
    """Return table ``need_chance``: the product over the deliveries that each need waits for."""
    need, delivery = np.unique(np.stack(pairs), axis=1)
    by = np.minimum(scale.at(needs["day"])[need], arrives.shape[1] - 1)
    chance = np.ones(len(needs))
    np.multiply.at(chance, need, arrives[delivery, by])
    return NEED_CHANCE.conform(
        pd.DataFrame({"need": needs["need"].array, "chance_in_time": chance})
    )

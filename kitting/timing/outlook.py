"""How sure a plan is: the chance of each need, stage and build, and what decides it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np
import pandas as pd

from kitting.tables.outlook import CHANCE, DRIVERS, NEED_CHANCE
from kitting.timing.chance import Uses, days_late, in_time, sway, tightest
from kitting.timing.deliveries import NO_DAY
from kitting.timing.network import steps_of
from kitting.timing.tails import FAR, last_days, work_of

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray

    from kitting.tables.shop import Shop
    from kitting.timing.deliveries import Deliveries, ShopDays
    from kitting.timing.network import BuiltIn
    from kitting.timing.tails import Work

    Real = NDArray[np.float64]
    Whole = NDArray[np.int64]

NO_SOURCE = -1
"""Stands for the delivery of what nobody brings."""
SURE = 1e-6
"""What is less unsure than this holds up nothing."""


@dataclass(frozen=True, eq=False)
class Planned:
    """The frames of a plan that its chances are read from, the tables of those names."""

    stage_days: pd.DataFrame
    built_in: pd.DataFrame
    needs: pd.DataFrame
    supply: pd.DataFrame
    picks: pd.DataFrame
    coming: pd.DataFrame
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
    stages, uses = _by_build(planned, need, delivery, scale)
    inside = _inside(planned.built_in)
    steps = steps_of(shop["stages"])
    chances: list[dict[str, Any]] = []
    drivers: list[dict[str, Any]] = []
    for build, assembly in zip(builds["build"].tolist(), builds["assembly"].tolist(), strict=True):
        if build not in stages:
            continue
        work = work_of(assembly, sorted(inside.get(build, ())), steps)
        one = _build(stages[build], uses.get(build, []), work)
        chances += [{"build": build, **row} for row in _chances(one, arrives)]
        drivers += [{"build": build, **row} for row in _drivers(one, arrives, deliveries)]
    return Outlook(
        CHANCE.conform(pd.DataFrame(chances)) if chances else CHANCE.empty(),
        _by_need(planned.needs, arrives, (need, delivery), scale),
        DRIVERS.conform(pd.DataFrame(drivers)) if drivers else DRIVERS.empty(),
    )


class _Stage(NamedTuple):
    """A stage with its first and last day [shop working days from today]."""

    assembly: str
    stage: str
    start: int
    finish: int
    deferred: bool


class _Use(NamedTuple):
    """A stage that waits for a delivery."""

    assembly: str
    stage: str
    deferred: bool
    delivery: int


def _by_build(
    planned: Planned, need: Whole, delivery: Whole, scale: ShopDays
) -> tuple[dict[str, list[_Stage]], dict[str, list[_Use]]]:
    """Return stages, and what they wait for, by build."""
    days, needs = planned.stage_days, planned.needs
    stages: dict[str, list[_Stage]] = {}
    columns = [days[c].tolist() for c in ("build", "assembly", "stage", "deferred")]
    numbers = [scale.at(days[c]).tolist() for c in ("start", "finish")]
    for build, assembly, stage, deferred, start, finish in zip(*columns, *numbers, strict=True):
        one = _Stage(assembly, stage, start, finish, deferred)
        stages.setdefault(build, []).append(one)
    uses: dict[str, list[_Use]] = {}
    named = [needs[c].to_numpy(dtype=object)[need] for c in ("build", "assembly", "stage")]
    deferred_need = needs["deferred"].to_numpy("bool")[need].tolist()
    for build, *rest in zip(*named, deferred_need, delivery.tolist(), strict=True):
        uses.setdefault(build, []).append(_Use(*rest))
    return stages, uses


def _inside(built_in: pd.DataFrame) -> dict[str, set[BuiltIn]]:
    """Return what is built in where, by build."""
    inside: dict[str, set[BuiltIn]] = {}
    columns = (built_in[c].tolist() for c in ("build", "assembly", "stage", "child"))
    for build, *row in zip(*columns, strict=True):
        inside.setdefault(build, set()).add((row[0], row[1], row[2]))
    return inside


@dataclass(frozen=True, slots=True)
class _Build:
    """One build as numbers.

    Parameters
    ----------
    stages
        Assembly, stage and place in the work of each stage.
    used
        The deliveries that it waits for.
    own, last
        Last day of each of them for parts of each place alone, and for each place to be in time;
        the last row is for all parts, and for the end of the build.
    """

    stages: list[tuple[str, str, int]]
    used: Whole
    own: Whole
    last: Whole


def _build(stages: list[_Stage], uses: list[_Use], work: Work) -> _Build:
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
    return _Build(named, used, by_own, tightest(last_days(starts, finish, work), waits)[1])


def _chances(one: _Build, arrives: Real) -> Iterator[dict[str, Any]]:
    """Yield the rows of table ``chance``: the build as a whole, then its stages."""
    mine = arrives[one.used]
    parts, whole = in_time(mine, one.own), in_time(mine, one.last)
    late = days_late(mine, one.last)
    late[(one.last[:, one.used == len(arrives) - 1] < FAR).any(axis=1)] = np.nan
    for assembly, stage, place in [("", "", len(late) - 1), *one.stages]:
        yield {
            "assembly": assembly,
            "stage": stage,
            "parts": parts[place],
            "chance": whole[place],
            "expected_late": late[place],
        }


def _drivers(one: _Build, arrives: Real, deliveries: Deliveries) -> Iterator[dict[str, Any]]:
    """Yield the rows of table ``drivers``: what may hold up the build, the worst first."""
    parts, whole = (sway(arrives[one.used], rows[-1]) for rows in (one.own, one.last))
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

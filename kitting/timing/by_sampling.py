"""How sure a build is when a supplier's deliveries slip together and work days vary."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from kitting.tables.outlook import SAMPLED
from kitting.timing.course import course, jobs_of, stages_by_build, uses_by_build
from kitting.timing.deliveries import HORIZON, NO_SOURCE
from kitting.timing.network import steps_of
from kitting.timing.sampled import Plans, sampled
from kitting.timing.stage_days import built_in_by_build
from kitting.timing.tails import work_of
from kitting.timing.three_points import told
from kitting.timing.workdays import add_days

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from kitting.tables.shop import Shop
    from kitting.timing.course import Course
    from kitting.timing.deliveries import Deliveries, ShopDays
    from kitting.timing.outlook import Planned

    Real = NDArray[np.float64]
    Whole = NDArray[np.int64]


def by_sampling(
    shop: Shop,
    build: tuple[str, str],
    planned: Planned,
    waited: tuple[Deliveries, tuple[Whole, Whole]],
    rng: np.random.Generator,
    courses: int,
) -> pd.DataFrame:
    """Return how sure a build and its stages are, by drawn courses of events.

    The deliveries of one supplier are late together, each as often as it is alone. Stages with
    three points take days between them; a stage does not start before its planned day. What nobody
    brings never comes.

    Parameters
    ----------
    shop
        Reads ``stages``.
    build
        The build, and its assembly.
    planned
        The frames of the plan.
    waited
        Deliveries, and which needs wait for which.
    rng
        Source of chance.
    courses
        How many.

    Returns
    -------
    DataFrame
        Table ``sampled``; empty when the build has no stages.

    Raises
    ------
    LoopError
        When stages follow each other in a circle.
    """
    name, assembly = build
    deliveries, (need, delivery) = waited
    scale = deliveries.scale
    stages = stages_by_build(planned.stage_days, scale).get(name, [])
    if not stages:
        return SAMPLED.empty()
    inside = sorted(built_in_by_build(planned.built_in).get(name, ()))
    work = work_of(assembly, inside, steps_of(shop["stages"]))
    delivery = np.where(delivery == NO_SOURCE, len(deliveries.arrives), delivery)
    one = course(stages, uses_by_build(planned.needs, need, delivery).get(name, []), work)
    plans = Plans(work, one.starts, one.finish, _points(shop, one))
    arrives = np.vstack([deliveries.arrives, np.zeros(HORIZON)])
    whose = pd.factorize(np.array([*deliveries.table["supplier"], ""], dtype=object))[0]
    jobs = jobs_of(name, work, deliveries)
    drawn = sampled(arrives, one.waits, plans, rng, courses, (whose, jobs))
    rows = [("", "", len(work.keys)), *one.stages]
    chance = drawn.in_time[[at for *_, at in rows]]
    half, nine = (_days(drawn.days, share, rows, scale) for share in (0.5, 0.9))
    frame = pd.DataFrame(
        {
            "build": name,
            "assembly": [assembly for assembly, _, _ in rows],
            "stage": [stage for _, stage, _ in rows],
            "chance": chance,
            "error": np.sqrt(chance * (1 - chance) / courses),
            "half": half,
            "nine_in_ten": nine,
        }
    )
    return SAMPLED.check(SAMPLED.conform(frame))


def _points(shop: Shop, one: Course) -> Real:
    """Return ``(3, stage)``: shortest, likely and longest work; without three points all alike."""
    found = np.tile(one.work.days, (3, 1))
    place = {key: n for n, key in enumerate(one.work.keys)}
    names = ("assembly", "stage", "work_days_least", "work_days", "work_days_most")
    for assembly, stage, *points in zip(*(shop["stages"][c].tolist() for c in names), strict=True):
        at = place.get((assembly, stage), -1)
        if at >= 0 and told(*points):
            found[:, at] = points
    return found


def _days(
    drawn: Real, share: float, rows: Sequence[tuple[Any, ...]], scale: ShopDays
) -> NDArray[np.datetime64]:
    """Return the day by which a share of the courses is there; blank when that is not known."""
    ranks = np.quantile(drawn[[at for *_, at in rows]], share, axis=1, method="inverted_cdf")
    known = ranks < HORIZON
    from_day = np.where(known, scale.first, np.datetime64("NaT", "D"))
    numbers = np.where(known, np.maximum(ranks, 0), 0).astype("int64")
    days = add_days(from_day, numbers, scale.calendar, blank_outside=True)
    return np.asarray(days.astype("datetime64[s]"))

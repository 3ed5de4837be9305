"""The look ahead: how sure a plan is, what decides it, and what to do about it today."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from kitting.timing.deliveries import deliveries
from kitting.timing.outlook import covered_by, outlook
from kitting.timing.today import today

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import date

    import numpy as np
    import pandas as pd
    from numpy.typing import NDArray

    from kitting.tables.shop import Shop
    from kitting.terms.days import Calendar
    from kitting.timing.deliveries import Deliveries
    from kitting.timing.lead_times import LeadTimes
    from kitting.timing.outlook import Planned

    Whole = NDArray[np.int64]


@dataclass(frozen=True, eq=False)
class Ahead:
    """Tables ``deliveries``, ``chance``, ``need_chance``, ``drivers`` and ``today``."""

    deliveries: pd.DataFrame
    chance: pd.DataFrame
    need_chance: pd.DataFrame
    drivers: pd.DataFrame
    today: pd.DataFrame


def look_ahead(
    shop: Shop,
    builds: pd.DataFrame,
    day: date,
    calendars: Mapping[str, Calendar],
    times: LeadTimes,
    planned: Planned,
) -> Ahead:
    """Return how sure a plan is, what decides it, and what to do about it today.

    Parameters
    ----------
    shop
        Reads ``stages``, ``orders``, ``offers``, ``suppliers``, ``parts`` and ``shop``.
    builds
        Table ``builds``, of the builds that were planned.
    day
        The day of the plan.
    calendars
        From ``calendars``.
    times
        From ``lead_times``.
    planned
        The frames of the plan.

    Raises
    ------
    UnknownName
        When a supplier is not in ``suppliers``.
    LoopError
        When stages follow each other in a circle.
    """
    found, pairs = waited_for(shop, builds, day, calendars, times, planned)
    sure = outlook(shop, builds, planned, found, pairs)
    return Ahead(
        found.table,
        sure.chance,
        sure.need_chance,
        sure.drivers,
        today(shop, planned, found, pairs, day, times.confidence),
    )


def waited_for(
    shop: Shop,
    builds: pd.DataFrame,
    day: date,
    calendars: Mapping[str, Calendar],
    times: LeadTimes,
    planned: Planned,
) -> tuple[Deliveries, tuple[Whole, Whole]]:
    """Return what comes, jobs that are sent out among it, and which needs wait for what.

    Parameters
    ----------
    shop, builds, day, calendars, times, planned
        As for ``look_ahead``.

    Returns
    -------
    tuple
        The deliveries; and rows of the needs and of the deliveries, pair by pair.
    """
    buys = planned.buys.merge(planned.offer_days[["offer", "counts"]], on="offer", how="left")
    found = deliveries(shop, day, calendars, times, planned.coming, buys)
    pairs = covered_by(planned, found)
    if planned.outwork.empty:
        return found, pairs
    from kitting.timing.returns import with_jobs

    return with_jobs(shop, builds, planned, found, pairs, (times, calendars))

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

    import pandas as pd

    from kitting.tables.shop import Shop
    from kitting.terms.days import Calendar
    from kitting.timing.lead_times import LeadTimes
    from kitting.timing.outlook import Planned


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
    buys = planned.buys.merge(planned.offer_days[["offer", "counts"]], on="offer", how="left")
    found = deliveries(shop, day, calendars, times, planned.coming, buys)
    pairs = covered_by(planned, found)
    sure = outlook(shop, builds, planned, found, pairs)
    return Ahead(
        found.table,
        sure.chance,
        sure.need_chance,
        sure.drivers,
        today(shop, planned, found, pairs, day, times.confidence),
    )

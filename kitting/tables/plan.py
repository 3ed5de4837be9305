"""What a plan holds: every frame from the bill to the buys, and the findings on the way."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from datetime import date

    import pandas as pd

    from kitting.tables.shop import Shop
    from kitting.terms.findings import Finding


@dataclass(frozen=True)
class Plan:
    """The answer for some builds of a shop on a day.

    Parameters
    ----------
    shop
        The shop that was planned.
    day
        The day of the plan.
    builds
        Names of the builds that were planned, in order of service.
    required, joints, left_overs, gaps, cautions, built_in, opened
        Written by ``bill``; contracts in ``tables.flow``.
    stage_days, coming, offer_days, order_by, order_by_need, readiness
        Written by ``timing``.
    outwork
        Written by ``timing``; table ``outwork_days`` in ``tables.times``.
    lead_times, likely_days, deliveries, chance, need_chance, drivers, today
        Written by ``timing``; contracts in ``tables.outlook``.
    needs, supply, picks, shortages
        Written by ``netting``.
    buys, buy_needs
        Written by ``sourcing``.
    findings
        What else a person should know.
    """

    shop: Shop
    day: date
    builds: tuple[str, ...]
    required: pd.DataFrame
    joints: pd.DataFrame
    left_overs: pd.DataFrame
    gaps: pd.DataFrame
    cautions: pd.DataFrame
    built_in: pd.DataFrame
    opened: pd.DataFrame
    stage_days: pd.DataFrame
    coming: pd.DataFrame
    outwork: pd.DataFrame
    offer_days: pd.DataFrame
    needs: pd.DataFrame
    supply: pd.DataFrame
    picks: pd.DataFrame
    shortages: pd.DataFrame
    buys: pd.DataFrame
    buy_needs: pd.DataFrame
    order_by: pd.DataFrame
    order_by_need: pd.DataFrame
    readiness: pd.DataFrame
    lead_times: pd.DataFrame
    likely_days: pd.DataFrame
    deliveries: pd.DataFrame
    chance: pd.DataFrame
    need_chance: pd.DataFrame
    drivers: pd.DataFrame
    today: pd.DataFrame
    findings: tuple[Finding, ...] = ()


@dataclass(frozen=True)
class Beyond:
    """What a plan's builds have to do beyond the shelf and the bench; of all of them together.

    Parameters
    ----------
    outwork, taken_off, measured, assortment, hand_over, clashes
        Written by ``timing``; contracts in ``tables.times``.
    findings
        Jobs that are back too late, and stages that would wait for a size.
    """

    outwork: pd.DataFrame
    taken_off: pd.DataFrame
    measured: pd.DataFrame
    assortment: pd.DataFrame
    hand_over: pd.DataFrame
    clashes: pd.DataFrame
    findings: tuple[Finding, ...] = ()


@dataclass(frozen=True)
class Scheduled:
    """A proposal: the stages of all open builds on the benches and people that there are.

    Parameters
    ----------
    schedule, build_days
        Written by ``timing``; contracts in ``tables.times``.
    findings
        Dates that do not hold, waits, and places that hold two builds at once.
    """

    schedule: pd.DataFrame
    build_days: pd.DataFrame
    findings: tuple[Finding, ...] = ()


@dataclass(frozen=True)
class Ready:
    """What to keep for a promise, and what other promises would cost.

    Parameters
    ----------
    keep
        Table ``ready``; empty when it cannot be promised.
    yearly
        Builds in a year, by those that are finished; 0 = none is.
    soonest
        Fewest days that can be promised at all [working days].
    choices
        Days that can be promised and what holding costs in a year [working days, cents], each
        where it becomes cheaper.
    findings
        What a person should know.
    """

    keep: pd.DataFrame
    yearly: float
    soonest: int
    choices: tuple[tuple[int, int], ...]
    findings: tuple[Finding, ...]

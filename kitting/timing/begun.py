"""What a schedule takes for granted: builds that have begun, and parts whose day nobody knows."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pandas as pd

from kitting.terms.findings import Finding
from kitting.terms.words import Level, StageState

if TYPE_CHECKING:
    from collections.abc import Iterator
    from datetime import date

_NAMED = 3


def from_today(builds: pd.DataFrame, day: date) -> pd.DataFrame:
    """Return table ``builds`` with none that starts before a day; blank stays blank.

    Parameters
    ----------
    builds
        Table ``builds``.
    day
        The day of the plan.
    """
    today = pd.Timestamp(day).as_unit("s")
    return builds.assign(start=builds["start"].mask(builds["start"] < today, today))


def begun(builds: pd.DataFrame, day: date) -> Iterator[Finding]:
    """Tell of builds that started before a day that all their stages are placed from then on.

    Parameters
    ----------
    builds
        Table ``builds``.
    day
        The day of the plan.
    """
    for row in builds[builds["start"] < pd.Timestamp(day)].itertuples(index=False):
        yield Finding(
            Level.NOTE,
            f"build {row.build} started {row.start:%Y-%m-%d}; no sheet says which of its stages "
            "are done, so all are placed from today on; give it the day on which the rest starts",
            "builds",
            column="start",
            about=str(row.build),
        )


def unknown_days(
    readiness: pd.DataFrame, shortages: pd.DataFrame, buy_needs: pd.DataFrame
) -> Iterator[Finding]:
    """Tell of builds that are placed as if parts were there whose day nobody knows.

    Parameters
    ----------
    readiness, shortages, buy_needs
        The tables of those names.
    """
    unknown = readiness[readiness["ready"].isna() & (readiness["state"] != StageState.DEFERRED)]
    bought = buy_needs.groupby("need")["quantity"].sum()
    short = shortages["quantity"] - shortages["need"].map(bought).fillna(0).astype("int64")
    bare = shortages[(short > 0) & ~shortages["deferred"]]
    for build, stages in unknown.groupby("build", sort=False):
        own = bare[(bare["build"] == build) & bare["stage"].isin(stages["stage"])]
        parts = own["part"].unique().tolist()
        first = stages["stage"].iloc[0] if own.empty else own["stage"].iloc[0]
        if parts:
            what = ", ".join(parts[:_NAMED])
            many = len(parts) - _NAMED
            what += f" and {many} more part{'s' if many > 1 else ''}" if many > 0 else ""
            why = f"nobody is known to bring {what}"
            do = "find a source, or ask the owner, first"
        else:
            why = f"nobody knows when all that stage {first} waits for can be used"
            do = "ask for the days that are missing"
        yield Finding(
            Level.WARN,
            f"build {build}: {why}; it is scheduled as if all were there in time: {do}",
            "offers" if parts else "orders",
            column="part" if parts else "promised",
            about=str(build),
        )

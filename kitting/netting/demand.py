"""Needs: what the bill asks for, with the day on which it must be usable."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pandas as pd

from kitting.tables.flow import NEEDS

if TYPE_CHECKING:
    from datetime import date

# Priority of a build that the frame of builds does not name, the same as for a blank cell.
MIDDLE = 5


def needs(
    required: pd.DataFrame,
    stage_days: pd.DataFrame,
    builds: pd.DataFrame,
    day: date | None = None,
) -> pd.DataFrame:
    """Date every required row that is to be served by itself.

    Rows that the contents of a set cover (``from_set``) are left out: the set is the need, by the
    earliest day on which it or one of its contents is wanted. A need keeps the number of its
    required row.

    Parameters
    ----------
    required
        Table ``required``.
    stage_days
        Table ``stage_days``; a stage that is not in it gives a need without a day.
    builds
        Table ``builds``.
    day
        The day of the plan: stages that began before it need their parts on it, since nothing can
        be on the shelf any earlier. ``None`` leaves the stages' own days.

    Returns
    -------
    pandas.DataFrame
        Table ``needs``.
    """
    own = required[(required["from_set"] == "") & (required["quantity"] > 0)]
    starts = stage_days[["build", "assembly", "stage", "start"]].rename(columns={"start": "day"})
    keys = ["build", "assembly", "stage"]
    dated = _by_contents(own, required, starts, keys)
    if day is not None:
        today = pd.Timestamp(day)
        dated["day"] = dated["day"].mask(dated["day"] < today, today)
    priority = builds.set_index("build")["priority"]
    dated["priority"] = dated["build"].map(priority).fillna(MIDDLE)
    return NEEDS.conform(dated.rename(columns={"required": "need"}))


def _by_contents(
    own: pd.DataFrame, required: pd.DataFrame, starts: pd.DataFrame, keys: list[str]
) -> pd.DataFrame:
    """Date the rows by their stages, and sets by the first stage that wants a content."""
    dated = own.merge(starts, how="left", on=keys, validate="m:1")
    inside = required[required["from_set"] != ""]
    if inside.empty:
        return dated
    wanted = inside.merge(starts, how="left", on=keys, validate="m:1").groupby(
        ["build", "from_set"]
    )
    first = pd.DataFrame({"first": wanted["day"].min(), "later": wanted["deferred"].all()})
    dated = dated.merge(
        first, how="left", left_on=["build", "part"], right_index=True, validate="m:1"
    )
    dated["day"] = dated[["day", "first"]].min(axis=1).astype(dated["day"].dtype)
    dated["deferred"] &= dated["later"].fillna(True).astype(bool)
    return dated

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

    Rows that the contents of a set cover (``from_set``) are left out: the set is the need. A need
    keeps the number of its required row.

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
    dated = own.merge(starts, how="left", on=["build", "assembly", "stage"], validate="m:1")
    if day is not None:
        today = pd.Timestamp(day)
        dated["day"] = dated["day"].mask(dated["day"] < today, today)
    priority = builds.set_index("build")["priority"]
    dated["priority"] = dated["build"].map(priority).fillna(MIDDLE)
    return NEEDS.conform(dated.rename(columns={"required": "need"}))

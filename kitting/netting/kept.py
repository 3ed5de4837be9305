"""What was decided to be kept on the shelf, and is not there when all needs are served."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pandas as pd

from kitting.tables.decided import last_accepted
from kitting.tables.flow import NEEDS
from kitting.terms.words import Lesson

if TYPE_CHECKING:
    from datetime import date

    from kitting.tables.shop import Shop


def kept_needs(
    shop: Shop, needs: pd.DataFrame, supply: pd.DataFrame, picks: pd.DataFrame, day: date
) -> pd.DataFrame:
    """Return what is to be kept on the shelf and will not be there, as needs of no build.

    What is left of a part when every need is served counts, on the shelf or on the way, where it is
    kept for no build, is nobody else's, lies in no kit and is not past its use-by day.

    Parameters
    ----------
    shop
        Reads ``proposals``.
    needs, supply, picks
        Tables of these names.
    day
        The day of the plan.

    Returns
    -------
    DataFrame
        Table ``needs``, numbered after the last need, with no build and no stage, for the day of
        the last need, since they may wait for the cheapest parcel.
    """
    wanted = last_accepted(shop["proposals"], Lesson.KEEP)
    if wanted.empty:
        return NEEDS.empty()
    used = supply["supply"].map(picks.groupby("supply")["quantity"].sum()).fillna(0)
    free = (supply["held_for"] == "") & (supply["owner"] == "") & (supply["kit"] == "")
    free &= ~(supply["use_by"] < pd.Timestamp(day))
    left = (supply["quantity"] - used.astype("int64"))[free].groupby(supply["part"]).sum()
    short = (wanted["quantity"] - wanted["part"].map(left).fillna(0).astype("int64")).clip(lower=0)
    rows = wanted.assign(quantity=short)[short > 0]
    start = int(needs["need"].max()) + 1 if len(needs) else 1
    last = needs["day"].max() if len(needs) else pd.NaT
    rows = rows.assign(
        need=range(start, start + len(rows)),
        build="",
        assembly="",
        stage="",
        joint="",
        role="",
        day=pd.Timestamp(day) if pd.isna(last) else max(last, pd.Timestamp(day)),
        priority=9,
        deferred=True,
    )
    return NEEDS.conform(rows[list(NEEDS.names)].reset_index(drop=True))

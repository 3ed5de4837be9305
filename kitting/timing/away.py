"""Jobs that are away: which are, and the stages that wait for them."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from kitting.tables.flow import READINESS
from kitting.tables.times import OUTWORK_DAYS
from kitting.terms.conditions import split_list
from kitting.terms.words import StageState
from kitting.timing.readiness import KEY
from kitting.timing.workdays import as_days

if TYPE_CHECKING:
    from collections.abc import Mapping

    import pandas as pd

    from kitting.tables.shop import Shop
    from kitting.terms.days import Calendar

FAMILY = "outwork"
"""Family of parts that are jobs."""


def jobs_away(
    shop: Shop,
    required: pd.DataFrame,
    netted: tuple[pd.DataFrame, pd.DataFrame, pd.DataFrame],
    stage_days: pd.DataFrame,
    coming: pd.DataFrame,
    calendars: Mapping[str, Calendar],
) -> pd.DataFrame:
    """Return the jobs that are not back yet, table ``outwork_days``; empty in a shop without any.

    Parameters
    ----------
    shop
        The shop, offers without a price among its offers.
    required, stage_days, coming
        The tables of those names.
    netted
        Tables ``needs``, ``supply`` and ``picks``. A job that lots on the shelf cover in full is
        back.
    calendars
        From ``calendars``.

    Raises
    ------
    UnknownName
        When an offer's supplier is not in ``suppliers``.
    InputError
        When the setting ``goods_in_days`` is not a whole number.
    """
    families = shop["parts"]["family"].unique().tolist()
    if not shop.has("outwork") and all(f.strip().casefold() != FAMILY for f in families):
        return OUTWORK_DAYS.empty()
    from kitting.timing.outwork import outwork_days

    needs, supply, picks = netted
    shelf = supply.loc[supply["order"] == "", "supply"]
    covered: pd.Series[int] = picks[picks["supply"].isin(shelf)].groupby("need")["covers"].sum()
    asked = needs.set_index("need")["quantity"].reindex(covered.index)
    there = covered.index[covered.to_numpy() >= asked.to_numpy()]
    still_out = required[~required["required"].isin(there)]
    return outwork_days(shop, still_out, stage_days, coming, calendars)


def held_by_jobs(readiness: pd.DataFrame, days: pd.DataFrame) -> pd.DataFrame:
    """Let stages wait for the jobs that they want back, whatever is ordered.

    A job goes out after the work that comes before it; an order alone does not bring it. A stage
    that comes later or elsewhere is left as it is.

    Parameters
    ----------
    readiness
        Table ``readiness``, by parts alone.
    days
        Table ``outwork_days``.

    Returns
    -------
    DataFrame
        Table ``readiness``.
    """
    if days.empty:
        return readiness
    at = {key: n for n, key in enumerate(zip(*(readiness[c] for c in KEY), strict=True))}
    state, ready = readiness["state"].tolist(), as_days(readiness["ready"].to_numpy()).copy()
    usable = as_days(days["usable"].to_numpy())
    columns = (days[c].tolist() for c in ("build", "assembly", "wanted", "in_time"))
    for row, (build, assembly, wanted, in_time) in enumerate(zip(*columns, strict=True)):
        for stage in split_list(wanted):
            n = at.get((build, assembly, stage), -1)
            if n < 0 or state[n] == StageState.DEFERRED:
                continue
            # Numpy's greatest day of a known and an unknown one is the unknown one.
            ready[n] = np.maximum(ready[n], usable[row])
            state[n] = state[n] if in_time else str(StageState.LATE)
    return READINESS.conform(readiness.assign(state=state, ready=ready.astype("datetime64[s]")))

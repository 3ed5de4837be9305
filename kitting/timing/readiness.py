"""How each stage stands: may its kit be called complete in time, and if not, why not."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from kitting.tables.flow import READINESS
from kitting.terms.words import StageState

if TYPE_CHECKING:
    from numpy.typing import NDArray

KEY = ["build", "assembly", "stage"]
STATES = np.array(
    [StageState.WHOLE, StageState.COMING, StageState.SHORT, StageState.LATE], dtype=object
)
_WHOLE, _COMING, _SHORT, _LATE = range(4)
_UNKNOWN = np.iinfo("int64").max
_BEFORE_ALL = np.iinfo("int64").min


def readiness(
    stage_days: pd.DataFrame,
    needs: pd.DataFrame,
    supply: pd.DataFrame,
    picks: pd.DataFrame,
    buys: pd.DataFrame,
    buy_needs: pd.DataFrame,
) -> pd.DataFrame:
    """Tell how each stage stands.

    whole: every need is picked from the shelf. coming: all is covered, but some by orders on the
    way that are usable in time. short: something is uncovered, and the buys chosen for it would be
    usable in time when ordered now. late: something is uncovered and no buy makes it, or nobody
    offers it. deferred: the stage happens later or elsewhere and never holds the bench. A need
    without a day has all the time there is.

    Parameters
    ----------
    stage_days, needs, supply, picks, buys, buy_needs
        The tables of those names.

    Returns
    -------
    DataFrame
        Table ``readiness``, stages in the order of ``stage_days``, then stages that only needs
        name. ``ready`` is the latest of the days on which its parts can be used, by what is picked
        or chosen now; a stage without needs is ready at its start.
    """
    stages = pd.concat([stage_days[[*KEY, "start", "deferred"]], _only_in_needs(stage_days, needs)])
    stages = stages.reset_index(drop=True)
    if stages.empty:
        return READINESS.empty()
    state, ready = _by_need(needs, supply, picks, buys, buy_needs)
    at = pd.MultiIndex.from_frame(stages[KEY]).get_indexer(pd.MultiIndex.from_frame(needs[KEY]))
    worst = np.full(len(stages), _WHOLE)
    holds = ~needs["deferred"].to_numpy()
    np.maximum.at(worst, at[holds], state[holds])
    deferred = stages["deferred"].to_numpy()
    counts = holds | deferred[at]
    latest = np.full(len(stages), _BEFORE_ALL)
    np.maximum.at(latest, at[counts], ready[counts])
    stages["state"] = np.where(deferred, str(StageState.DEFERRED), STATES[worst].astype(object))
    days = np.where(latest == _UNKNOWN, np.datetime64("NaT", "s"), latest.astype("datetime64[s]"))
    stages["ready"] = np.where(latest == _BEFORE_ALL, stages["start"].to_numpy(), days)
    return READINESS.conform(stages)


def _only_in_needs(stage_days: pd.DataFrame, needs: pd.DataFrame) -> pd.DataFrame:
    """Return the stages that needs name and that have no days."""
    named = needs[[*KEY, "deferred"]].groupby(KEY, sort=False, as_index=False)["deferred"].all()
    known = pd.MultiIndex.from_frame(stage_days[KEY])
    only = named[~pd.MultiIndex.from_frame(named[KEY]).isin(known)]
    return only.assign(start=pd.Series(pd.NaT, index=only.index, dtype="datetime64[s]"))


def _numbers(days: pd.Series[pd.Timestamp], blank: int) -> NDArray[np.int64]:
    """Return days as whole seconds, with a number for blank."""
    values = days.to_numpy("datetime64[s]")
    return np.where(np.isnat(values), blank, values.astype("int64"))


def _by_need(
    needs: pd.DataFrame,
    supply: pd.DataFrame,
    picks: pd.DataFrame,
    buys: pd.DataFrame,
    buy_needs: pd.DataFrame,
) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Return for each need its state (0 whole ... 3 late) and the day it is ready [seconds]."""
    index = pd.Index(needs["need"])
    due = _numbers(needs["day"], _UNKNOWN)
    state = np.full(len(needs), _WHOLE)
    ready = np.full(len(needs), _BEFORE_ALL)

    need = index.get_indexer(picks["need"])
    lot = pd.Index(supply["supply"]).get_indexer(picks["supply"])
    by_order = supply["order"].to_numpy(dtype=object)[lot] != ""
    from_day = np.where(by_order, _numbers(supply["from_day"], _UNKNOWN)[lot], _BEFORE_ALL)
    on_shelf = _numbers(supply["from_day"], _BEFORE_ALL)[lot]
    from_day = np.where(by_order, from_day, on_shelf)
    np.maximum.at(ready, need, from_day)
    late = by_order & ((from_day == _UNKNOWN) | (from_day > due[need]))
    np.maximum.at(state, need, np.where(late, _LATE, np.where(by_order, _COMING, _WHOLE)))

    short = needs["quantity"].to_numpy(copy=True)
    np.subtract.at(short, need, picks["covers"].to_numpy())
    need = index.get_indexer(buy_needs["need"])
    buy = pd.Index(buys["buy"]).get_indexer(buy_needs["buy"])
    usable = _numbers(buys["usable"], _UNKNOWN)[buy]
    brings = buy_needs["quantity"].to_numpy()
    in_time = (usable != _UNKNOWN) & (usable <= due[need])
    bought, punctual = np.zeros_like(short), np.zeros_like(short)
    np.add.at(bought, need, brings)
    np.add.at(punctual, need, np.where(in_time, brings, 0))
    np.maximum.at(ready, need, usable)
    ready[bought < short] = _UNKNOWN
    uncovered = np.where(punctual >= short, _SHORT, _LATE)
    return np.where(short > 0, np.maximum(state, uncovered), state), ready

"""Bins to count before a kit relies on what the record says of them."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pandas as pd

from kitting.errors import InputError
from kitting.tables.kits import COUNT_FIRST
from kitting.terms.findings import Finding
from kitting.terms.words import Cause, Decision, Lesson, Level

if TYPE_CHECKING:
    from datetime import date

    from kitting.tables.shop import Shop

_LOT = ["part", "lot", "place", "held_for", "owner"]
_LONG_AGO = pd.Timestamp("1900-01-01").as_unit("s")
_NOT_THERE = (str(Cause.NOT_PICKED), str(Cause.WRONG_PART))


def count_first(
    shop: Shop, needs: pd.DataFrame, supply: pd.DataFrame, picks: pd.DataFrame, day: date
) -> pd.DataFrame:
    """Return the bins that kits rely on and that somebody had better count first.

    A bin is named when its last count found another quantity than the record (a first count finds
    nothing wrong); when, since that count, its part was not picked or was the wrong one on a build,
    or a person decided that the bin is to be looked at; or when that count is older than the
    setting ``count_days`` (365, common practice: stock is taken once a year; 0 = never). A bin with
    no count on record is not called old: nobody knows.

    Parameters
    ----------
    shop
        Reads ``counts``, ``forgotten``, ``proposals`` and ``shop`` (setting ``count_days``).
    needs, supply, picks
        Tables of these names.
    day
        The day of the plan.

    Returns
    -------
    DataFrame
        Table ``count_first``, in order of place and part.

    Raises
    ------
    InputError
        When the setting is not a whole number, zero or more.
    """
    counts = shop["counts"]
    again = counts.duplicated(_LOT) | (counts["before"] > 0)
    counts = counts.assign(wrong=(counts["before"] != counts["after"]) & again)
    last = counts.drop_duplicates(_LOT, keep="last")
    missed = _last_day(shop["forgotten"], shop["forgotten"]["cause"].isin(_NOT_THERE), "noted")
    decided = shop["proposals"].drop_duplicates(["lesson", "part"], keep="last")
    looked = (decided["lesson"] == Lesson.LOOK) & (decided["decision"] == Decision.ACCEPTED)
    asked = _last_day(decided, looked, "day")
    days = _count_days(shop)
    before = pd.Timestamp(day) - pd.Timedelta(days=days) if days else _LONG_AGO
    doubted = last.loc[last["wrong"] | (last["day"] < before), "part"]
    parts = {*doubted, *missed.index, *asked.index}
    rows = _relied(needs, supply[supply["part"].isin(parts)], picks)
    if rows.empty:
        return COUNT_FIRST.empty()
    rows = rows.merge(last[[*_LOT, "day", "before", "after", "wrong"]], on=_LOT, how="left")
    since = rows["day"].fillna(_LONG_AGO)
    reasons = pd.DataFrame(
        {
            "wrong": rows["wrong"].eq(True),
            "missed": missed.reindex(rows["part"]).array >= since,
            "asked": asked.reindex(rows["part"]).array >= since,
            "old": rows["day"] < before,
        },
        index=rows.index,
    )
    rows = rows[reasons.any(axis=1)]
    if rows.empty:
        return COUNT_FIRST.empty()
    whys = [
        _why(row, reasons.loc[at], missed, asked)
        for at, row in zip(rows.index, rows.to_dict("records"), strict=True)
    ]
    rows = rows.assign(why=whys, counted=rows["day"])
    rows = rows.sort_values(["place", "part", "lot"]).drop_duplicates(["part", "lot", "place"])
    return COUNT_FIRST.conform(rows[list(COUNT_FIRST.names)].reset_index(drop=True))


def _relied(needs: pd.DataFrame, supply: pd.DataFrame, picks: pd.DataFrame) -> pd.DataFrame:
    """Return the bins from which needs are served, each with the first build that needs it."""
    bins = supply[(supply["order"] == "") & (supply["kit"] == "") & (supply["place"] != "")]
    served = picks[["need", "supply"]].merge(bins, on="supply")
    served = served.merge(needs[["need", "build", "day"]], on="need")
    first = served.sort_values(["day", "need"], kind="stable").drop_duplicates("supply")
    first = first[["supply", "build"]].merge(bins[["supply", "quantity", *_LOT]], on="supply")
    return first.drop(columns="supply")


def _last_day(frame: pd.DataFrame, rows: pd.Series[bool], column: str) -> pd.Series[pd.Timestamp]:
    """Return the last day by part."""
    return frame[rows].groupby("part")[column].max()


def _why(row: dict[str, object], said: pd.Series[bool], missed: pd.Series, asked: pd.Series) -> str:
    told = []
    part = row["part"]
    if said["wrong"]:
        told.append(f"the record was wrong on {row['day']:%Y-%m-%d}")
    if said["missed"]:
        told.append(f"was missed or wrong in a kit on {missed[part]:%Y-%m-%d}")
    if said["asked"]:
        told.append(f"to be looked at, as decided on {asked[part]:%Y-%m-%d}")
    if said["old"]:
        told.append(f"last counted {row['day']:%Y-%m-%d}")
    return "; ".join(told)


def _count_days(shop: Shop) -> int:
    text = shop.setting("count_days").strip() or "0"
    if text.isdecimal() and len(text) < 6:
        return int(text)
    message = f'count_days is "{text}"; write whole days, such as 365, or 0 for never'
    raise InputError(message, (Finding(Level.STOP, message, "shop", column="value"),))

"""Bins to count before a kit relies on what the record says of them."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pandas as pd

from kitting.errors import InputError
from kitting.tables.decided import last_accepted
from kitting.tables.kits import COUNT_FIRST
from kitting.terms.findings import Finding
from kitting.terms.words import Cause, Lesson, Level

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
    days = _count_days(shop)
    before = pd.Timestamp(day) - pd.Timedelta(days=days) if days else _LONG_AGO
    counts = shop["counts"]
    forgotten = shop["forgotten"]
    missed = _last_day(forgotten[forgotten["cause"].isin(_NOT_THERE)], "noted")
    asked = _last_day(last_accepted(shop["proposals"], Lesson.LOOK), "day")
    # Every part of which a bin may be named; most have nothing against them.
    again = (counts["before"] > 0) | counts["part"].duplicated()
    doubted = (counts["before"] != counts["after"]) & again | (counts["day"] < before)
    parts = {*counts["part"][doubted], *missed, *asked}
    bins = supply[supply["part"].isin(parts) & (supply["order"] == "") & (supply["kit"] == "")]
    first = _first_builds(needs, picks, bins)
    last = _last_counts(counts[counts["part"].isin(parts)]) if first else {}
    rows = []
    for number, quantity, *lot in bins[["supply", "quantity", *_LOT]].itertuples(
        index=False, name=None
    ):
        if number not in first or not lot[2]:
            continue
        counted, wrong = last.get(tuple(lot), (None, False))
        why = _why(lot[0], counted, wrong, missed, asked, before)
        if why:
            rows.append((first[number], *lot[:3], quantity, counted, why))
    if not rows:
        return COUNT_FIRST.empty()
    found = pd.DataFrame(rows, columns=COUNT_FIRST.names)
    found["counted"] = pd.to_datetime(found["counted"])
    found = found.sort_values(["place", "part", "lot"]).drop_duplicates(["part", "lot", "place"])
    return COUNT_FIRST.conform(found)


def _last_day(rows: pd.DataFrame, day: str) -> dict[str, pd.Timestamp]:
    """Return the last day by part."""
    found: dict[str, pd.Timestamp] = {}
    for part, when in zip(rows["part"].tolist(), rows[day].tolist(), strict=True):
        if not pd.isna(when):
            found[part] = max(found.get(part, when), when)
    return found


def _first_builds(needs: pd.DataFrame, picks: pd.DataFrame, bins: pd.DataFrame) -> dict[int, str]:
    """Return the first build that relies on each bin, by number of its supply."""
    served = picks[picks["supply"].isin(bins["supply"])]
    if served.empty:
        return {}
    asks = needs[needs["need"].isin(served["need"])].sort_values(["day", "need"], kind="stable")
    order = {need: (n, build) for n, (need, build) in enumerate(
        zip(asks["need"].tolist(), asks["build"].tolist(), strict=True))}  # fmt: skip
    first: dict[int, tuple[int, str]] = {}
    for supply, need in zip(served["supply"].tolist(), served["need"].tolist(), strict=True):
        first[supply] = min(first.get(supply, order[need]), order[need])
    return {supply: build for supply, (_, build) in first.items()}


def _last_counts(counts: pd.DataFrame) -> dict[tuple[str, ...], tuple[pd.Timestamp, bool]]:
    """Return when each lot was counted last, and whether the record was wrong then."""
    last: dict[tuple[str, ...], tuple[pd.Timestamp, bool]] = {}
    for day, before, after, *lot in counts[["day", "before", "after", *_LOT]].itertuples(
        index=False, name=None
    ):
        lots = tuple(lot)
        last[lots] = (day, before != after and (before > 0 or lots in last))
    return last


def _why(
    part: str,
    counted: pd.Timestamp | None,
    wrong: bool,
    missed: dict[str, pd.Timestamp],
    asked: dict[str, pd.Timestamp],
    before: pd.Timestamp,
) -> str:
    """Tell why a bin is to be counted; blank when nothing is against it."""
    told, since = [], _LONG_AGO if counted is None else counted
    if wrong and counted is not None:
        told.append(f"the record was wrong on {counted:%Y-%m-%d}")
    if part in missed and missed[part] >= since:
        told.append(f"was missed or wrong in a kit on {missed[part]:%Y-%m-%d}")
    if part in asked and asked[part] >= since:
        told.append(f"to be looked at, as decided on {asked[part]:%Y-%m-%d}")
    if counted is not None and counted < before:
        told.append(f"last counted {counted:%Y-%m-%d}")
    return "; ".join(told)


def _count_days(shop: Shop) -> int:
    text = shop.setting("count_days").strip() or "0"
    if text.isdecimal() and len(text) < 6:
        return int(text)
    message = f'count_days is "{text}"; write whole days, such as 365, or 0 for never'
    raise InputError(message, (Finding(Level.STOP, message, "shop", column="value"),))

"""Benches that more builds want on a day than they hold, by the days that the sheets ask for."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from kitting.tables.times import CLASHES
from kitting.terms.benches import parse_benches
from kitting.timing.workdays import as_days

if TYPE_CHECKING:
    from kitting.tables.shop import Shop

_DAY = np.timedelta64(1, "D")


def clashes(shop: Shop, stage_days: pd.DataFrame) -> pd.DataFrame:
    """Return the benches and days on which builds are in each other's way.

    Only places of the setting ``benches`` have limits; one that cannot be understood has none here,
    and the schedule says why. A build that is there with two stages is
    there once; half a day counts as the day. Whether the builds fit one after the other is for
    the schedule to say.

    Parameters
    ----------
    shop
        Reads ``shop`` (setting ``benches``).
    stage_days
        Table ``stage_days``.

    Returns
    -------
    DataFrame
        Table ``clashes``, by bench and day; days on which the same builds meet are one row.
    """
    try:
        benches = parse_benches(shop.setting("benches"))
    except ValueError:
        return CLASHES.empty()
    if not benches or stage_days.empty:
        return CLASHES.empty()
    there = stage_days[stage_days["place"].isin(list(benches)) & ~stage_days["deferred"]]
    there = there.dropna(subset=["start", "finish"])
    turn = {build: n for n, build in enumerate(dict.fromkeys(stage_days["build"]))}
    by_day: dict[tuple[str, np.datetime64], set[str]] = {}
    days = as_days(there[["start", "finish"]].to_numpy())
    columns = (there[c].tolist() for c in ("build", "place"))
    for build, place, (start, finish) in zip(*columns, days, strict=True):
        for day in np.arange(start, finish + _DAY):
            by_day.setdefault((place, day), set()).add(build)
    order = {place: n for n, place in enumerate(benches)}
    rows: list[dict[str, object]] = []
    for (place, day), builds in sorted(
        by_day.items(), key=lambda pair: (order[pair[0][0]], pair[0][1])
    ):
        if len(builds) <= benches[place]:
            continue
        named = "; ".join(sorted(builds, key=lambda b: turn[b]))
        last = rows[-1] if rows else {}
        if (last.get("place"), last.get("builds"), last.get("last")) == (place, named, day - _DAY):
            last["last"] = day
        else:
            rows.append(
                {"place": place, "holds": benches[place], "first": day, "last": day,
                 "builds": named}
            )  # fmt: skip
    if not rows:
        return CLASHES.empty()
    frame = pd.DataFrame(rows)
    for column in ("first", "last"):
        frame[column] = pd.to_datetime(frame[column]).astype("datetime64[s]")
    return CLASHES.conform(frame)

"""When each stage of each build is worked."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from kitting.errors import KittingError
from kitting.tables.flow import STAGE_DAYS
from kitting.timing.calendars import SHOP
from kitting.timing.network import BuiltIn, Placed, place, steps_of
from kitting.timing.workdays import add_days, as_days, outside, roll

if TYPE_CHECKING:
    from collections.abc import Mapping

    from kitting.tables.shop import Shop
    from kitting.terms.days import Calendar

# A stage does not start in a day's last ten minutes (2 % of eight hours), nor finish in the first
# ten: three stages of 0.33 days fill a day.
SLIVER = 0.02


def stage_days(
    shop: Shop,
    builds: pd.DataFrame,
    built_in: pd.DataFrame,
    calendars: Mapping[str, Calendar],
) -> pd.DataFrame:
    """Place every stage of every build on the shop's working days, as early as it can be.

    Parameters
    ----------
    shop
        Reads ``stages``.
    builds
        Table ``builds``; a build without a start, or with one outside the calendar's span, has
        stages without days.
    built_in
        Table ``built_in``.
    calendars
        From ``calendars``; the shop's is ``shop``.

    Returns
    -------
    DataFrame
        Table ``stage_days``, builds in the given order, stages in order of work.

    Raises
    ------
    LoopError
        When stages follow each other in a circle.
    UnknownName
        When a stage follows one that its assembly does not have.
    KittingError
        When a build's work reaches beyond the calendar's span.
    """
    steps = steps_of(shop["stages"])
    placed: dict[tuple[str, frozenset[BuiltIn]], list[Placed]] = {}
    rows: list[list[Placed]] = []
    inside = built_in_by_build(built_in)
    for build, assembly in zip(builds["build"], builds["assembly"], strict=True):
        structure = (assembly, inside.get(build, frozenset()))
        if structure not in placed:
            placed[structure] = place(assembly, sorted(structure[1]), steps)
        rows.append(placed[structure])
    if not any(rows):
        return STAGE_DAYS.empty()
    return _frame(builds, rows, calendars[SHOP])


def built_in_by_build(built_in: pd.DataFrame) -> dict[str, frozenset[BuiltIn]]:
    """Return, for each build, which assembly receives which in which stage."""
    found: dict[str, set[BuiltIn]] = {}
    columns = (built_in[c].tolist() for c in ("build", "assembly", "stage", "child"))
    for build, *row in zip(*columns, strict=True):
        found.setdefault(build, set()).add((row[0], row[1], row[2]))
    return {build: frozenset(rows) for build, rows in found.items()}


def _frame(builds: pd.DataFrame, rows: list[list[Placed]], calendar: Calendar) -> pd.DataFrame:
    counts = [len(r) for r in rows]
    flat = [p for r in rows for p in r]
    starts = as_days(builds["start"].to_numpy())
    starts = roll(
        np.where(outside(starts, calendar), np.datetime64("NaT", "D"), starts),
        calendar,
        blank_outside=True,
    )
    start_offset = np.array([p.start for p in flat])
    end_offset = np.array([p.end for p in flat])
    first = np.floor(start_offset + SLIVER).astype("int64")
    last = np.maximum(np.ceil(end_offset - SLIVER).astype("int64") - 1, first)
    from_day = np.repeat(starts, counts)
    names = np.repeat(builds["build"].to_numpy(dtype=object), counts)
    try:
        start, finish = (add_days(from_day, n, calendar) for n in (first, last))
    except KittingError as fault:
        late = int(np.argmax(np.where(np.isnat(from_day), -1.0, end_offset)))
        raise KittingError(
            f"build {names[late]}: stage {flat[late].step.stage} would end "
            f"{end_offset[late]:g} working days after the start; check work_days ({fault})"
        ) from fault
    frame = pd.DataFrame(
        {
            "build": names,
            "assembly": [p.step.assembly for p in flat],
            "stage": [p.step.stage for p in flat],
            "name": [p.step.name for p in flat],
            "start": start.astype("datetime64[s]"),
            "finish": finish.astype("datetime64[s]"),
            "work_days": [p.step.work_days for p in flat],
            "place": [p.step.place for p in flat],
            "deferred": [p.step.deferred for p in flat],
            "order": np.concatenate([np.arange(1, n + 1) for n in counts]),
        }
    )
    return STAGE_DAYS.conform(frame)

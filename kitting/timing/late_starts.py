"""How late each stage of an assembly may start without moving the assembly's end."""

from __future__ import annotations

from math import ceil, floor
from typing import TYPE_CHECKING

import pandas as pd

from kitting.tables.times import LATE_STARTS
from kitting.terms.conditions import split_list
from kitting.timing.calendars import SHOP
from kitting.timing.network import linked, steps_of
from kitting.timing.stage_days import SLIVER
from kitting.timing.workdays import as_days, count

if TYPE_CHECKING:
    from collections.abc import Mapping

    from kitting.tables.shop import Shop
    from kitting.terms.days import Calendar
    from kitting.timing.network import Key


def late_starts(
    shop: Shop, stage_days: pd.DataFrame, jobs: pd.DataFrame, calendars: Mapping[str, Calendar]
) -> pd.DataFrame:
    """Return how late each bench stage may start when its assembly takes its least time.

    Each assembly by itself, without what is built into it; the row without a stage is the end.
    Stages that are deferred hold nothing up and have no row. The stage that wants a job back starts
    as long after the stage with or after which the job goes out as it does in ``stage_days``, at
    least. Starts are rounded to an earlier day and ends to a later one.

    Parameters
    ----------
    shop
        Reads ``stages``.
    stage_days, jobs
        Tables ``stage_days`` and ``outwork_days`` of one build.
    calendars
        From ``calendars``.

    Returns
    -------
    DataFrame
        Table ``late_starts``.

    Raises
    ------
    LoopError
        When stages follow each other in a circle.
    UnknownName
        When a stage follows one that its assembly does not have.
    """
    steps = steps_of(shop["stages"])
    away = _days_away(stage_days, jobs, calendars)
    rows: list[tuple[str, str, int]] = []
    for assembly in steps:
        network = linked(assembly, (), steps)
        follows = network.bench_follows
        tails: dict[Key, float] = {}
        least = {key: network.nodes[key].work_days for key in follows}
        for key in reversed([k for k in network.order if k in follows]):
            tails[key] = least[key]
            before = [(other, network.nodes[other].work_days) for other in follows[key]]
            for other, days in (*before, *away.get(key, ())):
                if other in least:
                    least[other] = max(least[other], tails[key] + days)
        end = ceil(max(tails.values(), default=0.0) - SLIVER)
        rows.append((assembly, "", end))
        rows += [(*key, max(floor(end - tail + SLIVER), 0)) for key, tail in tails.items()]
    return LATE_STARTS.conform(pd.DataFrame(rows, columns=LATE_STARTS.names))


def _days_away(
    stage_days: pd.DataFrame, jobs: pd.DataFrame, calendars: Mapping[str, Calendar]
) -> dict[Key, list[tuple[Key, float]]]:
    """Return, by the stage that wants jobs back, stages before and days from their start till then.

    [working days]
    """
    columns = (stage_days[c].tolist() for c in ("assembly", "stage", "start"))
    starts = {(assembly, stage): start for assembly, stage, start in zip(*columns, strict=True)}
    found: dict[Key, list[tuple[Key, float]]] = {}
    known = jobs[jobs["usable"].notna()]
    columns = (known[c].tolist() for c in ("assembly", "after", "wanted", "usable"))
    for assembly, after, wanted, usable in zip(*columns, strict=True):
        for other in split_list(after):
            first, last = (as_days(d) for d in ([starts[assembly, other]], [usable]))
            days = float(count(first, last, calendars[SHOP])[0])
            for stage in split_list(wanted):
                found.setdefault((assembly, stage), []).append(((assembly, other), days))
    return found

"""Would what earlier builds taught have caught what later builds forgot."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pandas as pd

from kitting.audit.events import counted
from kitting.audit.lessons import Event, Lessons
from kitting.audit.sellers import sellers
from kitting.tables.audit import BACK_TEST

if TYPE_CHECKING:
    from collections.abc import Sequence

    from kitting.tables.shop import Shop

_CELLS = [
    "entry", "build", "assembly", "stage", "joint", "role", "part", "quantity", "unit", "cause",
]  # fmt: skip


def back_test(shop: Shop, events: pd.DataFrame | None = None) -> pd.DataFrame:
    """Judge proposals on builds that they were not made from.

    Builds are taken in order of finish. For each, proposals are made from the forgotten parts of
    the builds that finished before it, whatever today's bill says, and held against its own. What
    the first build forgot is not judged: nothing was known before it.

    Parameters
    ----------
    shop
        Reads what ``counted`` and ``sellers`` read.
    events
        Forgotten parts that count, when they are at hand; from ``counted``.

    Returns
    -------
    DataFrame
        Table ``back_test``: one row for each forgotten part that could be judged.
    """
    events = counted(shop) if events is None else events
    events = events[events["finished"].notna()]
    order = events[["build", "finished"]].drop_duplicates().sort_values(["finished", "build"])
    finished = shop["builds"]["finished"].dropna().sort_values()
    by_build: dict[str, list[Event]] = {}
    for event in as_events(events, shop):
        by_build.setdefault(event.build, []).append(event)
    known = Lessons()
    waiting: list[Event] = []
    rows: list[tuple[object, ...]] = []
    last = None
    for build, day in zip(order["build"].tolist(), order["finished"].tolist(), strict=True):
        if day != last:
            for event in waiting:
                known.learn(event)
            waiting, last = [], day
        earlier = int(finished.searchsorted(day))
        if earlier:
            rows += judged(known, by_build[build], earlier)
        waiting += by_build[build]
    if not rows:
        return BACK_TEST.empty()
    frame = pd.DataFrame(rows, columns=BACK_TEST.names).sort_values("entry")
    return BACK_TEST.check(BACK_TEST.conform(frame))


def as_events(events: pd.DataFrame, shop: Shop) -> list[Event]:
    """Return forgotten parts that count, with the supplier of each."""
    rows = events[_CELLS].assign(supplier=pd.Series(sellers(events, shop), index=events.index))
    return [Event(*row) for row in rows.itertuples(index=False, name=None)]


def judged(known: Lessons, later: Sequence[Event], earlier: int) -> list[tuple[object, ...]]:
    """Return rows of table ``back_test`` for later events, by what is known from earlier ones."""
    rows: list[tuple[object, ...]] = []
    for e in later:
        by = known.catching(e)
        told = (True, str(by.lesson), by.entries) if by else (False, "", "")
        rows.append((e.entry, e.build, e.part, e.cause, earlier, *told))
    return rows

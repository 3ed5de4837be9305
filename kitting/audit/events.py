"""Forgotten parts made countable: once each, on a build that is known, no loss below zero."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pandas as pd

from kitting.audit.reach import Reach
from kitting.terms.findings import Finding
from kitting.terms.nearest import nearest
from kitting.terms.words import ONCE_MORE, Cause, Level

if TYPE_CHECKING:
    from collections.abc import Iterator

    from kitting.tables.shop import Shop

# Two entries that agree in all of these tell of one event.
SAME = ["build", "stage", "joint", "part", "quantity", "cause", "noted"]

# Causes that say that the part was not there.
_COMES = [str(Cause.LATE), str(Cause.NOT_IN_BILL)]


def counted(shop: Shop) -> pd.DataFrame:
    """Return the forgotten parts that count.

    Entries for unknown builds are left out, and those of parts that had come for the build
    before it started (``there_after_all``). Of entries that tell of the same event, the one with
    the greater loss counts, the earlier when they are equal; what was asked for once more, as the
    note then says, is an event of its own. Losses below zero count as none.

    Returns
    -------
    DataFrame
        Table ``forgotten`` with ``top`` (the build's assembly), ``finished`` (its day), ``family``
        and ``label`` (the part's), and ``assembly`` (whose stage and joint it is).
    """
    builds, parts = shop["builds"], shop["parts"]
    rows = shop["forgotten"].merge(
        builds[["build", "assembly", "finished"]].rename(columns={"assembly": "top"}), on="build"
    )
    rows = rows[~rows["entry"].isin(there_after_all(shop))]
    for column in ("hours_lost", "money_lost"):
        rows[column] = rows[column].fillna(0).clip(lower=0)
    rows = rows.sort_values(
        ["money_lost", "hours_lost", "entry"], ascending=[False, False, True], kind="stable"
    )
    rows = rows[~pd.Series(_events(rows), index=rows.index).duplicated()]
    rows = rows.sort_values("entry", ignore_index=True)
    named = parts[["part", "name", "family"]].rename(columns={"name": "label"})
    rows = rows.merge(named, on="part", how="left")
    rows[["label", "family"]] = rows[["label", "family"]].fillna("")
    reach = Reach(shop)
    places = list(zip(*(rows[c].tolist() for c in ("top", "stage", "joint")), strict=True))
    whose = {place: reach.whose(*place) for place in dict.fromkeys(places)}
    rows["assembly"] = pd.Series([whose[p] for p in places], index=rows.index, dtype="str")
    return rows


def _events(rows: pd.DataFrame) -> list[tuple[Any, ...]]:
    """Return the event that each entry tells of; what was asked for once more is its own."""
    once_more = rows["note"].str.startswith(ONCE_MORE)
    own = rows["entry"].where(once_more, 0).rename("own")
    return list(rows[SAME].join(own).itertuples(index=False, name=None))


def there_after_all(shop: Shop) -> dict[int, pd.Timestamp]:
    """Return entries whose part was in the kit after all, and the day it had come.

    The part is said to be late or not in the bill, but orders for the very build had brought as
    much as was missing before the build started. What came between the start and the day of the
    note may well have been late, so it counts.

    Parameters
    ----------
    shop
        Reads ``builds``, ``forgotten``, ``orders`` and ``receipts``.
    """
    rows = shop["forgotten"]
    rows = rows[rows["quantity"] > 0]
    rows = rows.loc[rows["cause"].isin(_COMES), ["entry", "build", "part", "quantity"]]
    rows = rows.merge(shop["builds"][["build", "start"]], on="build")
    orders = shop["orders"]
    orders = orders.loc[orders["build"].isin(rows["build"]), ["order", "line", "build", "part"]]
    came = orders.merge(
        shop["receipts"][["order", "line", "part", "quantity", "received"]],
        on=["order", "line", "part"],
    )
    both = rows.merge(came, on=["build", "part"], suffixes=("", "_came"))
    both = both[both["received"] < both["start"]]
    sums = both.groupby("entry").agg(
        missing=("quantity", "first"), came=("quantity_came", "sum"), day=("received", "max")
    )
    sums = sums[sums["came"] >= sums["missing"]]
    return {int(entry): day for entry, day in sums["day"].items()}


def findings(shop: Shop, events: pd.DataFrame | None = None) -> tuple[Finding, ...]:
    """Return what is odd about the forgotten parts, entry by entry, and how each was counted.

    Parameters
    ----------
    shop
        Reads what ``counted`` reads.
    events
        What ``counted`` returned, when it is at hand.
    """
    return tuple(_odd(shop, counted(shop) if events is None else events))


def _odd(shop: Shop, events: pd.DataFrame) -> Iterator[Finding]:
    rows = shop["forgotten"]
    known = set(shop["builds"]["build"])
    for row in rows[~rows["build"].isin(known)].itertuples(index=False):
        yield _finding(
            row.entry,
            "build",
            f'build "{row.build}" is not known, so it is not counted{nearest(row.build, known)}',
        )
    there = there_after_all(shop)
    for row in rows[rows["entry"].isin(there)].itertuples(index=False):
        yield _finding(
            row.entry,
            "cause",
            f"{row.part} had come for {row.build} on {there[row.entry].date().isoformat()}, before "
            "it started, so it was in the kit after all and is not counted; put the cause or the "
            "days right",
        )
    kept = dict(zip(_events(events), events["entry"], strict=True))
    twice = rows[rows["build"].isin(known) & ~rows["entry"].isin([*events["entry"], *there])]
    for entry, key in zip(twice["entry"], _events(twice), strict=True):
        message = f"tells of the same event as entry {kept[key]}, which is counted; take one out"
        yield _finding(entry, "", message)
    for column, what in (("hours_lost", "hours"), ("money_lost", "money")):
        for row in rows[~(rows[column] >= 0)].itertuples(index=False):
            message = f"{what} lost below zero or missing count as none; write 0 or more"
            yield _finding(row.entry, column, message)
    for row in rows[rows["quantity"] <= 0].itertuples(index=False):
        yield _finding(row.entry, "quantity", "nothing was missing by its quantity; write how much")
    for row in events[events["assembly"] == ""].itertuples(index=False):
        yield _finding(
            row.entry,
            "stage",
            f'"{row.stage}" is no stage of {row.top} or of what is built into it, so it is counted '
            "under no assembly",
        )
    early = events["finished"].isna()
    if early.any():
        yield Finding(
            Level.NOTE,
            f"{int(early.sum())} of {len(events)} forgotten parts are on builds that are not "
            "finished: they count as events and losses, not in rates",
            "forgotten",
        )


def _finding(entry: int, column: str, message: str) -> Finding:
    return Finding(Level.WARN, message, "forgotten", column=column, about=f"entry {entry}")

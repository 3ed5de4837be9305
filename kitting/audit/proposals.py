"""Changes that would have caught forgotten parts, with their evidence and worth."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from kitting.audit.backtest import as_events
from kitting.audit.events import counted
from kitting.audit.lessons import OF_PLACE, Lessons
from kitting.audit.shrink import james_stein
from kitting.audit.tally import hour_rate
from kitting.tables.audit import PROPOSED
from kitting.terms.money import amount, show_cents
from kitting.terms.units import show, unit
from kitting.terms.words import Lesson, SingleUse

if TYPE_CHECKING:
    from collections.abc import Mapping

    from kitting.audit.lessons import Taught
    from kitting.tables.shop import Shop

# What a year of keeping a thing costs, as a share of its price: assumption (money, room, ageing).
CARRYING = 0.2
_DAYS = 2  # how much sooner to order when orders and receipts do not tell: assumption
_YEAR = 365.25
_SAME = ["lesson", "assembly", "stage", "joint", "part"]


@dataclass(frozen=True)
class _Known:
    """What the worth of changes is worked out from.

    Parameters
    ----------
    shop, events
        The shop, and its forgotten parts that count.
    rates
        Events, builds that could forget it, expected rate and its interval, by part.
    loss
        Hours and cents that one event costs, by family.
    prices
        Least price and what it is for, by part.
    alike
        Count and disturbances, by assembly and joint.
    never
        Parts that may not be fitted again.
    years
        Time that the finished builds took, one at least.
    """

    shop: Shop
    events: pd.DataFrame
    rates: Mapping[str, tuple[int, int, float, float, float]]
    loss: Mapping[str, tuple[float, float]]
    prices: Mapping[str, tuple[int, int]]
    alike: Mapping[tuple[str, str], tuple[int, int]]
    never: frozenset[str]
    years: float


def proposals(
    shop: Shop, caught: pd.DataFrame, tallies: Mapping[str, pd.DataFrame], decided: pd.DataFrame
) -> pd.DataFrame:
    """Propose changes for what today's bill would not catch.

    A part that the bill lacked gets a line at its place, one that it had too few of a greater
    count, one damaged on fitting a spare, a measured size a place on the shelf, a late one an
    earlier order, and one that was not picked or picked wrong a look at its bin. What today's
    bill or a set already catches is not proposed; nor is what a person has decided on, unless it
    was forgotten again since.

    Expected to be avoided is the part's expected rate of table ``tally`` (drawn towards its
    family's) times the share of the part's events that the change would have caught. What one
    event costs is its family's mean, drawn towards that of all (``james_stein``). A line or count
    costs nothing, since the part is needed either way; what is carried or kept costs a fifth of
    its price a year, or its price over its shelf life where that is more.

    Parameters
    ----------
    shop
        The shop as of the day.
    caught
        Table ``caught`` for the same shop.
    tallies
        From ``tally``.
    decided
        Table ``proposals``: what was decided before.

    Returns
    -------
    DataFrame
        Table ``proposed``: most money and hours saved first, then most avoided.
    """
    events = counted(shop)
    covered = caught.loc[caught["how"].isin(["bill line", "set content"]), "entry"]
    open_events = events[events["entry"].isin(caught["entry"]) & ~events["entry"].isin(covered)]
    past = _decided(decided)
    changes = [
        change
        for change in Lessons(as_events(open_events, shop)).changes()
        if not {e.entry for e in change.events} <= past.get(_place(change), set())
        and (change.lesson not in OF_PLACE or change.assembly)
    ]
    if not changes:
        return PROPOSED.empty()
    known = _known(shop, events, tallies)
    frame = pd.DataFrame([_row(change, known) for change in changes])
    frame["proposal"] = 0
    frame = frame.sort_values(
        ["money_saved", "hours_saved", "avoided"], ascending=False, kind="stable"
    )
    frame["proposal"] = np.arange(1, len(frame) + 1)
    return PROPOSED.check(PROPOSED.conform(frame))


def _place(change: Taught) -> tuple[str, ...]:
    return (str(change.lesson), change.assembly, change.stage, change.joint, change.part)


def _decided(decided: pd.DataFrame) -> dict[tuple[str, ...], set[int]]:
    """Return the entries that were decided on, by what was proposed for them."""
    found: dict[tuple[str, ...], set[int]] = {}
    for *place, entries in decided[[*_SAME, "entries"]].itertuples(index=False, name=None):
        found.setdefault(tuple(place), set()).update(int(e) for e in entries.split(";") if e)
    return found


def _known(shop: Shop, events: pd.DataFrame, tallies: Mapping[str, pd.DataFrame]) -> _Known:
    parts = tallies["part"]
    cells = ["name", "events", "could", "expected", "expected_low", "expected_high"]
    rates = {row[0]: tuple(row[1:]) for row in parts[cells].itertuples(index=False, name=None)}
    offers = shop["offers"]
    prices: dict[str, tuple[int, int]] = {}
    for part, price, per in offers[["part", "price", "per"]].itertuples(index=False, name=None):
        if per > 0 and (part not in prices or price * prices[part][1] < prices[part][0] * per):
            prices[part] = (int(price), int(per))
    single = shop["parts"]["single_use"] == str(SingleUse.NEVER)
    alike = {
        (assembly, joint): (max(int(count), 1), max(int(times), 1))
        for assembly, joint, count, times in shop["joints"][
            ["assembly", "joint", "count", "disturbances"]
        ].itertuples(index=False, name=None)
    }
    finished = shop["builds"].dropna(subset="finished")
    begun = finished["start"].fillna(finished["finished"])
    days = (finished["finished"].max() - begun.min()).days if len(finished) else 0
    return _Known(
        shop=shop,
        events=events,
        rates=rates,
        loss=_losses(events),
        prices=prices,
        alike=alike,
        never=frozenset(shop["parts"].loc[single, "part"].tolist()),
        years=max(days / _YEAR, 1.0),
    )


def _losses(events: pd.DataFrame) -> dict[str, tuple[float, float]]:
    """Return hours and cents that one event costs, by family, drawn towards those of all."""
    found = []
    for column in ("hours_lost", "money_lost"):
        groups = events.groupby("family")[column]
        means, sizes = groups.mean(), groups.size()
        spread = float(((events[column] - groups.transform("mean")) ** 2).sum())
        free = len(events) - len(means)
        within = spread / free / float(sizes.mean()) if free else 0.0
        drawn, _ = james_stein(means.to_numpy(), within)
        found.append(dict(zip(means.index.tolist(), drawn.tolist(), strict=True)))
    return {family: (found[0][family], found[1][family]) for family in found[0]}


def _row(change: Taught, known: _Known) -> dict[str, object]:
    """Return one row of table ``proposed``, its number aside."""
    entries = {e.entry for e in change.events}
    mine = known.events[known.events["entry"].isin(entries)]
    events, could, mean, low, high = known.rates[change.part]
    share = len(entries) / events
    hours, money = known.loss[str(mine["family"].iloc[0])]
    yearly = mean * share * could / known.years
    quantity = _quantity(change, known)
    days = _days_late(change, known.shop) if change.lesson is Lesson.ORDER_SOONER else 0
    saved = yearly * (money + hours * hour_rate(known.shop))
    on = mine.loc[mine["finished"].notna(), "build"].nunique()
    return {
        **{name: getattr(change, name) for name in ("assembly", "stage", "joint", "role")},
        "lesson": str(change.lesson),
        "part": change.part,
        "supplier": change.supplier,
        "quantity": quantity,
        "unit": change.events[0].unit,
        "days": days,
        "message": _message(change, quantity, days, known.shop),
        "evidence": _evidence(mine, on, could, known.shop),
        "entries": change.entries,
        "builds": on,
        "could": could,
        "avoided": mean * share,
        "avoided_low": low * share,
        "avoided_high": high * share,
        "hours_saved": yearly * hours,
        "money_saved": int(np.floor(saved + 0.5)),
        "cost": _cost(change, quantity, known),
    }


def _quantity(change: Taught, known: _Known) -> int:
    """Return how many the change is about: for one of the joint's alike places where it is a line.

    A count is raised by what was missing, and to what was used where the shop tells.
    """
    missing = change.quantity
    if change.lesson not in (Lesson.ADD_LINE, Lesson.RAISE_COUNT):
        return missing
    count, times = known.alike.get((change.assembly, change.joint), (1, 1))
    whole = count * (times if change.part in known.never else 1) if change.joint else 1
    lines = known.shop["lines"]
    here = lines[
        (lines["assembly"] == change.assembly)
        & (lines["stage"] == change.stage)
        & (lines["joint"] == change.joint)
        & (lines["part"] == change.part)
    ]
    used = known.shop["used"]
    used = used[
        used["build"].isin([e.build for e in change.events])
        & (used["part"] == change.part)
        & (used["stage"] == change.stage)
        & (used["joint"] == change.joint)
    ]
    most = int(used.groupby("build")["quantity"].sum().max()) if len(used) else 0
    asked = int(here["quantity"].max()) if len(here) else 0
    needed = most or asked * whole + missing
    return max(-(-needed // whole), asked + 1 if len(here) else 1)


def _days_late(change: Taught, shop: Shop) -> int:
    """Return how many working days late the part's orders for these builds came, at most."""
    orders = shop["orders"]
    builds = {e.build for e in change.events}
    orders = orders[(orders["part"] == change.part) & orders["build"].isin(builds)]
    came = orders.merge(shop["receipts"][["order", "line", "received"]], on=["order", "line"])
    came = came.dropna(subset=["promised", "received"])
    if came.empty:
        return _DAYS
    promised, received = (came[c].to_numpy("datetime64[D]") for c in ("promised", "received"))
    return max(int(np.busday_count(promised, received).max()), _DAYS)


def _cost(change: Taught, quantity: int, known: _Known) -> int:
    """Return what the change costs in a year [cents]."""
    if change.lesson not in (Lesson.CARRY_SPARE, Lesson.KEEP) or change.part not in known.prices:
        return 0
    price = amount(quantity, *known.prices[change.part])
    parts = known.shop["parts"]
    life = parts.loc[parts["part"] == change.part, "shelf_days"].dropna()
    share = max(CARRYING, min(_YEAR / float(life.iloc[0]), _YEAR)) if len(life) else CARRYING
    return int(np.floor(price * share + 0.5))


def _message(change: Taught, quantity: int, days: int, shop: Shop) -> str:
    """Say what to change."""
    of = unit(change.events[0].unit)
    much = f"{show(quantity, of)} {of.name}"
    part = _named(change.part, shop)
    place = f"{change.assembly}, {change.stage}"
    at = f"{place}, joint {change.joint}" if change.joint else place
    role = f" as {change.role}" if change.role else ""
    match change.lesson:
        case Lesson.ADD_LINE:
            return f"add a line to {at}: {much} of {part}{role}"
        case Lesson.RAISE_COUNT:
            return f"raise the count of {part} at {at} to {much}{role}"
        case Lesson.CARRY_SPARE:
            return f"carry {much} of {part} as a spare for {at}"
        case Lesson.KEEP:
            return f"keep {much} of {part} on the shelf"
        case Lesson.ORDER_SOONER:
            by = f" from {change.supplier}" if change.supplier else ""
            return f"order {part}{by} {days} working days sooner"
        case Lesson.LOOK:
            return f"look at the bin of {part}: count it, check its label, bag it for the joint"


def _named(part: str, shop: Shop) -> str:
    names = shop["parts"].loc[shop["parts"]["part"] == part, "name"]
    return f"{part} ({names.iloc[0]})" if len(names) and names.iloc[0] else part


def _evidence(mine: pd.DataFrame, on: int, could: int, shop: Shop) -> str:
    """Say on which builds it was forgotten, of how many, and what that cost."""
    builds = ", ".join(dict.fromkeys(mine["build"].tolist()))
    hours, money = float(mine["hours_lost"].sum()), int(mine["money_lost"].sum())
    lost = f"{hours:g} hours and {show_cents(money, shop.setting('currency'))} lost"
    return f"forgotten on {builds}: {on} of {could} finished builds that could; {lost}"

"""Changes that would have caught forgotten parts, with their evidence and worth."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from kitting.audit.backtest import as_events
from kitting.audit.events import counted
from kitting.audit.lessons import OF_PLACE, Lessons
from kitting.audit.worth import known
from kitting.tables.audit import PROPOSED
from kitting.terms.money import amount, show_cents
from kitting.terms.units import counted as written
from kitting.terms.units import unit
from kitting.terms.words import Lesson

if TYPE_CHECKING:
    from collections.abc import Mapping

    from kitting.audit.lessons import Taught
    from kitting.audit.worth import Known
    from kitting.tables.shop import Shop

# What a year of keeping a thing costs, as a share of its price: assumption (money, room, ageing).
CARRYING = 0.2
_DAYS = 2  # how much sooner to order when orders and receipts do not tell: assumption
_YEAR = 365.25
_NAMED = 5  # builds that the evidence names
_SAME = ["lesson", "assembly", "stage", "joint", "part"]


def proposals(
    shop: Shop,
    caught: pd.DataFrame,
    tallies: Mapping[str, pd.DataFrame],
    decided: pd.DataFrame,
    events: pd.DataFrame | None = None,
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
    events
        Forgotten parts that count, when they are at hand; from ``counted``.

    Returns
    -------
    DataFrame
        Table ``proposed``: most money and hours saved first, then most avoided.
    """
    events = counted(shop) if events is None else events
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
    about = [event for change in changes for event in change.events]
    facts = known(shop, events, tallies["part"], about)
    frame = pd.DataFrame([_row(change, facts) for change in changes])
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


def _row(change: Taught, facts: Known) -> dict[str, object]:
    """Return one row of table ``proposed``, its number aside."""
    events, could, mean, low, high = facts.rates[change.part]
    share = len(change.events) / events
    hours, money = facts.loss[facts.families.get(change.part, "")]
    yearly = mean * share * could / facts.years
    quantity = _quantity(change, facts)
    late = [facts.late.get((e.build, change.part), 0) for e in change.events]
    days = max(*late, _DAYS) if change.lesson is Lesson.ORDER_SOONER else 0
    on = len({e.build for e in change.events if facts.lost[e.entry].past})
    return {
        **{name: getattr(change, name) for name in ("assembly", "stage", "joint", "role")},
        "lesson": str(change.lesson),
        "part": change.part,
        "supplier": change.supplier,
        "quantity": quantity,
        "unit": change.events[0].unit,
        "days": days,
        "message": _message(change, quantity, days, facts),
        "evidence": _evidence(change, on, could, facts),
        "entries": change.entries,
        "builds": on,
        "could": could,
        "avoided": mean * share,
        "avoided_low": low * share,
        "avoided_high": high * share,
        "hours_saved": yearly * hours,
        "money_saved": int(np.floor(yearly * (money + hours * facts.hour) + 0.5)),
        "cost": _cost(change, quantity, facts),
    }


def _quantity(change: Taught, facts: Known) -> int:
    """Return how many the change is about: for one of the joint's alike places where it is a line.

    A count is raised by what was missing, and to what was used where the shop tells.
    """
    if change.lesson not in (Lesson.ADD_LINE, Lesson.RAISE_COUNT):
        return change.quantity
    count, times = facts.alike.get((change.assembly, change.joint), (1, 1))
    whole = count * (times if change.part in facts.never else 1) if change.joint else 1
    place = (change.stage, change.joint, change.part)
    asked = facts.asked.get((change.assembly, *place), 0)
    most = max(facts.used.get((e.build, *place), 0) for e in change.events)
    needed = most or asked * whole + change.quantity
    return max(-(-needed // whole), asked + 1)


def _cost(change: Taught, quantity: int, facts: Known) -> int:
    """Return what the change costs in a year [cents]."""
    if change.lesson not in (Lesson.CARRY_SPARE, Lesson.KEEP) or change.part not in facts.prices:
        return 0
    price = amount(quantity, *facts.prices[change.part])
    life = max(facts.life.get(change.part, np.inf), 1.0)
    return int(np.floor(price * max(CARRYING, _YEAR / life) + 0.5))


def _message(change: Taught, quantity: int, days: int, facts: Known) -> str:
    """Say what to change."""
    of = unit(change.events[0].unit)
    much = written(quantity, of)
    name = facts.names.get(change.part, "")
    part = f"{change.part} ({name})" if name else change.part
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


def _evidence(change: Taught, on: int, could: int, facts: Known) -> str:
    """Say on which builds it was forgotten, of how many, and what that cost."""
    builds = list(dict.fromkeys(e.build for e in change.events))
    names = ", ".join(builds[:_NAMED])
    more = f" and {len(builds) - _NAMED} more" if len(builds) > _NAMED else ""
    lost = [facts.lost[e.entry] for e in change.events]
    hours, money = sum(one.hours for one in lost), sum(one.money for one in lost)
    return (
        f"forgotten on {names}{more}: {on} of {could} finished builds that could; {hours:g} "
        f"hour{'' if hours == 1 else 's'} and {show_cents(money, facts.currency)} lost"
    )

"""Would today's bill have caught it: a bill line, a set's content, an empty role of a joint."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import pandas as pd

from kitting.audit.events import counted
from kitting.audit.evidence import gather
from kitting.tables.audit import CAUGHT
from kitting.terms.units import show, unit
from kitting.terms.words import Cause

if TYPE_CHECKING:
    from collections.abc import Iterable

    from kitting.audit.evidence import Also, Empty, Evidence, Row
    from kitting.tables.catalogs import Catalogs
    from kitting.tables.shop import Shop

BILL_LINE, SET_CONTENT, JOINT_ROLE, NOT_CAUGHT = "bill line", "set content", "joint role", ""
SPARE, ORDER_BY, CHANCE = "spare policy", "order-by day", "chance"
MEASURED, COUNT = "size to measure", "count"
_CELLS = ["entry", "build", "stage", "joint", "role", "part", "quantity", "unit", "cause", "family"]


def caught(
    shop: Shop,
    required: pd.DataFrame,
    gaps: pd.DataFrame,
    kinds: pd.DataFrame | Catalogs,
    also: Also | None = None,
) -> pd.DataFrame:
    """Tell for each forgotten part whether today's bill would have caught it, and how.

    *bill line*: at that stage, and joint where one was noted, the bill asks for the part, or for
    one that it may serve for, in at least the quantity that was missing; or, after a wrong count,
    in at least what was used there, when the table ``used`` tells. A part that was late is not
    caught by its line, only by ordering it in time; one damaged on fitting only when the bill asks
    for all that was used. *set content*: sets of the bill contain it, and enough is not spoken for
    by the bill's own lines. *joint role*: the check of joints names the role at that joint as
    empty, to stop or to warn; where joint or role was not noted, a role at that stage whose usual
    filling names the part's family. *spare policy*: it was damaged on fitting, and the rules for
    spares advise as many as were missing. *count*: it came late since the record held more than the
    bin, and the check names that bin to be counted first. *order-by day*: it came late, and its
    order went out after the day that today's lead times give with the shop's confidence. *chance*:
    it came late, and what was promised for that day is, by today's lead times, less sure to be in
    time than the shop wants. *size to measure*: it is one of the sizes that the sheet ``measured``
    chooses from at that joint. What the check knows only from past builds' notes does not count: it
    would find the entry by the entry itself. Where versions of the bill tell what it was on the day
    of the note, the reason says so.

    Parameters
    ----------
    shop
        Reads ``forgotten``, ``builds``, ``parts``, ``sets``, ``stand_ins``, ``joints``, ``used``.
    required, gaps
        Tables of those names for the past builds, by today's bill.
    kinds
        Table ``joint_kinds``, or the catalogs that hold it.
    also
        Spares that the rules advise and days to order, if known.

    Returns
    -------
    DataFrame
        Table ``caught``: one row for each entry that counts, on builds that are finished or that
        ``required`` names.
    """
    events = counted(shop)
    events = events[events["finished"].notna() | events["build"].isin(required["build"].unique())]
    if events.empty:
        return CAUGHT.empty()
    evidence = gather(events, shop, required, gaps, kinds, also)
    answers = [
        answer(Event(*row), evidence) for row in events[_CELLS].itertuples(index=False, name=None)
    ]
    how = pd.Series([a[0] for a in answers], index=events.index, dtype="str")
    reason = [a[1] for a in answers]
    return CAUGHT.check(
        CAUGHT.conform(events.assign(caught=how != NOT_CAUGHT, how=how, reason=reason))
    )


@dataclass(frozen=True, slots=True)
class Event:
    """One forgotten part."""

    entry: int
    build: str
    stage: str
    joint: str
    role: str
    part: str
    quantity: int
    unit: str
    cause: str
    family: str

    @property
    def pair(self) -> tuple[str, str]:
        """Build and part."""
        return self.build, self.part

    @property
    def place(self) -> str:
        """The stage, and the joint if known, in words."""
        return f"{self.stage}, joint {self.joint}" if self.joint else self.stage

    def much(self, quantity: int) -> str:
        """Write base units in the unit of the entry."""
        of = unit(self.unit)
        return show(quantity, of) if of.name == "piece" else f"{show(quantity, of)} {of.name}"

    def here(self, row: Row) -> bool:
        """Tell whether a row is at the place; a row without a joint serves the whole stage."""
        return row.stage == self.stage and (not self.joint or row.joint in ("", self.joint))

    def sum_here(self, rows: Iterable[Row]) -> int:
        """Add up the rows at the place [base units]."""
        return sum(row.quantity for row in rows if self.here(row))


def answer(event: Event, evidence: Evidence) -> tuple[str, str]:
    """Return how one forgotten part would have been caught, blank if not, and why in words."""
    how, reason = _answer(event, evidence)
    then = evidence.then.get(event.entry, "") if how in (BILL_LINE, SPARE, NOT_CAUGHT) else ""
    return how, f"{reason}; {then}" if then else reason


def _answer(event: Event, evidence: Evidence) -> tuple[str, str]:
    rows = evidence.lines.get(event.pair, [])
    asked = event.sum_here(rows)
    by_line = ("", "")
    if asked:
        by_line = _by_line(event, rows, asked, event.sum_here(evidence.used.get(event.pair, [])))
        if by_line[0]:
            return by_line
        if event.cause == Cause.DAMAGED and event.pair in evidence.spares:
            return _by_spare(event, evidence, by_line[1])
        if event.cause == Cause.LATE and event.pair in evidence.counts:
            return COUNT, f"{by_line[1]}; {evidence.counts[event.pair]}"
        if event.cause == Cause.LATE:
            return _by_day(event, evidence, by_line[1])
    sets = evidence.surplus.get(event.pair, [])
    spare = sum(quantity for _, quantity in sets)
    names = ", ".join(name for name, _ in sets)
    if 0 < event.quantity <= spare:
        return (
            SET_CONTENT,
            f"{names} of the bill contains {event.much(spare)} not asked for by lines",
        )
    for gap in evidence.empty.get((event.build, event.stage), []):
        if _points_to(gap, event):
            usual = f" (usually {gap.usual})" if gap.usual else ""
            return JOINT_ROLE, f"the check names {gap.role} of {gap.joint} as empty{usual}"
    if event.cause == Cause.MEASURED:
        for joint in evidence.sizes.get(event.pair, []):
            if event.joint in ("", joint):
                return MEASURED, f"the check lists it among the sizes to choose at joint {joint}"
    if asked:
        return by_line
    if sets:
        return (
            NOT_CAUGHT,
            f"{names} of the bill contains it, but only {event.much(spare)} are spare",
        )
    if rows:
        places = sorted({f"{r.stage}, joint {r.joint}" if r.joint else r.stage for r in rows})
        return NOT_CAUGHT, f"the bill asks for it only at {'; '.join(places)}"
    return NOT_CAUGHT, "no line or set of the bill has it, and no empty role there points to it"


def _by_line(event: Event, rows: Iterable[Row], asked: int, used: int) -> tuple[str, str]:
    """Judge a part that the bill asks for at the place."""
    others = sorted({row.asked for row in rows if event.here(row) and row.asked != event.part})
    by_name = f" as {', '.join(others)}" if others else ""
    says = f"the bill asks for {event.much(asked)}{by_name} at {event.place}"
    missing = event.much(event.quantity)
    if event.cause == Cause.LATE:
        return NOT_CAUGHT, f"{says}; it came late, which only ordering it in time prevents"
    if event.cause == Cause.DAMAGED and not used:
        return NOT_CAUGHT, f"{says}; whether one is spare is not known, since used does not tell"
    if event.cause in (Cause.DAMAGED, Cause.WRONG_COUNT) and used:
        if asked >= used:
            return BILL_LINE, f"{says}, and {event.much(used)} were used"
        return NOT_CAUGHT, f"{says}, but {event.much(used)} were used"
    if asked < event.quantity:
        return NOT_CAUGHT, f"{says}, but {missing} were missing"
    if event.cause == Cause.NOT_PICKED:
        return BILL_LINE, f"{says}; the kit sheet lists it to be ticked off"
    return BILL_LINE, says


def _by_day(event: Event, evidence: Evidence, says: str) -> tuple[str, str]:
    """Judge a part that the bill asks for and that came late."""
    sent = evidence.orders.get(event.pair)
    if sent is None or pd.isna(sent.order_by):
        return NOT_CAUGHT, says
    told = f"today's check would have told to order it by {sent.order_by:%Y-%m-%d}"
    if pd.isna(sent.ordered):
        return NOT_CAUGHT, f"{told}; when it was ordered is not on record"
    was = f"it was ordered {sent.ordered:%Y-%m-%d}"
    if sent.ordered > sent.order_by:
        return ORDER_BY, f"{told}; {was}"
    if sent.doubtful:
        sure = f"{sent.chance * 100:.0f} % sure to be in time"
        return CHANCE, f"{was} for {sent.promised:%Y-%m-%d}, by today's lead times {sure}"
    return NOT_CAUGHT, f"{told}; {was} and came late all the same"


def _by_spare(event: Event, evidence: Evidence, says: str) -> tuple[str, str]:
    """Judge a part that was damaged on fitting and of which the rules advise spares."""
    spare, why = evidence.spares[event.pair]
    if spare < event.quantity:
        return NOT_CAUGHT, f"{says}; the rules advise {event.much(spare)} more ({why})"
    return SPARE, f"kitting check --spares advises {event.much(spare)} more: {why}"


def _points_to(gap: Empty, event: Event) -> bool:
    """Tell whether an empty role at the stage would have led to the part."""
    if event.joint and gap.joint != event.joint:
        return False
    if event.role and gap.role != event.role:
        return False
    return bool(event.joint and event.role) or gap.suits(event.family)

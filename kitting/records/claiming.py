"""What came short, over, wrong or damaged, what is to go back, and what came of it.

A claim is opened on an order line and has its number; what happens since is another row with that
number, and the last row is how it stands. Goods that cannot be kept never reach the shelf: they
lie at ``outside: claim`` as a lot marked with the claim's number until they go back, are scrapped
or kept after all. They do not count as received, so the order line stays open for them.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import UTC, date, datetime
from typing import TYPE_CHECKING

from kitting.errors import InputError, UnknownName
from kitting.records.amending import Amendment, amend, split
from kitting.records.ledger import MOST, Move, post, reverse
from kitting.records.order_lines import come, lines
from kitting.records.orders import Arrival, next_number, receive
from kitting.records.places import CLAIM, RETURNED, SCRAP, SUPPLIER
from kitting.records.rows import day_of, day_text, insert, quoted, storable
from kitting.tables.dealings import CLAIMS
from kitting.terms.nearest import nearest

if TYPE_CHECKING:
    from kitting.records.hands import Hand
    from kitting.records.opening import Records

WHAT = ("short", "over", "wrong", "damaged", "core")
NEXT = ("replace", "credit", "return")
EVENTS = ("sent back", "scrapped", "kept", "settled")
CLOSED = ("kept", "settled", "withdrawn")
"""What can have happened last to a claim that is not open; withdrawn = it was a slip."""

_GOODS = ("over", "wrong", "damaged")
_CREDIT = "credit, claim {}"  # why a line is called off for a credit
_USUAL = {"over": "return", "core": "return"}


@dataclass(frozen=True, slots=True)
class Claim:
    """A claim as it stands.

    Parameters
    ----------
    order, line
        The order line that it is about.
    what
        ``short``, ``over``, ``wrong``, ``damaged``, or ``core`` for an old part that is owed back.
    quantity
        How much [base units].
    day
        When it was found, or when the last thing happened.
    part, unit
        What it is about; the line's unless given.
    next
        ``replace`` (the supplier sends it again), ``credit`` (that much of the line is called off)
        or ``return``; blank = what is usual.
    due
        By when it goes back or is answered.
    note, by
        Anything else, and who noted it.
    event, claim, move
        What happened last, its number, the move that brought the goods, or of an old part the new
        one; filled in.
    """

    order: str
    line: int
    what: str
    quantity: int
    day: date
    part: str = ""
    unit: str = ""
    next: str = ""
    due: date | None = None
    note: str = ""
    by: str = ""
    event: str = "opened"
    claim: str = ""
    move: int | None = None

    @property
    def open(self) -> bool:
        """Whether something is still to happen."""
        return self.event not in CLOSED


def claim(records: Records, what: Claim) -> Claim:
    """Open a claim and return it with its number; the goods that it is about wait to go back.

    Raises
    ------
    UnknownName
        When there is no such order or line.
    InputError
        When it is not one of our kinds, or the quantity is not above zero.
    """
    following = what.next or _USUAL.get(what.what, "replace")
    if what.what not in WHAT or following not in NEXT:
        raise InputError(
            f'"{what.what}, {following}" is no claim; say one of {", ".join(WHAT)} and one of '
            f"{', '.join(NEXT)}"
        )
    if not 0 < what.quantity <= MOST:
        raise InputError(f"{what.quantity} cannot be claimed; give a quantity above zero")
    with records.writing() as hand:
        (row,) = lines(hand, what.order, what.line)
        made = replace(
            what,
            claim=next_number(hand, "claims", "claim", "C"),
            part=what.part or row["part"],
            unit=what.unit or row["unit"],
            next=following,
        )
        if made.what in _GOODS:
            made = replace(made, move=_carry(hand, made, (SUPPLIER, CLAIM), f"{made.what} goods"))
        _write(hand, made)
        # What a set's box lacked is about a part of it, not about the line that asks for the set.
        if made.next == "credit" and (made.what != "short" or made.part == row["part"]):
            _call_off(records, hand, made)
    return made


@dataclass(frozen=True, slots=True)
class Answer:
    """What came of a claim.

    Parameters
    ----------
    claim, event, day
        Its number, what happened (``sent back``, ``scrapped``, ``kept`` or ``settled``) and when.
    place
        Bin for goods that are kept after all.
    note, by
        Anything else, and who noted it.
    """

    claim: str
    event: str
    day: date
    place: str = ""
    note: str = ""
    by: str = ""


def answer(records: Records, said: Answer) -> Claim:
    """Note what came of a claim and return it as it stands then.

    Goods that are kept after all become a receipt, and what was called off for their credit stands
    again: it is still to come. A claim is settled once its goods are gone.

    Raises
    ------
    UnknownName
        When there is no such claim.
    InputError
        When that cannot happen to it: it is settled, or its goods are gone or still here.
    """
    if said.event not in EVENTS:
        raise InputError(f'"{said.event}" is none of {", ".join(EVENTS)}')
    with records.writing() as hand:
        known = _claims(hand)
        if said.claim not in known:
            raise UnknownName(f'there is no claim "{said.claim}"{nearest(said.claim, known)}')
        old = known[said.claim]
        here = old.what in _GOODS and old.event == "opened"
        _check(old, said, here)
        if said.event == "kept" and old.what in _GOODS and old.move is not None:
            _stand_again(records, hand, old, said)
            reverse(records, old.move, f"kept: {said.note or old.what}", day=said.day, by=said.by)
            receive(
                records,
                Arrival(
                    old.order, old.quantity, said.place, said.day, line=old.line, by=said.by,
                    note=f"kept, claim {old.claim}",
                ),
            )  # fmt: skip
        elif here and said.event in ("sent back", "scrapped"):
            to = RETURNED if said.event == "sent back" else SCRAP
            _carry(hand, replace(old, day=said.day, by=said.by), (CLAIM, to), said.event)
        now = replace(
            old, event=said.event, day=said.day, note=said.note or old.note, by=said.by or old.by
        )
        _write(hand, now)
    return now


def undone(records: Records, hand: Hand, done: Move, reason: str) -> None:
    """Let a claim follow, when a move of its goods was undone.

    It is withdrawn when they came by a slip, with what was called off for its credit; it is open
    again when they did not leave.

    Raises
    ------
    InputError
        When the claim is closed, so that its goods cannot be here again.
    """
    old = _claims(hand)[done.lot]
    came = done.from_place != CLAIM
    if came and old.event not in ("sent back", "scrapped"):
        raise InputError(f"claim {old.claim} was {old.event} on {old.day}; open another")
    said = Answer(old.claim, "opened" if came else "withdrawn", done.day, by=done.by)
    if not came:
        _stand_again(records, hand, old, said)
    _write(hand, replace(old, event=said.event, day=said.day, note=reason, by=said.by or old.by))


def not_come(hand: Hand, done: Move, reason: str) -> None:
    """Withdraw the claim on the old part of goods whose receipt was a slip.

    Parameters
    ----------
    done
        The move that undid the receipt's.

    Raises
    ------
    InputError
        When the old part went back already, so that the goods did come.
    """
    mine = [c for c in _claims(hand).values() if c.what == "core" and c.move == done.reverses]
    for old in mine:
        if old.event not in ("opened", "withdrawn"):
            raise InputError(
                f"claim {old.claim} on its old part was {old.event} on {old.day}, so the goods "
                "came; count the bin instead"
            )
        if old.open:
            now = replace(old, event="withdrawn", day=done.day, note=reason, by=done.by or old.by)
            _write(hand, now)


def claims(records: Records) -> list[Claim]:
    """Return every claim as it stands, in the order of opening."""
    with records.reading() as hand:
        return list(_claims(hand).values())


def _claims(hand: Hand) -> dict[str, Claim]:
    """Return each claim as it stands, by number."""
    found: dict[str, Claim] = {}
    for number, day, event, *rest, move in hand.rows(
        f"SELECT {quoted(_COLUMNS)} FROM claims ORDER BY position"
    ):
        what, order, line, part, quantity, unit, following, due, note, by = rest
        found[number] = Claim(
            order, int(line), what, int(quantity), date.fromisoformat(day), part, unit, following,
            day_of(due), note, by, event, number, move,
        )  # fmt: skip
    return found


_COLUMNS = (
    *("claim", "day", "event", "what", "order", "line", "part", "quantity", "unit", "next"),
    *("due", "note", "by", "move"),
)


def _check(old: Claim, said: Answer, here: bool) -> None:
    """Refuse what cannot happen to a claim."""
    if not old.open:
        raise InputError(f"claim {old.claim} was {old.event} on {old.day}; open another")
    if said.event == "settled" and here:
        raise InputError(
            f"what claim {old.claim} is about is still here; say first that it was sent back, "
            "scrapped or kept"
        )
    if said.event == "kept" and not (here and said.place and old.what != "wrong"):
        raise InputError(
            f"claim {old.claim}: only damaged goods or goods beyond the order that are still here "
            "can be kept, in a bin that you name"
        )
    refused = old.what == "core" and said.event == "scrapped" and old.event == "sent back"
    if said.event in ("sent back", "scrapped") and old.event != "opened" and not refused:
        raise InputError(f"claim {old.claim}: {old.event} on {old.day} already")


def _carry(hand: Hand, what: Claim, ends: tuple[str, str], reason: str) -> int:
    """Move the goods of a claim and return the number of the move."""
    (moved,) = post(
        hand,
        [
            Move(
                part=what.part,
                quantity=what.quantity,
                from_place=ends[0],
                to_place=ends[1],
                day=what.day,
                lot=what.claim,
                unit=what.unit,
                reason=f"{reason}, claim {what.claim}",
                order=what.order,
                line=what.line,
                by=what.by,
            )
        ],
    )
    return moved.move


def _call_off(records: Records, hand: Hand, made: Claim) -> None:
    """Call that much of a line off as is still to come of it."""
    (row,) = lines(hand, made.order, made.line)
    still = int(row["quantity"]) - come(hand, made.order)[made.line]
    quantity = min(made.quantity, still)
    if row["cancelled"] or quantity <= 0:
        return
    change = Amendment(
        made.order, made.day, made.line, cancelled=True, reason=_CREDIT.format(made.claim),
        by=made.by,
    )  # fmt: skip
    if quantity == int(row["quantity"]):
        amend(records, change)
    else:
        split(records, change, quantity)


def _stand_again(records: Records, hand: Hand, old: Claim, said: Answer) -> None:
    """Let stand again what a claim called off, unless somebody decided on that line since."""
    last = {
        int(line): (what, reason)
        for line, what, reason in hand.rows(
            'SELECT line, what, reason FROM order_facts WHERE "order" = :order AND '
            "what IN ('called off', 'stands') ORDER BY position",
            {"order": old.order},
        )
    }
    for line, why in last.items():
        if why == ("called off", _CREDIT.format(old.claim)):
            reason = f"{said.event}, claim {old.claim}"
            amend(
                records,
                Amendment(old.order, said.day, line, stands=True, reason=reason, by=said.by),
            )


def _write(hand: Hand, what: Claim) -> None:
    """Write a row of a claim."""
    values = {name: getattr(what, name) for name in (*CLAIMS.names[:-1], "move")}
    for text in (what.part, what.unit, what.note, what.by):
        storable(text)
    values |= {
        "day": day_text(what.day),
        "due": day_text(what.due),
        "made_at": datetime.now(UTC).isoformat(timespec="microseconds"),
    }
    hand.run(insert("claims", (*CLAIMS.names, "move")), values)

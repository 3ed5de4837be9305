"""Counting a bin: the moves that make the ledger agree with what a person sees."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime
from typing import TYPE_CHECKING

from kitting.errors import InputError, UnknownName
from kitting.records.ledger import Move, post
from kitting.records.on_hand import Label, Lot, OnShelf, on_shelf
from kitting.records.places import COUNT, LABEL
from kitting.records.places import shelf_place as _shelf_place
from kitting.records.rows import add_rows, day_of, day_text
from kitting.tables.kits import COUNTS
from kitting.terms.nearest import nearest

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from kitting.records.hands import Hand, Row
    from kitting.records.opening import Records

_NOTHING = OnShelf(0, Label("", None, None))


@dataclass(frozen=True, slots=True)
class Count:
    """What a person saw in a bin.

    Parameters
    ----------
    part, place, lot, held_for, owner
        Which lot was counted.
    quantity
        How much is there [base units].
    day
        When it was counted.
    use_by, opened
        Days on the label; ``None`` leaves what is known.
    unit
        Unit as written; blank leaves what is known.
    by
        Who counted.
    """

    part: str
    place: str
    quantity: int
    day: date
    lot: str = ""
    held_for: str = ""
    use_by: date | None = None
    opened: date | None = None
    unit: str = ""
    by: str = ""
    owner: str = ""


@dataclass(frozen=True, slots=True)
class Counted:
    """What a count wrote.

    Parameters
    ----------
    before, after
        What the ledger held of the lot [base units].
    moves
        The moves; none when the ledger agreed.
    """

    before: int
    after: int
    moves: tuple[Move, ...]


def count(records: Records, seen: Count) -> Counted:
    """Make the ledger agree with what a person saw in a bin.

    Raises
    ------
    UnknownName
        When the shop has no such part.
    InputError
        When the quantity is below zero or the place is no bin.
    """
    with records.writing() as hand:
        known_part(hand, seen.part)
        lot = Lot(seen.part, seen.lot, _shelf_place(seen.place), seen.held_for, seen.owner)
        shelf = on_shelf(hand, seen.part)
        have = shelf.get(lot, _NOTHING)
        label = Label(
            seen.unit or have.label.unit or unit_of(hand, seen.part),
            day_text(seen.use_by) or have.label.use_by,
            day_text(seen.opened) or have.label.opened,
        )
        why = Why(seen.day, "counted", seen.by)
        moves = differences(lot, have, OnShelf(seen.quantity, label), why)
        note_counts(hand, [(lot, have.quantity, seen.quantity)], why)
        return Counted(have.quantity, seen.quantity, tuple(post(hand, moves)))


@dataclass(frozen=True, slots=True)
class Why:
    """When, why and by whom moves are made."""

    day: date
    reason: str
    by: str


def note_counts(hand: Hand, counted: Sequence[tuple[Lot, int, int]], why: Why) -> None:
    """Note that lots were counted, those on which the record agreed too; table ``counts``.

    Parameters
    ----------
    counted
        Lot, what the record said and what was there [base units].
    why
        When and by whom.
    """
    if not counted:
        return
    ((last,),) = hand.rows("SELECT COALESCE(MAX(count), 0) FROM counts")
    made_at = datetime.now(UTC).isoformat(timespec="seconds")
    rows: list[Row] = [
        (
            *(number, day_text(why.day), lot.part, lot.lot, lot.place, lot.held_for, lot.owner),
            *(before, after, why.by, made_at),
        )
        for number, (lot, before, after) in enumerate(counted, int(last) + 1)
    ]
    add_rows(hand, COUNTS.name, (*COUNTS.names, "made_at"), rows)


def differences(lot: Lot, have: OnShelf, want: OnShelf, why: Why) -> list[Move]:
    """Return the moves that bring a lot from what the ledger holds to what is there.

    A changed label is written by taking the lot out and putting it back.

    Raises
    ------
    InputError
        When the wanted quantity is below zero.
    """
    if want.quantity < 0:
        raise InputError(
            f"{want.quantity} of part {lot.part} cannot be in {lot.place or 'a bin'}; count again"
        )
    _shelf_place(lot.place)
    change = want.quantity - have.quantity
    moves = []
    if change < 0:
        moves.append(_move(lot, -change, have.label, why, out_to=COUNT))
    stays = min(have.quantity, want.quantity)
    if stays and have.label != want.label:
        moves.append(_move(lot, stays, have.label, why, out_to=LABEL))
        moves.append(_move(lot, stays, want.label, why, in_from=LABEL))
    if change > 0:
        moves.append(_move(lot, change, want.label, why, in_from=COUNT))
    return moves


def known_part(hand: Hand, part: str) -> None:
    """Refuse a part that the shop does not know.

    Raises
    ------
    UnknownName
        With the nearest part numbers.
    """
    if not hand.rows("SELECT 1 FROM parts WHERE part = :part", {"part": part}):
        known = [str(row[0]) for row in hand.rows("SELECT part FROM parts")]
        raise UnknownName(f'the shop has no part "{part}"{nearest(part, known)}')


def part_unit(hand: Hand, part: str) -> str:
    """Return the unit that a part is counted in.

    Raises
    ------
    UnknownName
        When the shop has no such part; the message offers the nearest numbers.
    """
    known_part(hand, part)
    return unit_of(hand, part)


def unit_of(hand: Hand, part: str) -> str:
    """Return the unit that a part is counted in; blank when the shop does not know the part."""
    rows = hand.rows("SELECT unit FROM parts WHERE part = :part", {"part": part})
    return str(rows[0][0]) if rows else ""


def _move(
    lot: Lot, quantity: int, label: Label, why: Why, *, out_to: str = "", in_from: str = ""
) -> Move:
    """Return one move of a count, into or out of the lot's place."""
    return Move(
        part=lot.part,
        lot=lot.lot,
        held_for=lot.held_for,
        owner=lot.owner,
        quantity=quantity,
        from_place=in_from or lot.place,
        to_place=out_to or lot.place,
        day=why.day,
        unit=label.unit,
        use_by=day_of(label.use_by),
        opened=day_of(label.opened),
        reason=why.reason,
        by=why.by,
    )

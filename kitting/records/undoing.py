"""Undoing a move, with what followed from it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from kitting.records import ledger
from kitting.records.places import CLAIM, SUPPLIER
from kitting.records.together import THROUGH, together

if TYPE_CHECKING:
    from datetime import date

    from kitting.records.hands import Hand
    from kitting.records.ledger import Move
    from kitting.records.opening import Records


def reverse(records: Records, move: int, reason: str, *, day: date, by: str = "") -> Move:
    """Undo a move by its opposite, and return that; what is one with it is undone too.

    The lot gets back the label that it had before, unless it was changed since. A receipt whose
    move is reversed no longer counts as received, and the claim on its old part is withdrawn; so is
    a claim whose goods came by the move, and one whose goods left by it is open again.

    Raises
    ------
    UnknownName
        When there is no such move.
    InputError
        When it was reversed before, is itself a reversal, lacks a reason, or what it brought is
        no longer there.
    """
    with records.writing() as hand:
        done = _undo(records, hand, move, reason, (day, by))
        if CLAIM in (done.from_place, done.to_place):
            from kitting.records.claiming import undone

            undone(records, hand, done, reason)
        elif done.to_place == SUPPLIER:
            from kitting.records.claiming import not_come

            not_come(hand, done, reason)
    return done


def _undo(records: Records, hand: Hand, move: int, reason: str, who: tuple[date, str]) -> Move:
    """Undo a move and those that are one with it, the last of them first."""
    day, by = who
    undone = {
        other.move: ledger.reverse(records, other.move, reason, day=day, by=by)
        for other in reversed(one_with(hand, move))
    }
    return undone[move]


def one_with(hand: Hand, move: int) -> list[Move]:
    """Return the moves that can only be undone with a move, itself too, in their order."""
    old = ledger.find_move(hand, move)
    through = old.reverses is None and {old.from_place, old.to_place} & set(THROUGH)
    return together(ledger.written_with(hand, old), old) if through else [old]

"""Undoing a move, with what followed from it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from kitting.records import ledger
from kitting.records.places import CLAIM

if TYPE_CHECKING:
    from datetime import date

    from kitting.records.ledger import Move
    from kitting.records.opening import Records


def reverse(records: Records, move: int, reason: str, *, day: date, by: str = "") -> Move:
    """Undo a move by its opposite, and return that.

    The lot gets back the label that it had before, unless it was changed since. A receipt whose
    move is reversed no longer counts as received; a claim whose goods came by the move is
    withdrawn, one whose goods left by it is open again.

    Raises
    ------
    UnknownName
        When there is no such move.
    InputError
        When it was reversed before, is itself a reversal, lacks a reason, or what it brought is
        no longer there.
    """
    with records.writing() as hand:
        done = ledger.reverse(records, move, reason, day=day, by=by)
        if CLAIM in (done.from_place, done.to_place):
            from kitting.records.claiming import undone

            undone(records, hand, done, reason)
    return done

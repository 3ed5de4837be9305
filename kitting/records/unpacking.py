"""Opening sets on the shelf, so that what they contain can be picked."""

from __future__ import annotations

from typing import TYPE_CHECKING

from kitting.records.ledger import Move, post
from kitting.records.places import UNPACKED
from kitting.records.rows import day_of

if TYPE_CHECKING:
    from datetime import date

    from kitting.records.hands import Hand
    from kitting.records.on_hand import Lot, OnShelf


def containers(hand: Hand, part: str) -> dict[str, int]:
    """Return the sets that hold a part, and how much of it one of each holds [base units]."""
    return {
        str(name): int(each)
        for name, each in hand.rows(
            'SELECT "set", CAST(SUM(quantity) AS BIGINT) FROM sets WHERE part = :part '
            "AND fits IN ('', 'needed') GROUP BY \"set\" ORDER BY \"set\"",
            {"part": part},
        )
    }


def unpack(hand: Hand, lot: Lot, seen: OnShelf, quantity: int, day: date, by: str = "") -> None:
    """Open sets of a lot: they leave their bin, and all that they contain enters it.

    Parameters
    ----------
    hand
        Inside ``Records.writing``.
    lot, seen
        Which lot of sets, and what is known of it.
    quantity
        How many sets.
    day, by
        When, and who opened them.

    Raises
    ------
    InputError
        When fewer are there.
    """
    out = Move(
        part=lot.part, lot=lot.lot, held_for=lot.held_for, owner=lot.owner, quantity=quantity,
        from_place=lot.place, to_place=UNPACKED, day=day, unit=seen.label.unit,
        use_by=day_of(seen.label.use_by), opened=day_of(seen.label.opened),
        reason="set opened", by=by,
    )  # fmt: skip
    inside = hand.rows(
        "SELECT s.part, CAST(SUM(s.quantity) AS BIGINT), COALESCE(MAX(p.unit), '') FROM sets AS s "
        'LEFT JOIN parts AS p ON p.part = s.part WHERE s."set" = :part GROUP BY s.part '
        "ORDER BY s.part",
        {"part": lot.part},
    )
    loose = [
        Move(
            part=str(part), lot=lot.lot, held_for=lot.held_for, owner=lot.owner,
            quantity=quantity * int(each), from_place=UNPACKED, to_place=lot.place, day=day,
            unit=str(unit), use_by=day_of(seen.label.use_by), reason=f"out of set {lot.part}",
            by=by,
        )
        for part, each, unit in inside
    ]  # fmt: skip
    post(hand, [out, *loose])

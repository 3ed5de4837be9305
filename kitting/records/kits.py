"""Kits read from the ledger: what lies in them and how it got there."""

from __future__ import annotations

from typing import TYPE_CHECKING

from kitting.records.on_hand import held_sql
from kitting.records.places import IN_KITS, UNPACKED, kit_of
from kitting.terms.words import KitMove

if TYPE_CHECKING:
    from kitting.records.hands import Hand, Row

_OPEN = "SELECT build FROM builds WHERE finished IS NULL"
_MOVED = (
    'SELECT move, day, part, quantity, build, from_place, to_place, "by", checked, reason '
    "FROM moves AS m WHERE build IN ({builds}) AND reverses IS NULL "
    "AND NOT EXISTS (SELECT 1 FROM moves WHERE reverses = m.move)"
)


def kitted(hand: Hand, last: str | None) -> list[Row]:
    """Return the rows of table ``kitted``.

    Of finished builds only what still lies in their kits is told.

    Parameters
    ----------
    last
        Leave out moves after this day; ``None`` takes all.
    """
    builds = {str(row[0]) for row in hand.rows(_OPEN)}
    where = IN_KITS if last else f"{IN_KITS} AND (build IN ({_OPEN}) OR place LIKE 'kit:%')"
    found = []
    for place, *rest in hand.rows(
        held_sql("place, part, lot, quantity, unit, use_by, opened, held_for, owner", where, last)
    ):
        kit = kit_of(place)
        if kit and (kit.build in builds or not kit.fitted):
            found.append((kit.build, kit.assembly, kit.stage, *rest, int(kit.fitted)))
    return found


def kit_moves(hand: Hand, last: str | None) -> list[Row]:
    """Return the rows of table ``kit_moves``; moves that were undone are left out.

    Parameters
    ----------
    last
        Leave out moves after this day; ``None`` takes all.
    """
    until = f" AND day <= '{last}'" if last else ""
    found = []
    for move, day, part, quantity, build, source, target, *who in hand.rows(
        _MOVED.format(builds=_OPEN) + until + " ORDER BY move"
    ):
        ends = _ends(source, target, build)
        if ends is not None:
            found.append((move, day, part, quantity, *ends, *who))
    return found


def _ends(source: str, target: str, build: str) -> tuple[str, ...] | None:
    """Say what a move did to which kit; ``None`` when it touched none."""
    left, entered = kit_of(source), kit_of(target)
    if entered and entered.fitted:
        return KitMove.FITTED, entered.build, entered.stage, "", "", ""
    if entered and left:
        return KitMove.TAKEN, entered.build, entered.stage, left.build, left.stage, ""
    if entered:
        return KitMove.PICKED, entered.build, entered.stage, "", "", source
    if left:
        return KitMove.BACK, left.build, left.stage, "", "", target
    if source == UNPACKED:
        return KitMove.OUT_OF_SET, build, "", "", "", target
    return None

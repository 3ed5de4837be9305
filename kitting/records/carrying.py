"""Carrying stock between bins, scrap, outwork, other sites and customers."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from kitting.errors import InputError
from kitting.records.counting import part_unit
from kitting.records.ledger import Move, post
from kitting.records.on_hand import on_hand
from kitting.records.picking import customer_of, known_build, last_day
from kitting.records.places import CUSTOMER, SCRAP, is_elsewhere, is_open, is_shelf, shelf_place
from kitting.records.rows import day_of

if TYPE_CHECKING:
    from datetime import date

    from kitting.records.hands import Hand
    from kitting.records.opening import Records

_AWAY = (
    "SELECT place, part, CAST(SUM(change) AS BIGINT) FROM (SELECT to_place AS place, part, "
    "quantity AS change FROM moves UNION ALL SELECT from_place, part, -quantity FROM moves) AS e "
    "WHERE place LIKE 'outside: site %' OR place LIKE 'outside: outwork %' "
    "GROUP BY place, part HAVING SUM(change) <> 0 ORDER BY place, part"
)


@dataclass(frozen=True, slots=True)
class Carry:
    """What is carried from one place to another.

    Parameters
    ----------
    part, quantity
        What, and how much [base units].
    from_place, to_place
        A bin, or a place of ``records.places``.
    day
        When.
    lot, held_for, owner
        Which lots only, ``None`` = any; of what comes from outside, its marks.
    use_by
        Last day of what comes from outside.
    by, reason
        Who and why.
    """

    part: str
    quantity: int
    from_place: str
    to_place: str
    day: date
    lot: str | None = None
    held_for: str | None = None
    owner: str | None = None
    use_by: date | None = None
    by: str = ""
    reason: str = ""


def carry(records: Records, what: Carry) -> list[Move]:
    """Carry stock from one place to another, and return the moves.

    Lots keep whose they are and whom they are held for; the soonest to spoil go first.

    Raises
    ------
    UnknownName
        When the shop has no such part or build.
    InputError
        When less is there, something is thrown away without a reason, a customer's part comes
        without its owner, or the shop's own part would go to a customer.
    """
    _check(what)
    with records.writing() as hand:
        unit = part_unit(hand, what.part)
        if what.held_for:
            known_build(hand, what.held_for)
        if is_open(what.from_place):
            return post(hand, [_from_outside(hand, what, unit)])
        return post(hand, _from_here(hand, what))


def away(records: Records) -> list[tuple[str, str, int]]:
    """Return place, part and quantity of what is at outwork and other sites.

    Below zero at a site: so much was had from there and not given back [base units].
    """
    with records.reading() as hand:
        return [(str(p), str(part), int(n)) for p, part, n in hand.rows(_AWAY)]


def _check(what: Carry) -> None:
    """Refuse what should not be carried."""
    for place in (what.from_place, what.to_place):
        if not is_elsewhere(place):
            shelf_place(place)
    if what.to_place == SCRAP and not what.reason.strip():
        raise InputError(f"say why {what.part} is thrown away: --reason TEXT")
    if is_open(what.from_place) and not is_shelf(what.to_place):
        raise InputError("what comes from outside goes into a bin first: --to BIN")


def _from_outside(hand: Hand, what: Carry, unit: str) -> Move:
    """Return the move of what comes from a customer or another site."""
    held_for = what.held_for or ""
    owner = what.owner or ""
    if what.from_place == CUSTOMER and not owner:
        owner = customer_of(hand, held_for) if held_for else ""
        if not owner:
            raise InputError(
                f"say whose {what.part} is: --owner NAME, or --held-for a build with a customer"
            )
    return Move(
        part=what.part,
        lot=what.lot or "",
        held_for=held_for,
        owner=owner,
        quantity=what.quantity,
        from_place=what.from_place,
        to_place=what.to_place,
        day=what.day,
        unit=unit,
        use_by=what.use_by,
        reason=what.reason or "came",
        build=held_for,
        by=what.by,
    )


def _from_here(hand: Hand, what: Carry) -> list[Move]:
    """Return the moves of lots that lie at a place of ours."""
    there = [
        (lot, seen)
        for lot, seen in on_hand(
            hand, "part = :part AND place = :place", part=what.part, place=what.from_place
        ).items()
        if what.lot in (None, lot.lot)
        and what.held_for in (None, lot.held_for)
        and what.owner in (None, lot.owner)
        and (what.to_place != CUSTOMER or lot.owner)
    ]
    missing, moves = what.quantity, []
    for lot, seen in sorted(there, key=lambda at: last_day(at[1], None)):
        taken = min(missing, seen.quantity)
        if taken > 0:
            moves.append(
                Move(
                    part=lot.part,
                    lot=lot.lot,
                    held_for=lot.held_for,
                    owner=lot.owner,
                    quantity=taken,
                    from_place=what.from_place,
                    to_place=what.to_place,
                    day=what.day,
                    unit=seen.label.unit,
                    use_by=day_of(seen.label.use_by),
                    opened=day_of(seen.label.opened),
                    reason=what.reason or "carried",
                    build=lot.held_for,
                    by=what.by,
                )
            )
            missing -= taken
    if missing > 0 or not moves:
        whose = " that a customer owns" if what.to_place == CUSTOMER else ""
        raise InputError(
            f"{what.quantity} of part {what.part} cannot leave {what.from_place}: "
            f"{what.quantity - missing} there{whose}; count the bin first"
        )
    return moves

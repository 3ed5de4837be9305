"""Opening the box of a set and comparing it with its listed contents."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from kitting.errors import InputError, UnknownName
from kitting.records.counting import part_unit
from kitting.records.ledger import Move, post
from kitting.records.on_hand import on_shelf
from kitting.records.places import UNPACKED, shelf_place
from kitting.records.rows import day_of
from kitting.records.unpacking import unpack
from kitting.terms.nearest import nearest

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import date

    from kitting.records.hands import Hand
    from kitting.records.on_hand import Lot, OnShelf
    from kitting.records.opening import Records


@dataclass(frozen=True, slots=True)
class Box:
    """A set whose box was opened.

    Parameters
    ----------
    part, quantity, place, day
        The set, how many boxes of it, where they lie, and when they were opened.
    lacking
        How much of each listed part was not in them [base units].
    lot, by
        Mark of the lot, and who looked.
    """

    part: str
    quantity: int
    place: str
    day: date
    lacking: Mapping[str, int] = field(default_factory=dict)
    lot: str = ""
    by: str = ""


def open_box(records: Records, box: Box) -> dict[str, int]:
    """Put what is in the boxes onto the shelf in their place, and return it [base units].

    The set is then no more; its listed contents lie in its bin, less what was lacking, for the
    build that it was held for.

    Raises
    ------
    UnknownName
        When the part is no set, or something that is not listed is said to be lacking.
    InputError
        When so many boxes are not there, or more is lacking than they should hold.
    """
    shelf_place(box.place)
    with records.writing() as hand:
        listed = _listed(hand, box)
        found = {p: n * box.quantity - box.lacking.get(p, 0) for p, n in listed.items()}
        wrong = [p for p, n in found.items() if n < 0 or box.lacking.get(p, 0) < 0]
        if wrong:
            raise InputError(
                f"{', '.join(wrong)}: more is said to be lacking than is listed in "
                f"{box.quantity} of {box.part}"
            )
        for lot, seen, quantity in _boxes(hand, box):
            unpack(hand, lot, seen, quantity, box.day, box.by)
            of, use_by = lot, day_of(seen.label.use_by)
        post(
            hand,
            [
                Move(
                    part=part, lot=of.lot, held_for=of.held_for, owner=of.owner,
                    quantity=quantity, from_place=box.place, to_place=UNPACKED, day=box.day,
                    unit=part_unit(hand, part), use_by=use_by, by=box.by,
                    reason=f"not in the box of {box.part}",
                )
                for part, quantity in box.lacking.items()
                if quantity
            ],
        )  # fmt: skip
    return found


def _listed(hand: Hand, box: Box) -> dict[str, int]:
    """Return what one box should hold."""
    rows = hand.rows(
        'SELECT part, CAST(SUM(quantity) AS BIGINT) FROM sets WHERE "set" = :part GROUP BY part '
        "ORDER BY part",
        {"part": box.part},
    )
    if not rows:
        raise UnknownName(f"{box.part} is no set: the sheet sets lists nothing in it")
    listed = {str(part): int(quantity) for part, quantity in rows}
    strange = [p for p in box.lacking if p not in listed]
    if strange:
        raise UnknownName(
            f"{', '.join(strange)} is not listed in {box.part}{nearest(strange[0], listed)}"
        )
    return listed


def _boxes(hand: Hand, box: Box) -> list[tuple[Lot, OnShelf, int]]:
    """Return the lots that the boxes are taken from, and how many of each."""
    left, taken = box.quantity, []
    for lot, seen in on_shelf(hand, box.part).items():
        if lot.place == box.place and lot.lot == box.lot and left:
            part = min(left, seen.quantity)
            taken.append((lot, seen, part))
            left -= part
    if left or not taken:
        raise InputError(
            f"{box.quantity} of {box.part} cannot be opened: {box.quantity - left} at {box.place}"
        )
    return taken

"""Calling a kit complete, and reconciling it at the end of the work."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import UTC, datetime
from typing import TYPE_CHECKING

from kitting.errors import InputError
from kitting.records.ledger import Move, post
from kitting.records.picking import in_kits
from kitting.records.places import (
    CUSTOMER,
    LABEL,
    SCRAP,
    UNPACKED,
    is_shelf,
    kit_of,
    shelf_place,
)
from kitting.records.rows import day_of, day_text, insert, storable
from kitting.tables.kits import KIT_SHORTS, KITS
from kitting.tables.shop import USED

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence
    from datetime import date

    from kitting.records.hands import Hand, Value
    from kitting.records.on_hand import Lot, OnShelf
    from kitting.records.opening import Records
    from kitting.records.places import Kit


@dataclass(frozen=True, slots=True)
class Back:
    """What comes out of a build's kit again.

    Parameters
    ----------
    build, stage
        Whose kit; blank stage = any of the build's.
    part, quantity
        What, and how much [base units].
    place
        The bin that it goes into, ``places.SCRAP``, or ``places.CUSTOMER``.
    day
        When.
    by, checked, reason
        Who, who looked at it besides, and why.
    """

    build: str
    part: str
    quantity: int
    place: str
    day: date
    stage: str = ""
    by: str = ""
    checked: str = ""
    reason: str = ""


def complete(
    records: Records,
    kit: Kit,
    day: date,
    initials: tuple[str, str],
    shorts: Sequence[Mapping[str, Value]],
    note: str = "",
) -> int:
    """Note that a stage's kit was called complete, with what it lacked, and return its number.

    Parameters
    ----------
    initials
        Who picked and who checked.
    shorts
        Rows of table ``kit_shorts`` without ``kit``.

    Raises
    ------
    InputError
        When an initial is blank or a text cannot be kept.
    """
    by, checked = initials
    if not by.strip() or not checked.strip():
        raise InputError("say who picked and who checked: --by INITIALS --checked INITIALS")
    for text in (by, checked, note):
        storable(text)
    with records.writing() as hand:
        ((last,),) = hand.rows("SELECT COALESCE(MAX(kit), 0) FROM kits")
        number = int(last) + 1
        hand.run(
            insert(KITS.name, (*KITS.names, "made_at")),
            {
                **{"kit": number, "build": kit.build, "assembly": kit.assembly},
                **{"stage": kit.stage, "day": day_text(day), "by": by, "checked": checked},
                **{"note": note, "made_at": datetime.now(UTC).isoformat(timespec="microseconds")},
            },
        )
        hand.run_many(
            insert(KIT_SHORTS.name, KIT_SHORTS.names), [{**s, "kit": number} for s in shorts]
        )
    return number


def put_back(records: Records, *backs: Back) -> list[Move]:
    """Take left-overs out of a build's kits, all or none.

    A part that is left over of a set comes out of the set. What was held for the build is free
    from then on; what somebody owns stays theirs.

    Raises
    ------
    InputError
        When more comes back than lies in the kits, thrown things have no reason, or what a
        customer gets is not theirs.
    """
    with records.writing() as hand:
        return [move for back in backs for move in _put_back(hand, back)]


def _put_back(hand: Hand, back: Back) -> list[Move]:
    """Take one part out of a build's kits."""
    if back.place not in (SCRAP, CUSTOMER):
        shelf_place(back.place)
    elif not back.reason.strip():
        raise InputError(f"say why {back.part} does not go back into a bin: --reason TEXT")
    missing = back.quantity
    moves: list[Move] = []
    for lot, seen in reversed(in_kits(hand, back.build, back.part).items()):
        kit = kit_of(lot.place)
        taken = min(missing, seen.quantity)
        if taken <= 0 or (back.stage and kit and kit.stage != back.stage):
            continue
        if back.place == CUSTOMER and not lot.owner:
            continue
        moves += _out(back, lot, seen, taken)
        missing -= taken
    loose = min(missing, in_sets(hand, back.build, back.part)) if back.place != CUSTOMER else 0
    if loose > 0:
        moves.append(_of_set(hand, back, loose))
        missing -= loose
    if missing > 0 or not moves:
        stage = f" {back.stage}" if back.stage else ""
        whose = " that a customer owns" if back.place == CUSTOMER else ""
        raise InputError(
            f"{back.quantity} of part {back.part} cannot come back from the kits of "
            f"{back.build}{stage}: {back.quantity - missing} there{whose}; give what is left over"
        )
    return post(hand, moves)


def _out(back: Back, lot: Lot, seen: OnShelf, quantity: int) -> Iterator[Move]:
    """Yield the moves of one lot out of a kit."""
    move = Move(
        part=lot.part,
        lot=lot.lot,
        held_for=lot.held_for,
        owner=lot.owner,
        quantity=quantity,
        from_place=lot.place,
        to_place=back.place,
        day=back.day,
        unit=seen.label.unit,
        use_by=day_of(seen.label.use_by),
        opened=day_of(seen.label.opened),
        reason=back.reason or "left over",
        build=back.build,
        by=back.by,
        checked=back.checked,
    )
    if lot.held_for != back.build or not is_shelf(back.place):
        yield move
        return
    yield replace(move, to_place=LABEL)
    yield replace(move, from_place=LABEL, held_for="")


def in_sets(hand: Hand, build: str, part: str) -> int:
    """Return how much of a part may still come out of the sets in a build's kits [base units]."""
    ((inside,),) = hand.rows(
        "SELECT CAST(COALESCE(SUM(h.quantity * s.quantity), 0) AS BIGINT) FROM on_hand AS h "
        'JOIN (SELECT "set" AS name, SUM(quantity) AS quantity FROM sets WHERE part = :part '
        'GROUP BY "set") AS s ON s.name = h.part WHERE h.build = :build',
        {"part": part, "build": build},
    )
    ((out,),) = hand.rows(
        "SELECT CAST(COALESCE(SUM(quantity), 0) AS BIGINT) FROM moves AS m WHERE build = :build "
        "AND part = :part AND from_place = :place AND reverses IS NULL AND "
        "NOT EXISTS (SELECT 1 FROM moves WHERE reverses = m.move)",
        {"build": build, "part": part, "place": UNPACKED},
    )
    return int(inside) - int(out)


def _of_set(hand: Hand, back: Back, quantity: int) -> Move:
    """Return the move of what is left over of a set."""
    units = hand.rows("SELECT unit FROM parts WHERE part = :part", {"part": back.part})
    return Move(
        part=back.part,
        quantity=quantity,
        from_place=UNPACKED,
        to_place=back.place,
        day=back.day,
        unit=str(units[0][0]) if units else "",
        reason=back.reason or "left over of a set",
        build=back.build,
        by=back.by,
        checked=back.checked,
    )


def fit(
    records: Records,
    build: str,
    used: Sequence[Mapping[str, Value]],
    day: date,
    initials: tuple[str, str],
    reason: str = "",
) -> list[Move]:
    """Note that what still lies in a build's kits was fitted, and what of it was used where.

    Parameters
    ----------
    used
        Rows of table ``used`` without ``entry``.
    initials
        Who counted and who checked.
    reason
        Why what is left over is not what was expected; blank when it is.

    Raises
    ------
    InputError
        When an initial is blank, or nothing lies in the kits.
    """
    by, checked = initials
    if not by.strip() or not checked.strip():
        raise InputError("say who counted and who checked: --by INITIALS --checked INITIALS")
    with records.writing() as hand:
        lots = in_kits(hand, build)
        if not lots:
            raise InputError(f"nothing lies in the kits of {build}")
        back = Back(build, "", 0, "", day, by=by, checked=checked, reason=reason or "fitted")
        moves: list[Move] = []
        for lot, seen in lots.items():
            kit = kit_of(lot.place)
            if kit is None:
                continue
            there = replace(back, place=kit._replace(fitted=True).place)
            moves += _out(there, lot, seen, seen.quantity)
        ((last,),) = hand.rows("SELECT COALESCE(MAX(entry), 0) FROM used")
        hand.run_many(
            insert(USED.name, USED.names),
            [{**row, "entry": int(last) + n} for n, row in enumerate(used, start=1)],
        )
        return post(hand, moves)

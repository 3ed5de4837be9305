"""Noting a forgotten part, in ten seconds; one that a pick noted goes when the pick is undone."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from kitting.errors import InputError, UnknownName
from kitting.records.places import SCRAP
from kitting.records.rows import day_text, insert, storable
from kitting.tables.shop import FORGOTTEN
from kitting.terms.nearest import nearest
from kitting.terms.words import ONCE_MORE, PICKED_LATE, Cause

if TYPE_CHECKING:
    from collections.abc import Iterable
    from datetime import date

    from kitting.records.hands import Hand, Row
    from kitting.records.ledger import Move
    from kitting.records.opening import Records

_MOVES = re.compile(rf"{PICKED_LATE}(\d+(?:, \d+)*)")


@dataclass(frozen=True, slots=True)
class Forgotten:
    """A part that was asked for after its stage's kit was called complete.

    Parameters
    ----------
    build, part, noted
        Whose, what and when.
    stage, joint, role
        Where, as far as it is known.
    quantity
        How much was missing [base units].
    unit
        Unit as written.
    cause
        Why; blank when nobody knows yet.
    hours_lost, money_lost
        What it cost [hours, cents].
    note
        Anything else.
    entry
        Its number; given by the shop.
    """

    build: str
    part: str
    noted: date
    stage: str = ""
    joint: str = ""
    role: str = ""
    quantity: int = 1
    unit: str = "piece"
    cause: str = ""
    hours_lost: float = 0.0
    money_lost: int = 0
    note: str = ""
    entry: int = 0


def forgot(records: Records, what: Forgotten, *, again: bool = False) -> Forgotten:
    """Note a forgotten part and return it with its number.

    The part need not be known: that it is on no list may be why it was forgotten.

    Parameters
    ----------
    again
        It was asked for a second time that day, at the same place; the note then says so.

    Raises
    ------
    UnknownName
        When the shop has no such build, or no assembly such a stage.
    InputError
        When the part is blank, the quantity is not above zero, the cause is not one of ours, or
        it is noted already.
    """
    if not what.part.strip() or what.quantity <= 0:
        raise InputError("say which part was forgotten, and a quantity above zero")
    causes = [c.value for c in Cause]
    if what.cause and what.cause not in causes:
        raise InputError(f'"{what.cause}" is not a cause; write one of {", ".join(causes)}')
    with records.writing() as hand:
        builds = [str(row[0]) for row in hand.rows("SELECT build FROM builds")]
        if what.build not in builds:
            raise UnknownName(f'there is no build "{what.build}"{nearest(what.build, builds)}')
        stages = [str(row[0]) for row in hand.rows("SELECT DISTINCT stage FROM stages")]
        if what.stage and what.stage not in stages:
            raise UnknownName(f'there is no stage "{what.stage}"{nearest(what.stage, stages)}')
        ((last,),) = hand.rows("SELECT COALESCE(MAX(entry), 0) FROM forgotten")
        written = replace(what, entry=int(last) + 1, note=_note(hand, what, again=again))
        values = {name: getattr(written, name) for name in FORGOTTEN.names}
        for value in values.values():
            storable(value) if isinstance(value, str) else None
        hand.run(insert("forgotten", FORGOTTEN.names), values | {"noted": day_text(what.noted)})
    return written


def _note(hand: Hand, what: Forgotten, *, again: bool) -> str:
    """Return the note of an entry; refuse one that is there already."""
    day = day_text(what.noted)
    same = ("build", "stage", "joint", "part")
    rows = hand.rows(
        "SELECT entry, build, part, note FROM forgotten WHERE build = :build AND "
        "stage = :stage AND joint = :joint AND part = :part AND noted = :noted ORDER BY entry",
        {name: getattr(what, name) for name in same} | {"noted": day},
    )
    gone = withdrawn(hand, rows)
    there = [int(row[0]) for row in rows if row[0] not in gone]
    if not there:
        return what.note
    if not again:
        raise InputError(
            f"{what.part} is noted as forgotten on {what.build} on {day} already, entry "
            f"{there[-1]}; if it was asked for a second time that day, say --again"
        )
    return "; ".join(n for n in (ONCE_MORE, what.note) if n)


def picked_late(moves: Iterable[Move]) -> str:
    """Return the note of an entry that a pick made, with its moves."""
    return f"{PICKED_LATE}{', '.join(str(m.move) for m in moves)}"


def withdrawn(hand: Hand, rows: Iterable[Row], last: str | None = None) -> set[int]:
    """Return which entries no longer count, since the moves that made them were undone.

    Parameters
    ----------
    rows
        Entry, build, part and note.
    last
        Leave out what was undone after this day (ISO text of our own); ``None`` takes all.
    """
    made = _made(rows)
    if not made:
        return set()
    until = f" AND day <= '{last}'" if last else ""
    undone = set(
        hand.rows(f"SELECT reverses, build, part FROM moves WHERE reverses IS NOT NULL{until}")
    )
    return {entry for entry, moves in made.items() if moves <= undone}


def withdrawn_by(hand: Hand, move: int) -> list[int]:
    """Return the entries that a move had made, and that no longer count since it was undone."""
    rows = hand.rows(
        "SELECT entry, build, part, note FROM forgotten WHERE note LIKE :note",
        {"note": f"%{PICKED_LATE}%"},
    )
    made = _made(rows)
    return sorted(e for e in withdrawn(hand, rows) if move in {number for number, *_ in made[e]})


def thrown_away(hand: Hand, what: Forgotten, place: str) -> int:
    """Return how much was thrown away out of a kit that no damage noted by a pick answers for.

    Parameters
    ----------
    what
        The part that is asked for anew: build, stage and part.
    place
        The kit [base units].
    """
    values = {"build": what.build, "stage": what.stage, "part": what.part}
    rows = hand.rows(
        "SELECT entry, build, part, note, quantity FROM forgotten WHERE build = :build AND "
        "stage = :stage AND part = :part AND cause = :cause AND note LIKE :note",
        values | {"cause": str(Cause.DAMAGED), "note": f"%{PICKED_LATE}%"},
    )
    gone = withdrawn(hand, [row[:4] for row in rows])
    ((scrapped,),) = hand.rows(
        "SELECT CAST(COALESCE(SUM(quantity), 0) AS BIGINT) FROM moves AS m WHERE part = :part AND "
        "from_place = :place AND to_place = :scrap AND reverses IS NULL AND "
        "NOT EXISTS (SELECT 1 FROM moves WHERE reverses = m.move)",
        {"part": what.part, "place": place, "scrap": SCRAP},
    )
    return max(0, int(scrapped) - sum(int(row[4]) for row in rows if row[0] not in gone))


def _made(rows: Iterable[Row]) -> dict[int, set[Row]]:
    """Return the moves of each entry that a pick made: number, build and part."""
    found = {}
    for entry, build, part, note in rows:
        if named := _MOVES.search(note):
            found[int(entry)] = {(int(n), build, part) for n in named[1].split(", ")}
    return found

"""The ledger of moves: the only file that writes ``moves``.

What is on the shelf is the sum of moves into and out of shelf places. Every move is balanced: what
leaves one place enters another, so over all places each part sums to zero. A shelf place is any
name that a person gives a bin; the places that are no bins begin with a word of ours:

- ``outside: supplier`` - where receipts come from
- ``outside: count`` - where a count takes the difference from, or puts it
- ``outside: label`` - through which a lot passes when its use-by, opened day or unit changes
- ``outside: scrap`` - where thrown things go
- ``kit: BUILD/STAGE`` - what is set aside for a stage

A lot is told apart by part, lot mark, place and whom it is held for. Its unit, use-by and opened
day are those of the last move that touched it.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import UTC, date, datetime
from typing import TYPE_CHECKING, NamedTuple

from kitting.errors import InputError, UnknownName
from kitting.records.rows import day_of, day_text, storable

if TYPE_CHECKING:
    from collections.abc import Iterable

    from kitting.records.hands import Hand, Row, Value
    from kitting.records.opening import Records

SUPPLIER = "outside: supplier"
COUNT = "outside: count"
LABEL = "outside: label"
SCRAP = "outside: scrap"
_NO_SHELF = ("outside:", "kit:")

MOST = 10**15  # base units in one move; sums of thousands of them still fit 64 bits

_COLUMNS = (
    *("day", "made_at", "part", "lot", "from_place", "to_place", "quantity", "unit", "use_by"),
    *("opened", "held_for", "reason", "order", "line", "build", "by", "reverses"),
)
_NAMES = ", ".join(f'"{c}"' for c in _COLUMNS)
_INSERT = (
    f"INSERT INTO moves ({_NAMES}) VALUES ({', '.join(f':{c}' for c in _COLUMNS)}) RETURNING move"
)


def _ends(where: str) -> str:
    """Return the two ends of each move that lie on the shelf."""
    return " UNION ALL ".join(
        f"SELECT move, part, lot, {end} AS place, held_for, {sign}quantity AS change FROM moves "
        f"WHERE {end} NOT LIKE 'outside:%' AND {end} NOT LIKE 'kit:%'{where}"
        for end, sign in (("to_place", ""), ("from_place", "-"))
    )


def shelf_sql(where: str = "") -> str:
    """Return the query for what is on the shelf, in the columns of table ``stock``.

    Parameters
    ----------
    where
        A further condition on moves, beginning with `` AND``.
    """
    return (
        "SELECT s.part, s.lot, s.place, s.quantity, m.unit, m.use_by, m.opened, s.held_for FROM ("
        "SELECT part, lot, place, held_for, CAST(SUM(change) AS BIGINT) AS quantity, "
        f"MIN(move) AS since, MAX(move) AS last FROM ({_ends(where)}) AS e "
        "GROUP BY part, lot, place, held_for) AS s JOIN moves AS m ON m.move = s.last "
        "WHERE s.quantity <> 0 ORDER BY s.since"
    )


class Lot(NamedTuple):
    """What tells one lot on the shelf from another."""

    part: str
    lot: str
    place: str
    held_for: str


class Label(NamedTuple):
    """What is written on a lot; days as ISO text."""

    unit: str
    use_by: str | None
    opened: str | None


class OnShelf(NamedTuple):
    """How much there is of a lot, and its label."""

    quantity: int
    label: Label


@dataclass(frozen=True, slots=True)
class Move:
    """One change of stock; never edited, only reversed.

    Parameters
    ----------
    part, lot, held_for
        What moves, and for which build it is kept; blank = unmarked, anyone.
    quantity
        How much, above zero [base units].
    from_place, to_place
        Where it leaves and where it enters.
    day
        When it happened.
    unit, use_by, opened
        The label of the lot from now on.
    reason
        Why, in words.
    order, line, build, by
        What it answers, what it is for, who did it.
    reverses
        Number of the move that it undoes.
    move, made_at
        Its own number and when it was written [UTC]; given by the ledger.
    """

    part: str
    quantity: int
    from_place: str
    to_place: str
    day: date
    lot: str = ""
    held_for: str = ""
    unit: str = ""
    use_by: date | None = None
    opened: date | None = None
    reason: str = ""
    order: str = ""
    line: int | None = None
    build: str = ""
    by: str = ""
    reverses: int | None = None
    move: int = 0
    made_at: str = ""

    @property
    def label(self) -> Label:
        """Label that the lot has from this move on."""
        return Label(self.unit, day_text(self.use_by), day_text(self.opened))

    def at(self, place: str) -> Lot:
        """Return the lot that it touches at one of its ends."""
        return Lot(self.part, self.lot, place, self.held_for)


def is_shelf(place: str) -> bool:
    """Tell whether a place is a bin or shelf."""
    return not place.casefold().startswith(_NO_SHELF)


def shelf_place(place: str) -> str:
    """Return the name itself when a bin may have it.

    Raises
    ------
    InputError
        When it begins with a word that the ledger keeps for places that are no bins.
    """
    if not is_shelf(place):
        raise InputError(
            f'"{place}" cannot be the name of a bin: names that begin with "outside:" or "kit:" '
            "are kept for what is not on the shelf; choose another"
        )
    return storable(place)


def on_shelf(hand: Hand, part: str | None = None) -> dict[Lot, OnShelf]:
    """Return what is on the shelf, of one part or of all."""
    rows = (
        hand.rows(shelf_sql())
        if part is None
        else hand.rows(shelf_sql(" AND part = :part"), {"part": part})
    )
    return {
        Lot(number, lot, place, held_for): OnShelf(int(quantity), Label(unit, use_by, opened))
        for number, lot, place, quantity, unit, use_by, opened, held_for in rows
    }


def post(hand: Hand, moves: Iterable[Move], shelf: dict[Lot, OnShelf] | None = None) -> list[Move]:
    """Write moves in their order and return them with their numbers.

    Parameters
    ----------
    hand
        Inside ``Records.writing``.
    shelf
        What is on the shelf, if the caller has read it in this transaction; it is kept up to date.

    Raises
    ------
    InputError
        When a lot would fall below zero, or a quantity is not above zero or absurdly large.
    """
    made_at = datetime.now(UTC).isoformat(timespec="microseconds")
    known: set[str] = set()
    held = {} if shelf is None else shelf
    written = []
    for move in moves:
        _check(move)
        if shelf is None and move.part not in known:
            known.add(move.part)
            held.update(on_shelf(hand, move.part))
        if is_shelf(move.from_place):
            _change(held, move, move.from_place, -move.quantity)
        if is_shelf(move.to_place):
            _change(held, move, move.to_place, move.quantity)
        ((number,),) = hand.rows(_INSERT, _values(move, made_at))
        written.append(replace(move, move=int(number), made_at=made_at))
    return written


def find_move(hand: Hand, number: int) -> Move:
    """Return a move of the ledger.

    Raises
    ------
    UnknownName
        When there is none of that number.
    """
    rows = hand.rows(f"SELECT move, {_NAMES} FROM moves WHERE move = :move", {"move": number})
    if not rows:
        raise UnknownName(f"there is no move {number} in the ledger")
    return move_of(rows[0])


def all_moves(hand: Hand) -> Iterable[Move]:
    """Return every move in the order of writing."""
    return map(move_of, hand.rows(f"SELECT move, {_NAMES} FROM moves ORDER BY move"))


def move_of(row: Row) -> Move:
    """Return the move that a row of the ledger holds."""
    values = dict(zip(("move", *_COLUMNS), row, strict=True))
    for name in ("day", "use_by", "opened"):
        values[name] = day_of(values[name])
    return Move(**values)


def reverse(records: Records, move: int, reason: str, *, day: date, by: str = "") -> Move:
    """Undo a move by its opposite, and return that.

    The lot gets back the label that it had before, unless it was changed since. A receipt whose
    move is reversed no longer counts as received.

    Raises
    ------
    UnknownName
        When there is no such move.
    InputError
        When it was reversed before, is itself a reversal, lacks a reason, or what it brought is
        no longer there.
    """
    if not reason.strip():
        raise InputError("say why the move is reversed")
    with records.writing() as hand:
        old = find_move(hand, move)
        if old.reverses is not None:
            raise InputError(
                f"move {move} is itself a reversal; write the move it undid again instead"
            )
        if hand.rows("SELECT 1 FROM moves WHERE reverses = :move", {"move": move}):
            raise InputError(f"move {move} was reversed before")
        label = _label_before(hand, old)
        (written,) = post(
            hand,
            [
                replace(
                    old,
                    from_place=old.to_place,
                    to_place=old.from_place,
                    day=day,
                    unit=label.unit,
                    use_by=day_of(label.use_by),
                    opened=day_of(label.opened),
                    reason=reason,
                    by=by,
                    reverses=move,
                )
            ],
        )
    return written


def _label_before(hand: Hand, old: Move) -> Label:
    """Return the label a lot gets when a move is undone."""
    place = old.to_place if is_shelf(old.to_place) else old.from_place
    touching = hand.rows(
        "SELECT move, unit, use_by, opened FROM moves WHERE part = :part AND lot = :lot AND "
        "held_for = :held_for AND (to_place = :place OR from_place = :place) "
        "ORDER BY move DESC",
        {"part": old.part, "lot": old.lot, "held_for": old.held_for, "place": place},
    )
    labels = [Label(*row[1:]) for row in touching]
    if len(labels) > 1 and int(touching[0][0]) == old.move:
        return labels[1]
    return labels[0]


def _check(move: Move) -> None:
    """Refuse a move that no ledger should hold."""
    if not 0 < move.quantity <= MOST:
        raise InputError(
            f"{move.quantity} of part {move.part} cannot be moved; give a quantity from 1 to {MOST}"
        )
    if move.from_place == move.to_place:
        raise InputError(f'part {move.part} would move from "{move.to_place}" to itself')
    for place in (move.from_place, move.to_place):
        if not place.startswith(_NO_SHELF):
            shelf_place(place)
    for text in (
        *(move.part, move.lot, move.from_place, move.to_place, move.held_for, move.unit),
        *(move.reason, move.order, move.build, move.by),
    ):
        storable(text)


def _change(held: dict[Lot, OnShelf], move: Move, place: str, change: int) -> None:
    """Change a lot in hand, never below zero."""
    lot = move.at(place)
    have = held[lot].quantity if lot in held else 0
    if have + change < 0:
        marked = f" lot {move.lot}" if move.lot else ""
        kept = f" held for {move.held_for}" if move.held_for else ""
        raise InputError(
            f"{-change} of part {move.part}{marked}{kept} cannot leave {place or 'the shelf'}: "
            f"{have} there; count the bin first"
        )
    held[lot] = OnShelf(have + change, move.label)


def _values(move: Move, made_at: str) -> dict[str, Value]:
    """Return the values of a new row of the ledger."""
    values: dict[str, Value] = {
        name: getattr(move, name)
        for name in _COLUMNS
        if name not in ("day", "use_by", "opened", "made_at")
    }
    return values | {
        "day": day_text(move.day),
        "use_by": day_text(move.use_by),
        "opened": day_text(move.opened),
        "made_at": made_at,
    }

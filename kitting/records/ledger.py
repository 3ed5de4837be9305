"""The ledger of moves: the only file that writes ``moves``.

What is anywhere is the sum of moves into and out of that place. Every move is balanced: what leaves
one place enters another, so over all places each part sums to zero. The places are in ``places``,
the sums that are kept with every move in ``on_hand``.

A lot is told apart by part, lot mark, place, whom it is held for and whose it is. Its unit, use-by
and opened day are those of the last move that touched it.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import UTC, date, datetime
from typing import TYPE_CHECKING

from kitting.errors import InputError, UnknownName
from kitting.records.on_hand import Label, Lot, change
from kitting.records.places import is_open, is_shelf, shelf_place
from kitting.records.rows import day_of, day_text, storable

if TYPE_CHECKING:
    from collections.abc import Iterable

    from kitting.records.hands import Hand, Row, Value
    from kitting.records.opening import Records

MOST = 10**15  # base units in one move; sums of thousands of them still fit 64 bits

_NEAR = 1000  # moves; more are not one, and a stock sheet may write many at once
_COLUMNS = (
    *("day", "made_at", "part", "lot", "from_place", "to_place", "quantity", "unit", "use_by"),
    *("opened", "held_for", "reason", "order", "line", "build", "by", "reverses", "owner"),
    "checked",
)
_NAMES = ", ".join(f'"{c}"' for c in _COLUMNS)
_INSERT = (
    f"INSERT INTO moves ({_NAMES}) VALUES ({', '.join(f':{c}' for c in _COLUMNS)}) RETURNING move"
)


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
    owner
        Whose it is; blank = the shop's.
    checked
        Who looked at it besides.
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
    owner: str = ""
    checked: str = ""
    move: int = 0
    made_at: str = ""

    @property
    def label(self) -> Label:
        """Label that the lot has from this move on."""
        return Label(self.unit, day_text(self.use_by), day_text(self.opened))

    def at(self, place: str) -> Lot:
        """Return the lot that it touches at one of its ends."""
        return Lot(self.part, self.lot, place, self.held_for, self.owner)


def post(hand: Hand, moves: Iterable[Move]) -> list[Move]:
    """Write moves in their order, with the sums of their ends, and return them with their numbers.

    Parameters
    ----------
    hand
        Inside ``Records.writing``.

    Raises
    ------
    InputError
        When more would leave a place than is there, or a quantity is not above zero or absurdly
        large.
    """
    made_at = datetime.now(UTC).isoformat(timespec="microseconds")
    written = []
    for move in moves:
        _check(move)
        change(hand, move)
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


def written_with(hand: Hand, move: Move) -> list[Move]:
    """Return the moves near a move that were written at once with it, itself too, in order."""
    rows = hand.rows(
        f"SELECT move, {_NAMES} FROM moves WHERE made_at = :made_at AND move > :after AND "
        "move < :before ORDER BY move",
        {"made_at": move.made_at, "after": move.move - _NEAR, "before": move.move + _NEAR},
    )
    return [move_of(row) for row in rows]


def latest_moves(hand: Hand, count: int, *, part: str | None = None, build: str = "") -> list[Move]:
    """Return the latest moves in the order of writing.

    Parameters
    ----------
    count
        How many at most.
    part, build
        Only those of a part, or for a build.
    """
    wanted = [("part = :part", part is not None), ("build = :build", bool(build))]
    where = " AND ".join(condition for condition, asked in wanted if asked) or "1 = 1"
    rows = hand.rows(
        f"SELECT move, {_NAMES} FROM moves WHERE {where} ORDER BY move DESC LIMIT :count",
        {"part": part or "", "build": build, "count": count},
    )
    return [move_of(row) for row in reversed(rows)]


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
    """Undo a move by its opposite, and return that; ``undoing`` does so with what follows.

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
                    checked="",
                    reverses=move,
                )
            ],
        )
    return written


def _label_before(hand: Hand, old: Move) -> Label:
    """Return the label a lot gets when a move is undone."""
    ends = (old.to_place, old.from_place)
    place = next(
        (p for p in ends if is_shelf(p)), next((p for p in ends if not is_open(p)), old.to_place)
    )
    touching = hand.rows(
        "SELECT move, unit, use_by, opened FROM moves WHERE part = :part AND lot = :lot AND "
        "held_for = :held_for AND owner = :owner AND (to_place = :place OR from_place = :place) "
        "ORDER BY move DESC",
        dict(zip(Lot._fields, old.at(place), strict=True)),
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
        if not place.startswith(("outside: ", "kit: ")):
            shelf_place(place)
    for text in (
        *(move.part, move.lot, move.from_place, move.to_place, move.held_for, move.unit),
        *(move.reason, move.order, move.build, move.by, move.owner, move.checked),
    ):
        storable(text)


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

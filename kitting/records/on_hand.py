"""What is where: table ``on_hand``, the sum of the moves of each lot, kept with every move.

It is a summary and could be thrown away: ``prove`` works it out anew and compares. A row stays
when its lot is gone, so that a lot keeps its turn in lists. Open places have no rows.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from kitting.errors import InputError
from kitting.records.places import ON_SHELF, is_open, kit_of

if TYPE_CHECKING:
    from kitting.records.hands import Hand, Value
    from kitting.records.ledger import Move

_KEY = "part = :part AND lot = :lot AND place = :place AND held_for = :held_for AND owner = :owner"
_COLUMNS = "part, lot, place, held_for, owner, quantity, unit, use_by, opened"
_LEAVE = (
    "UPDATE on_hand SET quantity = quantity - :quantity, unit = :unit, use_by = :use_by, "
    f"opened = :opened WHERE {_KEY} AND quantity >= :quantity RETURNING quantity"
)
_ENTER = (
    f"INSERT INTO on_hand ({_COLUMNS}, build) VALUES (:part, :lot, :place, :held_for, :owner, "
    ":quantity, :unit, :use_by, :opened, :build) "
    "ON CONFLICT (part, lot, place, held_for, owner) DO UPDATE SET "
    "quantity = on_hand.quantity + excluded.quantity, unit = excluded.unit, "
    "use_by = excluded.use_by, opened = excluded.opened"
)
# A move touches both of its ends; open places keep no sum.
_ENDS = " UNION ALL ".join(
    f"SELECT move, day, part, lot, {end} AS place, held_for, owner, {sign}quantity AS change "
    "FROM moves"
    for end, sign in (("to_place", ""), ("from_place", "-"))
)


class Lot(NamedTuple):
    """What tells one lot from another."""

    part: str
    lot: str
    place: str
    held_for: str
    owner: str = ""


class Label(NamedTuple):
    """What is written on a lot; days as ISO text."""

    unit: str
    use_by: str | None
    opened: str | None


class OnShelf(NamedTuple):
    """How much there is of a lot, and its label."""

    quantity: int
    label: Label


def held_sql(columns: str, where: str, last: str | None = None) -> str:
    """Return the query for what is where.

    Parameters
    ----------
    columns
        Columns of ``on_hand`` to give, ``,`` between.
    where
        Which rows, such as ``places.ON_SHELF``.
    last
        Leave out moves after this day (ISO text of our own); ``None`` takes the kept sums.
    """
    if last is None:
        return (
            f"SELECT {columns} FROM on_hand WHERE {where} AND quantity <> 0 ORDER BY on_hand."
            "position"
        )
    sums = (
        "SELECT part, lot, place, held_for, owner, CAST(SUM(change) AS BIGINT) AS quantity, "
        f"MIN(move) AS since, MAX(move) AS last FROM ({_ENDS}) AS e WHERE {where} "
        f"AND day <= '{last}' GROUP BY part, lot, place, held_for, owner"
    )
    return (
        f"SELECT {columns} FROM (SELECT s.part, s.lot, s.place, s.quantity, m.unit, m.use_by, "
        "m.opened, s.held_for, s.owner, s.since "
        f"FROM ({sums}) AS s JOIN moves AS m ON m.move = s.last WHERE s.quantity <> 0) AS h "
        "ORDER BY since"
    )


def on_hand(hand: Hand, where: str, **values: Value) -> dict[Lot, OnShelf]:
    """Return what is there, in the order in which the lots first came.

    Parameters
    ----------
    where
        Which rows of ``on_hand``; values by name.
    """
    rows = hand.rows(held_sql(_COLUMNS, where), values)
    return {
        Lot(*row[:5]): OnShelf(int(quantity), Label(unit, use_by, opened))
        for row in rows
        for quantity, unit, use_by, opened in (row[5:],)
    }


def on_shelf(hand: Hand, part: str | None = None) -> dict[Lot, OnShelf]:
    """Return what is on the shelf, of one part or of all."""
    if part is None:
        return on_hand(hand, ON_SHELF)
    return on_hand(hand, f"part = :part AND {ON_SHELF}", part=part)


def change(hand: Hand, move: Move) -> None:
    """Take a move into the sums of its two ends.

    Raises
    ------
    InputError
        When it would take more than is there.
    """
    if not is_open(move.from_place) and not hand.rows(_LEAVE, _values(move, move.from_place)):
        there = hand.rows(
            f"SELECT quantity FROM on_hand WHERE {_KEY}",
            dict(zip(Lot._fields, move.at(move.from_place), strict=True)),
        )
        raise InputError(_not_there(move, int(there[0][0]) if there else 0))
    if not is_open(move.to_place):
        kit = kit_of(move.to_place)
        build = {"build": kit.build if kit else ""}
        hand.run(_ENTER, _values(move, move.to_place) | build)


def _values(move: Move, place: str) -> dict[str, Value]:
    """Return the values of one end of a move."""
    return {
        "part": move.part,
        "lot": move.lot,
        "place": place,
        "held_for": move.held_for,
        "owner": move.owner,
        "quantity": move.quantity,
        **move.label._asdict(),
    }


def _not_there(move: Move, have: int) -> str:
    """Say what is not there, and what to do."""
    marked = f" lot {move.lot}" if move.lot else ""
    kept = f" held for {move.held_for}" if move.held_for else ""
    owned = f" of {move.owner}'s" if move.owner else ""
    kit = kit_of(move.from_place)
    place = f"the kit of {kit.build} {kit.stage}" if kit else move.from_place or "the shelf"
    return (
        f"{move.quantity} of part {move.part}{marked}{kept}{owned} cannot leave {place}: "
        f"{have} there; {'look at what was picked' if kit else 'count the bin first'}"
    )

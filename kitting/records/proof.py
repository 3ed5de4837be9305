"""Proving a shop: everything that must be true of it, worked out anew."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from kitting.records.ledger import SUPPLIER, Lot, all_moves, is_shelf, on_shelf

if TYPE_CHECKING:
    from collections.abc import Iterator

    from kitting.records.hands import Hand
    from kitting.records.ledger import Move
    from kitting.records.opening import Records


@dataclass(frozen=True, slots=True)
class Proof:
    """What proving a shop found.

    Parameters
    ----------
    moves, lots
        How many moves the ledger holds and how many lots are on the shelf.
    faults
        What is not as it must be; none when the shop is proved.
    """

    moves: int
    lots: int
    faults: tuple[str, ...]

    @property
    def holds(self) -> bool:
        """Whether nothing is wrong."""
        return not self.faults


def prove(records: Records) -> Proof:
    """Work out the shelf move by move and compare it with what a snapshot gives.

    Also: no lot ever fell below zero, every reversal is the exact opposite of its move, every
    receipt agrees with its move, and the database finds its own pages and references sound.

    Raises
    ------
    ShopError
        When the database cannot be read.
    """
    with records.reading() as hand:
        faults = list(_database(hand))
        moves = list(all_moves(hand))
        shelf = {lot: held.quantity for lot, held in on_shelf(hand).items()}
        faults += _ledger(moves, shelf)
        faults += _receipts(hand, {m.move: m for m in moves})
    return Proof(len(moves), len(shelf), tuple(faults))


def _database(hand: Hand) -> Iterator[str]:
    """Yield what the database itself finds wrong."""
    if hand.dialect != "sqlite":
        return
    for (said,) in hand.rows("PRAGMA integrity_check"):
        if said != "ok":
            yield f"the file is damaged: {said}"
    for row in hand.rows("PRAGMA foreign_key_check"):
        yield f"row {row[1]} of {row[0]} refers to a row of {row[2]} that is not there"


def _ledger(moves: list[Move], shelf: dict[Lot, int]) -> Iterator[str]:
    """Yield what is wrong with the ledger, walking it in its order."""
    held: dict[Lot, int] = {}
    balance: dict[str, int] = {}
    by_number = {m.move: m for m in moves}
    for move in moves:
        for place, change in ((move.from_place, -move.quantity), (move.to_place, move.quantity)):
            balance[move.part] = balance.get(move.part, 0) + change
            if is_shelf(place):
                lot = move.at(place)
                held[lot] = held.get(lot, 0) + change
                if held[lot] < 0:
                    yield f"move {move.move} takes {lot} to {held[lot]}"
        if move.reverses is not None and not _opposite(move, by_number.get(move.reverses)):
            yield f"move {move.move} is not the opposite of move {move.reverses}"
    yield from (f"part {p} is out of balance by {n}" for p, n in balance.items() if n)
    worked_out = {lot: quantity for lot, quantity in held.items() if quantity}
    for lot in sorted(worked_out.keys() | shelf.keys()):
        told, real = shelf.get(lot, 0), worked_out.get(lot, 0)
        if told != real:
            yield f"the shelf shows {told} of {lot}, its moves give {real}"


def _opposite(move: Move, old: Move | None) -> bool:
    """Tell whether a move undoes another exactly."""
    return (
        old is not None
        and old.move < move.move
        and (move.part, move.lot, move.held_for, move.quantity)
        == (old.part, old.lot, old.held_for, old.quantity)
        and (move.from_place, move.to_place) == (old.to_place, old.from_place)
    )


def _receipts(hand: Hand, moves: dict[int, Move]) -> Iterator[str]:
    """Yield receipts that do not agree with the move that brought them in."""
    for receipt, part, quantity, place, number in hand.rows(
        "SELECT receipt, part, quantity, place, move FROM receipts WHERE move IS NOT NULL"
    ):
        move = moves.get(int(number))
        if move is None or (move.part, move.quantity, move.to_place) != (part, quantity, place):
            yield f"receipt {receipt} does not agree with move {number}"
    linked = {int(row[0]) for row in hand.rows("SELECT move FROM receipts WHERE move IS NOT NULL")}
    for move in moves.values():
        if move.from_place == SUPPLIER and move.reverses is None and move.move not in linked:
            yield f"move {move.move} came from a supplier but has no receipt"

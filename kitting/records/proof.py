"""Proving a shop: everything that must be true of it, worked out anew."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from kitting.records.ledger import all_moves
from kitting.records.on_hand import Lot, OnShelf, on_hand
from kitting.records.places import SUPPLIER, is_open, is_shelf, kit_of
from kitting.records.proof_dealings import claimed, dealings

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
        How many moves the ledger holds and how many lots are on the shelf and in kits.
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
    """Work out what is where, move by move, and compare it with the sums that are kept.

    Also: each part sums to zero over all places, nothing ever left a place that was not there,
    every reversal is the exact opposite of its move, every receipt agrees with its move, every
    order line with its facts and every claim with its goods, and the database finds its own pages
    and references sound.

    Raises
    ------
    ShopError
        When the database cannot be read.
    """
    with records.reading() as hand:
        faults = list(_database(hand))
        moves = list(all_moves(hand))
        there = on_hand(hand, "1 = 1")
        faults += _ledger(moves, there)
        faults += _keeping(hand)
        by_number = {m.move: m for m in moves}
        faults += _receipts(hand, by_number)
        faults += dealings(hand, by_number)
    lots = sum(is_shelf(lot.place) or lot.place.startswith("kit:") for lot in there)
    return Proof(len(moves), lots, tuple(faults))


def _database(hand: Hand) -> Iterator[str]:
    """Yield what the database itself finds wrong."""
    if hand.dialect != "sqlite":
        return
    for (said,) in hand.rows("PRAGMA integrity_check"):
        if said != "ok":
            yield f"the file is damaged: {said}"
    for row in hand.rows("PRAGMA foreign_key_check"):
        yield f"row {row[1]} of {row[0]} refers to a row of {row[2]} that is not there"


def _ledger(moves: list[Move], there: dict[Lot, OnShelf]) -> Iterator[str]:
    """Yield what is wrong with the ledger, walking it in its order."""
    held: dict[Lot, OnShelf] = {}
    balance: dict[str, int] = {}
    by_number = {m.move: m for m in moves}
    for move in moves:
        for place, change in ((move.from_place, -move.quantity), (move.to_place, move.quantity)):
            balance[move.part] = balance.get(move.part, 0) + change
            if not is_open(place):
                lot = move.at(place)
                now = change + (held[lot].quantity if lot in held else 0)
                held[lot] = OnShelf(now, move.label)
                if now < 0:
                    yield f"move {move.move} takes {lot} to {now}"
        if move.reverses is not None and not _opposite(move, by_number.get(move.reverses)):
            yield f"move {move.move} is not the opposite of move {move.reverses}"
    yield from (f"part {p} is out of balance by {n}" for p, n in balance.items() if n)
    worked_out = {lot: seen for lot, seen in held.items() if seen.quantity}
    for lot in sorted(worked_out.keys() | there.keys()):
        told, real = there.get(lot), worked_out.get(lot)
        if told != real:
            yield f"the sums show {told} of {lot}, its moves give {real}"


def _keeping(hand: Hand) -> Iterator[str]:
    """Yield sums that are kept for another build than their place says."""
    for place, build in hand.rows("SELECT DISTINCT place, build FROM on_hand"):
        kit = kit_of(place)
        if build != (kit.build if kit else ""):
            yield f"the sums of {place} are kept for {build or 'no build'}"


def _opposite(move: Move, old: Move | None) -> bool:
    """Tell whether a move undoes another exactly."""
    return (
        old is not None
        and old.move < move.move
        and (move.part, move.lot, move.held_for, move.owner, move.quantity)
        == (old.part, old.lot, old.held_for, old.owner, old.quantity)
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
    linked |= claimed(hand)
    for move in moves.values():
        if move.from_place == SUPPLIER and move.reverses is None and move.move not in linked:
            yield f"move {move.move} came from a supplier but has no receipt"

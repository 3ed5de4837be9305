"""Proving what happened with suppliers: facts against orders, claims against moves."""

from __future__ import annotations

from typing import TYPE_CHECKING

from kitting.records.on_hand import on_hand
from kitting.records.places import CLAIM, SUPPLIER

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from kitting.records.hands import Hand
    from kitting.records.ledger import Move

# The move of a claim on an old part is that of the new one, which is a receipt.
_WITH_GOODS = "move IS NOT NULL AND what <> 'core'"


def dealings(hand: Hand, moves: Mapping[int, Move]) -> Iterator[str]:
    """Yield what is wrong with orders and claims.

    Each order line is as its last fact says. The goods of each claim came by its move, and lie at
    ``outside: claim`` as long as nothing happened to them.
    """
    yield from _orders(hand)
    waiting = _claims(hand)
    for number, (part, quantity, move, _) in waiting.items():
        found = moves.get(move)
        if found is None or (found.part, found.quantity, found.from_place, found.to_place) != (
            part, quantity, SUPPLIER, CLAIM,
        ):  # fmt: skip
            yield f"claim {number} does not agree with move {move}"
    there = {lot.lot: held.quantity for lot, held in on_hand(hand, f"place = '{CLAIM}'").items()}
    told = {n: quantity for n, (_, quantity, _, event) in waiting.items() if event == "opened"}
    for number in sorted(told.keys() | there.keys()):
        if told.get(number, 0) != there.get(number, 0):
            yield (
                f"claim {number} should have {told.get(number, 0)} waiting to go back; "
                f"{there.get(number, 0)} lies there"
            )


def claimed(hand: Hand) -> set[int]:
    """Return the moves that brought what claims are about; old parts came by none."""
    return {int(row[0]) for row in hand.rows(f"SELECT move FROM claims WHERE {_WITH_GOODS}")}


def _orders(hand: Hand) -> Iterator[str]:
    """Yield order lines that are not as their last fact says."""
    for order, line in hand.rows(
        'SELECT o."order", o.line FROM orders AS o LEFT JOIN order_facts AS f ON f.position = '
        '(SELECT MAX(position) FROM order_facts WHERE "order" = o."order" AND line = o.line) '
        "WHERE f.position IS NULL OR f.quantity <> o.quantity "
        "OR COALESCE(f.price, -1) <> COALESCE(o.price, -1) "
        "OR COALESCE(f.promised, '') <> COALESCE(o.promised, '') "
        "OR COALESCE(f.cancelled, '') <> COALESCE(o.cancelled, '')"
    ):
        yield f"line {line} of order {order} is not as its last fact says"


def _claims(hand: Hand) -> dict[str, tuple[str, int, int, str]]:
    """Return part, quantity, move and last event of each claim that has goods."""
    return {
        str(claim): (str(part), int(quantity), int(move), str(event))
        for claim, part, quantity, move, event in hand.rows(
            f"SELECT claim, part, quantity, move, event FROM claims WHERE {_WITH_GOODS} "
            "ORDER BY position"
        )
    }

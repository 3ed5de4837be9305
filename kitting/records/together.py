"""Moves that are one: what leaves a lot for another label, or a set for what it contains.

Both pass through an open place, in which nothing is counted. Were only one of them undone, the
stock would be there twice or not at all.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from kitting.records.places import LABEL, UNPACKED

if TYPE_CHECKING:
    from collections.abc import Sequence

    from kitting.records.ledger import Move

THROUGH = (LABEL, UNPACKED)


def together(written: Sequence[Move], move: Move) -> list[Move]:
    """Return the moves that are one with a move, itself too, in the order of writing.

    Parameters
    ----------
    written
        The moves that were written with it, in their order.
    move
        One of them.
    """
    place = next((p for p in (move.to_place, move.from_place) if p in THROUGH), "")
    if not place:
        return [move]
    first = next(n for n, m in enumerate(written) if m.move == move.move)
    while first and written[first].from_place == place:
        first -= 1
    if written[first].to_place != place:
        return [move]  # nothing that entered the place was written before it
    last = first + 1
    while last < len(written) and written[last].from_place == place:
        last += 1
    return list(written[first:last])

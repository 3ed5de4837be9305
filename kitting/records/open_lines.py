"""What is still to come of an order, line by line."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from kitting.errors import UnknownName
from kitting.records.order_lines import come
from kitting.terms.nearest import nearest

if TYPE_CHECKING:
    from collections.abc import Sequence

    from kitting.records.hands import Hand


class OpenLine(NamedTuple):
    """A line of an order and what is still to come of it [base units]."""

    line: int
    part: str
    open: int


def open_lines(hand: Hand, order: str, part: str | None = None) -> list[OpenLine]:
    """Return the lines of an order with what is still to come; nothing of one that was called off.

    Parameters
    ----------
    part
        Only the lines that ask for this part.

    Raises
    ------
    UnknownName
        When there is no such order, or the part is not on it.
    """
    came = come(hand, order)
    lines = [
        OpenLine(
            int(line), str(asked), max(0, int(quantity) - came[int(line)]) * (cancelled is None)
        )
        for line, asked, quantity, cancelled in hand.rows(
            'SELECT line, part, quantity, cancelled FROM orders WHERE "order" = :order '
            "ORDER BY line",
            {"order": order},
        )
    ]
    if not lines:
        known = [str(row[0]) for row in hand.rows('SELECT DISTINCT "order" FROM orders')]
        raise UnknownName(f'no order is called "{order}"{nearest(order, known)}')
    found = [x for x in lines if part in (None, x.part)]
    if not found:
        near = nearest(str(part), [x.part for x in lines])
        raise UnknownName(f'"{part}" is not on order {order}{near}')
    return found


def spread(lines: Sequence[OpenLine], amount: int) -> list[tuple[int, int]]:
    """Share what came of a part among the lines that ask for it; the last takes what is over.

    Returns
    -------
    list of tuple
        Line and quantity [base units].
    """
    came: list[tuple[int, int]] = []
    for line in lines:
        taken = min(amount, line.open)
        amount -= taken
        if taken:
            came.append((line.line, taken))
    if amount or not came:
        last, taken = came.pop() if came else (lines[-1].line, 0)
        came.append((last, taken + amount))
    return came

"""Order lines as they are kept, and what has come of each."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from kitting.errors import UnknownName
from kitting.records.rows import quoted, storable
from kitting.tables.shop import ORDERS
from kitting.terms.nearest import nearest

if TYPE_CHECKING:
    from kitting.records.hands import Hand
    from kitting.records.opening import Records

SENT = (
    '(ordered IS NOT NULL OR NOT EXISTS (SELECT 1 FROM order_facts AS f WHERE f."order" = '
    "t.\"order\" AND f.line = t.line AND f.what = 'drafted'))"
)
"""Condition of SQL for the lines ``t`` of ``orders`` that are no drafts."""


def lines(hand: Hand, order: str, line: int | None) -> list[dict[str, Any]]:
    """Return the rows of an order, one or all, each with whether it is a draft.

    Raises
    ------
    UnknownName
        When there is no such order or line.
    """
    names = ORDERS.names
    rows = [
        dict(zip((*names, "draft"), row, strict=True))
        for row in hand.rows(
            f"SELECT {quoted(names)}, NOT {SENT} FROM orders AS t "
            'WHERE "order" = :order ORDER BY line',
            {"order": storable(order)},
        )
    ]
    if not rows:
        known = [str(row[0]) for row in hand.rows('SELECT DISTINCT "order" FROM orders')]
        raise UnknownName(f'there is no order "{order}"{nearest(order, known)}')
    if line is None:
        return rows
    chosen = [row for row in rows if row["line"] == line]
    if not chosen:
        raise UnknownName(f"order {order} has no line {line}")
    return chosen


def come(hand: Hand, order: str) -> dict[int, int]:
    """Return how much of each line of an order came, reversed receipts left out [base units].

    A receipt without a line counts on the lines that ask for its part, in their order; what is
    beyond them all on the last.
    """
    asked = hand.rows(
        'SELECT line, part, quantity FROM orders WHERE "order" = :order ORDER BY line',
        {"order": order},
    )
    receipts = hand.rows(
        "SELECT line, part, CAST(SUM(quantity) AS BIGINT) FROM receipts AS r "
        'WHERE "order" = :order AND NOT EXISTS (SELECT 1 FROM moves WHERE reverses = r.move) '
        "GROUP BY line, part",
        {"order": order},
    )
    came = dict.fromkeys((int(row[0]) for row in asked), 0)
    loose: dict[str, int] = {}
    for line, part, quantity in receipts:
        if line is None:
            loose[part] = loose.get(part, 0) + int(quantity)
        elif int(line) in came:
            came[int(line)] += int(quantity)
    last = {part: int(line) for line, part, _ in asked}
    for line, part, quantity in asked:
        left = loose.get(part, 0)
        taken = left if last[part] == line else min(left, max(0, int(quantity) - came[int(line)]))
        came[int(line)] += taken
        loose[part] = left - taken
    return came


def order_numbers(records: Records) -> set[str]:
    """Return the numbers of all orders, drafts too."""
    with records.reading() as hand:
        return {str(row[0]) for row in hand.rows('SELECT DISTINCT "order" FROM orders')}


def drafts(records: Records) -> list[tuple[str, str]]:
    """Return the orders that were drafted and not sent, each with its supplier."""
    with records.reading() as hand:
        return [
            (str(order), str(supplier))
            for order, supplier in hand.rows(
                'SELECT DISTINCT "order", supplier FROM orders AS t '
                f'WHERE NOT {SENT} AND cancelled IS NULL ORDER BY "order"'
            )
        ]

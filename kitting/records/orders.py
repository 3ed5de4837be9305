"""Orders sent and goods received."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from kitting.errors import InputError, UnknownName
from kitting.records.amending import begin
from kitting.records.ledger import Move, post
from kitting.records.on_hand import Lot, on_shelf
from kitting.records.order_lines import come
from kitting.records.places import SUPPLIER, shelf_place
from kitting.records.rows import add_rows, day_of, day_text, insert, rows_of, storable
from kitting.records.superseding import accept_number
from kitting.tables.shop import ORDERS, RECEIPTS
from kitting.terms.nearest import nearest

if TYPE_CHECKING:
    from datetime import date

    import pandas as pd

    from kitting.records.hands import Hand, Value
    from kitting.records.opening import Records


@dataclass(frozen=True, slots=True)
class Arrival:
    """Goods that came for an order.

    Parameters
    ----------
    order, line, part
        What they answer: a line of an order, or a part of it when only one line asks for it.
    quantity
        How much came [base units].
    place, lot, use_by
        Where they were put and what is written on them.
    received
        When they came.
    by
        Who received them.
    note
        Anything else.
    came_as
        Number that the part came under, when another has superseded it.
    """

    order: str
    quantity: int
    place: str
    received: date
    line: int | None = None
    part: str = ""
    lot: str = ""
    use_by: date | None = None
    by: str = ""
    note: str = ""
    came_as: str = ""


@dataclass(frozen=True, slots=True)
class Received:
    """What receiving wrote.

    Parameters
    ----------
    receipt
        Our receipt number.
    order, line, part
        The line of the order.
    ordered, before, quantity
        What the line asked for, what had come before, and what came now [base units].
    cancelled
        The line had been called off.
    move
        The move onto the shelf.
    """

    receipt: str
    order: str
    line: int
    part: str
    ordered: int
    before: int
    quantity: int
    cancelled: bool
    move: Move

    @property
    def open(self) -> int:
        """What is still to come of the line [base units]."""
        return max(0, self.ordered - self.before - self.quantity)

    @property
    def over(self) -> int:
        """What came now beyond the order [base units]."""
        return max(0, min(self.quantity, self.before + self.quantity - self.ordered))


@dataclass(frozen=True, slots=True)
class _Line:
    """A line of an order, as far as receiving needs it."""

    line: int
    part: str
    quantity: int
    unit: str
    build: str
    cancelled: str | None


def next_order_number(records: Records, prefix: str = "K") -> str:
    """Return an order number that was never given before, such as ``K0001``.

    Two processes never get the same; a number that is not used leaves a gap.

    Raises
    ------
    InputError
        When the prefix holds a character that cannot be kept.
    """
    storable(prefix)
    with records.writing() as hand:
        return next_number(hand, "orders", "order", prefix)


def add_orders(records: Records, orders: pd.DataFrame, drafted: date | None = None) -> pd.DataFrame:
    """Add order lines, all or none, and return them.

    Parameters
    ----------
    orders
        Table ``orders``.
    drafted
        Day of drafting: they count as ordered only once ``amend`` says that they were sent.

    Raises
    ------
    InputError
        When a line of that number is there already, or a quantity is not above zero.
    TableError
        When the frame breaks its contract.
    """
    rows = rows_of(ORDERS, orders)
    at = ORDERS.names.index("quantity")
    wrong = [f"{row[0]} line {row[1]}" for row in rows if row[at] <= 0]
    if wrong:
        raise InputError(f"nothing is ordered by {', '.join(wrong)}; give a quantity above zero")
    with records.writing() as hand:
        there = {tuple(row) for row in hand.rows('SELECT "order", line FROM orders')}
        twice = [f"{row[0]} line {row[1]}" for row in rows if tuple(row[:2]) in there]
        if twice:
            raise InputError(f"already ordered: {', '.join(twice)}; take a new order number")
        if drafted:
            sent = ORDERS.names.index("ordered")
            rows = [(*row[:sent], None, *row[sent + 1 :]) for row in rows]
        add_rows(hand, "orders", ORDERS.names, rows)
        begin(hand, rows, ORDERS.names, day_text(drafted))
    return orders


def receive(records: Records, arrival: Arrival) -> Received:
    """Write a receipt and the move from the supplier onto the shelf, both or neither.

    What comes beyond the order, or for a cancelled line, is received and told in the answer.
    Goods ordered for a build are held for it. Put into a lot that is not empty, the lot keeps the
    sooner of two use-by days. A number that superseded the one on the order is taken into ``parts``
    and ``stand_ins``, and the goods go onto the shelf under it.

    Raises
    ------
    UnknownName
        When there is no such order, line or part on it.
    InputError
        When it is not clear which line is meant, the quantity is not above zero, or the place is
        no bin.
    """
    shelf_place(arrival.place)
    storable(arrival.note)
    with records.writing() as hand:
        line = _line(hand, arrival)
        before = come(hand, arrival.order)[line.line]
        if arrival.came_as and arrival.came_as != line.part:
            accept_number(records, line.part, arrival)
            line = replace(line, part=arrival.came_as)
        receipt = next_number(hand, "receipts", "receipt", "R")
        move = _onto_shelf(hand, arrival, line, receipt)
        values: dict[str, Value] = {
            "receipt": receipt,
            "order": arrival.order,
            "line": line.line,
            "part": line.part,
            "quantity": arrival.quantity,
            "unit": line.unit,
            "received": day_text(arrival.received),
            "lot": arrival.lot,
            "place": arrival.place,
            "use_by": day_text(arrival.use_by),
            "note": arrival.note,
            "move": move.move,
        }
        hand.run(insert("receipts", (*RECEIPTS.names, "move")), values)
    return Received(
        receipt=receipt,
        order=arrival.order,
        line=line.line,
        part=line.part,
        ordered=line.quantity,
        before=before,
        quantity=arrival.quantity,
        cancelled=line.cancelled is not None,
        move=move,
    )


def _onto_shelf(hand: Hand, arrival: Arrival, line: _Line, receipt: str) -> Move:
    """Write the move of a receipt."""
    shelf = on_shelf(hand, line.part)
    held = shelf.get(Lot(line.part, arrival.lot, arrival.place, line.build))
    unit, use_by, opened = line.unit, day_text(arrival.use_by), None
    if held is not None:
        unit, opened = held.label.unit, held.label.opened
        use_by = min((d for d in (use_by, held.label.use_by) if d), default=None)
    (move,) = post(
        hand,
        [
            Move(
                part=line.part,
                quantity=arrival.quantity,
                from_place=SUPPLIER,
                to_place=arrival.place,
                day=arrival.received,
                lot=arrival.lot,
                held_for=line.build,
                unit=unit,
                use_by=day_of(use_by),
                opened=day_of(opened),
                reason=f"received {receipt}",
                order=arrival.order,
                line=line.line,
                build=line.build,
                by=arrival.by,
            )
        ],
    )
    return move


def _line(hand: Hand, arrival: Arrival) -> _Line:
    """Find the line of the order that goods answer."""
    lines = [
        _Line(*row)
        for row in hand.rows(
            "SELECT line, part, quantity, unit, build, cancelled FROM orders "
            'WHERE "order" = :order ORDER BY line',
            {"order": storable(arrival.order)},
        )
    ]
    if not lines:
        known = [str(row[0]) for row in hand.rows('SELECT DISTINCT "order" FROM orders')]
        raise UnknownName(f'there is no order "{arrival.order}"{nearest(arrival.order, known)}')
    if arrival.line is None and not arrival.part:
        raise InputError(f"say which line or part of order {arrival.order} came")
    if arrival.line is not None:
        lines = [x for x in lines if x.line == arrival.line]
        if not lines:
            raise UnknownName(f"order {arrival.order} has no line {arrival.line}")
    found = [x for x in lines if arrival.part in ("", x.part)]
    if not found:
        asked = ", ".join(f"{x.part} (line {x.line})" for x in lines)
        raise UnknownName(
            f"order {arrival.order} asks for {asked}, not for {arrival.part}; "
            "see what is in the box"
        )
    if len(found) > 1:
        numbers = ", ".join(str(x.line) for x in found)
        raise InputError(
            f"part {arrival.part} is on lines {numbers} of order {arrival.order}; say which line"
        )
    return found[0]


def next_number(hand: Hand, table: str, column: str, prefix: str) -> str:
    """Return the next number of a series, past those that a sheet brought.

    Parameters
    ----------
    hand
        Inside ``Records.writing``.
    table, column
        Where such numbers are kept.
    prefix
        What they begin with.
    """
    while True:
        ((last,),) = hand.rows(
            "INSERT INTO numbers (name, last) VALUES (:name, 1) ON CONFLICT (name) "
            "DO UPDATE SET last = numbers.last + 1 RETURNING last",
            {"name": f"{column} {prefix}"},
        )
        number = f"{prefix}{last:04d}"
        if not hand.rows(
            f'SELECT 1 FROM "{table}" WHERE "{column}" = :number LIMIT 1', {"number": number}
        ):
            return number

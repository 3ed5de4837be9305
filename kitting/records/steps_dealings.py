"""What step 11 makes: facts of orders, claims and invoices."""

from __future__ import annotations

from kitting.records.step_kinds import AppendOnly, NewIndex, NewTable, Run

# Each order line that is there gets its first fact: it was sent, and is as it is.
DEALINGS_11 = (
    NewTable(
        "order_facts",
        "day: day, what, order, line: whole, quantity: whole, price: whole or blank, "
        "promised: day, cancelled: day, reason, by, made_at",
    ),
    NewIndex("order_facts_by_line", "order_facts", "order, line"),
    Run(
        'INSERT INTO order_facts (day, what, "order", line, quantity, price, promised, cancelled, '
        'reason, "by", made_at) SELECT ordered, \'sent\', "order", line, quantity, price, '
        "promised, cancelled, '', '', '' FROM orders ORDER BY position"
    ),
    AppendOnly("order_facts", "what happened to an order stays a fact; note what happened since"),
    NewTable(
        "orders_seen",
        "order, line: whole, price: whole or blank, promised: day, cancelled: day",
        "order, line",
    ),
    Run(
        'INSERT INTO orders_seen ("order", line, price, promised, cancelled) '
        'SELECT "order", line, price, promised, cancelled FROM orders ORDER BY position'
    ),
    NewTable(
        "claims",
        "claim, day: day, event, what, order, line: whole, part, quantity: whole, unit, next, "
        "due: day, note, by, made_at, move: whole or blank",
        checks=("quantity > 0",),
        refers=(("move", "moves.move"),),
    ),
    NewIndex("claims_by_number", "claims", "claim"),
    AppendOnly("claims", "a claim is never edited or removed; note what happened since"),
    NewTable(
        "invoices",
        "invoice, order, line: whole or blank, part, quantity: whole, unit, amount: whole, "
        "dated: day, note",
        "invoice, order, part, line",
    ),
)

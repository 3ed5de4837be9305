"""``kitting reverse``: undo a move by its opposite."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from kitting.commands import common

if TYPE_CHECKING:
    from datetime import date


@click.command("reverse", epilog='Example: kitting reverse 248 --reason "wrong bin" --by JO')
@click.argument("move", type=click.IntRange(1, 2**63 - 1))
@click.option("--reason", type=common.Line(), required=True, help="Why.")
@click.option("--by", type=common.Line(blank=True), default="", help="Who.")
@common.shop_option
@common.day_option
@common.json_option
def command(move: int, reason: str, by: str, shop: str, day: date | None, as_json: bool) -> None:
    """Undo MOVE by its opposite; both stay in the ledger.

    A receipt whose move is undone no longer counts as received, and what a pick into a complete
    kit noted as forgotten no longer counts as forgotten. A claim whose goods came by a slip is
    withdrawn, one whose goods did not leave is open again. See numbers with kitting moves.
    """
    from kitting import records
    from kitting.records.notes import withdrawn_by
    from kitting.records.places import CLAIM, SUPPLIER
    from kitting.records.undoing import one_with

    today, _ = common.as_of(day)
    with records.open_shop(shop) as held:
        done = records.reverse(held, move, reason, day=today, by=by)
        with held.reading() as hand:
            entries = withdrawn_by(hand, move)
            others = [m for m in one_with(hand, move) if m.move != move]
        line = (done.order, done.line, "withdrawn", reason)
        slip = done.to_place == SUPPLIER
        touched = CLAIM in (done.from_place, done.to_place)
        claims = [
            c
            for c in records.claims(held)
            if (touched and c.claim == done.lot)
            or (slip and (c.order, c.line, c.event, c.note) == line)
        ]
    if as_json:
        common.echo_json({"move": done.move, "reverses": move, "withdrawn": entries,
                          "with_it": [m.move for m in others],
                          "claims": {c.claim: c.event for c in claims}})  # fmt: skip
        return
    from kitting.outputs.text import wrapped

    amount = common.written(done.quantity, done.unit)
    told = [
        f"move {move} is undone by move {done.move}: {amount} of {done.part} back from "
        f"{done.from_place} to {done.to_place}"
    ]
    for other in others:
        amount = common.written(other.quantity, other.unit)
        ends = f"{other.to_place} to {other.from_place}"
        told.append(f"move {other.move} is one with it: {amount} of {other.part} back from {ends}")
    for claim in claims:
        told.append(f"claim {claim.claim} is {'open again' if claim.open else 'withdrawn'}")
    for entry in entries:
        told.append(f"entry {entry} is withdrawn: {done.part} no longer counts as forgotten")
    for text in told:
        click.echo("\n".join(wrapped(text, 2)))

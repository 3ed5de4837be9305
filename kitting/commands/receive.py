"""``kitting receive``: note what came, what of it cannot be kept, and what happens next."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

import click

from kitting.commands import common
from kitting.errors import InputError

if TYPE_CHECKING:
    from collections.abc import Iterator
    from datetime import date

    from kitting.records import Arrival, Claim, Received, Records
    from kitting.records.hands import Hand

_FAULTS = ("damaged", "wrong", "short", "over")
_NEXT = {
    "replace": "the supplier is to send it again; the line stays open",
    "credit": "that much is called off; kitting order asks for it again where it is needed",
    "return": "it goes back",
}


@click.command(
    "receive", epilog='Example: kitting receive K0007 "O-RING 210" 8 --damaged 2 --place "bin A3"'
)
@click.argument("order")
@click.argument("part", required=False)
@click.argument("quantity", required=False)
@click.option(
    "--place",
    type=common.Line(),
    default="goods in",
    show_default=True,
    help="Bin it was put into.",
)
@click.option("--lot", type=common.Line(blank=True), default="", help="Lot or batch mark.")
@click.option("--use-by", type=common.Day(), help="Last day it may be used.")
@click.option("--as", "came_as", type=common.Line(), help="New number that it came under.")
@click.option("--lacks", multiple=True, metavar="PART=N", help="Set opened: N of PART is missing.")
@click.option("--damaged", metavar="N", help="So many more came damaged; they wait to go back.")
@click.option("--wrong", metavar="N", help="So many wrong ones came instead.")
@click.option("--wrong-part", type=common.Line(), help="Number of the wrong ones.")
@click.option("--short", metavar="N", help="So many on the packing slip were not in the box.")
@click.option("--over", metavar="N", help="So many beyond the order came, not to be kept.")
@click.option(
    "--next", "following", type=click.Choice(list(_NEXT)), help="What happens with those."
)
@click.option(
    "--core-by",
    type=common.Day(),
    metavar="DAY",
    help="The old part goes back by then; else as the offer says.",
)
@click.option("--due", type=common.Day(), metavar="DAY", help="By when the supplier is to answer.")
@click.option("--note", type=common.Line(blank=True), default="", help="Anything else.")
@click.option("--by", type=common.Line(blank=True), default="", help="Who received it.")
@common.shop_option
@common.day_option
@common.json_option
def command(
    order: str,
    part: str | None,
    quantity: str | None,
    shop: str,
    day: date | None,
    as_json: bool,
    **given: Any,
) -> None:
    """Note what came for ORDER: one PART and QUANTITY, or everything that is still open.

    QUANTITY is what can be kept and may carry a unit: "80 ml". Open the box and compare before you
    note it. What is damaged, wrong, short or over is not counted as stock or as come: each gets a
    claim, listed by kitting orders. So does the old part of what came, where the offer asks a
    deposit on it.
    """
    from kitting import records
    from kitting.outputs.text import plural, wrapped
    from kitting.records import Arrival
    from kitting.records.cores import old_part
    from kitting.records.counting import unit_of

    today, _ = common.as_of(day)
    if part is None and any(given[n] for n in (*_FAULTS, "came_as", "lacks", "core_by")):
        raise InputError("say which PART of the order that is about")
    arrival = Arrival(
        order=order, quantity=0, place=given["place"], received=today, lot=given["lot"],
        use_by=given["use_by"], by=given["by"], note=given["note"], came_as=given["came_as"] or "",
    )  # fmt: skip
    with records.open_shop(shop) as held, held.writing() as hand:
        claims = list(_claims(hand, arrival, part, given)) if part else []
        kept = list(_kept(hand, arrival, part, quantity, claims))
        claims = [records.claim(held, c) for c in claims]
        done = [records.receive(held, a) for a in kept]
        cores = [old_part(hand, r, given["core_by"]) for r in done]
        claims += [records.claim(held, c) for c in cores if c]
        claims += _lacking(held, hand, done, arrival, given)
        names = [*(r.part for r in done), *(c.part for c in claims)]
        units = {name: unit_of(hand, name) for name in names}
        life = hand.rows("SELECT shelf_days FROM parts WHERE part = :part", {"part": part})
    if as_json:
        common.echo_json(_document(done, claims))
        return
    if not done and not claims:
        click.echo(f"nothing is open on {order}")
    for r in done:
        _tell(r, arrival.place, units[r.part])
    for c in claims:
        amount = common.written(c.quantity, units[c.part] or c.unit)
        click.echo("\n".join(wrapped(_told(c, amount), 7)))
    if done and life and life[0][0] and arrival.use_by is None:
        keeps = plural(life[0][0], "day", "days")
        click.echo(f"note: {part} keeps {keeps}; --use-by says till when", err=True)
    common.tell_past(arrival.use_by, today)


def _kept(
    hand: Hand, arrival: Arrival, part: str | None, quantity: str | None, claims: list[Claim]
) -> Iterator[Arrival]:
    """Yield what goes onto the shelf, line by line."""
    from kitting.records.counting import part_unit
    from kitting.records.open_lines import open_lines, spread

    lines = open_lines(hand, arrival.order, part)
    if quantity is not None:
        amount, _unit = common.read_quantity(str(part), part_unit(hand, str(part)), quantity)
    else:
        lost = sum(c.quantity for c in claims if c.what != "over")
        amount = max(0, sum(line.open for line in lines) - lost)
    came = spread(lines, amount) if part else [(x.line, x.open) for x in lines]
    for number, much in came:
        if much or (quantity is not None and not claims):
            yield replace(arrival, line=number, quantity=much)


def _claims(hand: Hand, arrival: Arrival, part: str, given: dict[str, Any]) -> Iterator[Claim]:
    """Yield a claim for each thing that cannot be kept, on the line that is open for it."""
    from kitting.records import Claim
    from kitting.records.counting import part_unit
    from kitting.records.open_lines import open_lines

    if not any(given[n] for n in _FAULTS):
        return
    lines, own = open_lines(hand, arrival.order, part), part_unit(hand, part)
    line = next((x.line for x in lines if x.open), lines[-1].line)
    for what in _FAULTS:
        if given[what]:
            amount, _unit = common.read_quantity(part, own, given[what])
            of = (given["wrong_part"] or "") if what == "wrong" else ""
            usual = "return" if what == "over" else given["following"] or ""
            yield Claim(
                arrival.order, line, what, amount, arrival.received, of, own, usual, given["due"],
                arrival.note, arrival.by,
            )  # fmt: skip


def _lacking(
    held: Records, hand: Hand, done: list[Received], arrival: Arrival, given: dict[str, Any]
) -> list[Claim]:
    """Open the boxes of a set and claim what is not in them."""
    from kitting import records
    from kitting.records import Box, Claim
    from kitting.records.counting import part_unit

    lacking: dict[str, int] = {}
    for text in given["lacks"]:
        name, marker, amount = text.rpartition("=")
        if not marker:
            raise InputError(f'"{text}": write PART=N, such as "O-RING 210=2"')
        lacking[name], _unit = common.read_quantity(name, part_unit(hand, name), amount)
    if not lacking or not done:
        return []
    last = done[-1]
    boxes = sum(r.quantity for r in done)
    records.open_box(
        held,
        Box(last.part, boxes, arrival.place, arrival.received, lacking, arrival.lot, arrival.by),
    )
    return [
        records.claim(
            held,
            Claim(
                arrival.order, last.line, "short", amount, arrival.received, name,
                part_unit(hand, name), given["following"] or "", given["due"],
                f"not in the box of {last.part}", arrival.by,
            ),
        )
        for name, amount in lacking.items()
    ]  # fmt: skip


def _document(done: list[Received], claims: list[Claim]) -> list[dict[str, Any]]:
    """Return what was written, for a script."""
    receipts: list[dict[str, Any]] = [
        {"receipt": r.receipt, "order": r.order, "line": r.line, "part": r.part,
         "quantity": r.quantity, "open": r.open, "over": r.over}
        for r in done
    ]  # fmt: skip
    return receipts + [
        {"claim": c.claim, "order": c.order, "line": c.line, "part": c.part,
         "quantity": c.quantity, "what": c.what, "next": c.next, "due": c.due}
        for c in claims
    ]  # fmt: skip


def _told(c: Claim, amount: str) -> str:
    """Say what a claim is about and what happens next."""
    by = f"; due {c.due}" if c.due else ""
    if c.what != "core":
        return f"{c.claim}: {amount} of {c.part} {c.what}: {_NEXT[c.next]}{by}"
    by = by or "; until when is not said: ask"
    return f"{c.claim}: {amount} of {c.part}, old: back to the supplier for the deposit{by}"


def _tell(r: Received, place: str, unit: str) -> None:
    """Tell what one receipt wrote."""
    rest = f"; {common.written(r.open, unit)} still to come" if r.open else ""
    over = f"; {common.written(r.over, unit)} more than ordered: ask the supplier" if r.over else ""
    off = "; the line was called off: ask the supplier" if r.cancelled else ""
    amount = common.written(r.quantity, unit)
    click.echo(f"{r.receipt}: {amount} of {r.part} into {place}{rest}{over}{off}")

"""``kitting receive``: note what came."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from kitting.commands import common

if TYPE_CHECKING:
    from datetime import date

    from kitting.records import Received


@click.command(
    "receive", epilog='Example: kitting receive K0007 "O-RING 210" 10 --place "bin A3" --lot B77'
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
@click.option("--by", type=common.Line(blank=True), default="", help="Who received it.")
@common.shop_option
@common.day_option
@common.json_option
def command(
    order: str,
    part: str | None,
    quantity: str | None,
    place: str,
    lot: str,
    use_by: date | None,
    by: str,
    shop: str,
    day: date | None,
    as_json: bool,
) -> None:
    """Note what came for ORDER: one PART and QUANTITY, or everything that is still open.

    QUANTITY may carry a unit: "80 ml". Open the box and compare before you note it.
    """
    from kitting import records
    from kitting.records import Arrival
    from kitting.records.counting import part_unit, unit_of
    from kitting.records.open_lines import open_lines, spread

    today, _ = common.as_of(day)
    done = []
    with records.open_shop(shop) as held, held.writing() as hand:
        asked = open_lines(hand, order, part if quantity is None else None)
        if quantity is None:
            came = [(line.line, line.open) for line in asked if line.open]
        else:
            own = part_unit(hand, str(part))
            amount, _unit = common.read_quantity(str(part), own, quantity)
            came = spread(open_lines(hand, order, part), amount)
        for number, amount in came:
            arrival = Arrival(
                order=order, line=number, quantity=amount, place=place, received=today,
                lot=lot, use_by=use_by, by=by,
            )  # fmt: skip
            done.append(records.receive(held, arrival))
        units = {r.part: unit_of(hand, r.part) for r in done}
    if as_json:
        common.echo_json(
            [
                {"receipt": r.receipt, "order": r.order, "line": r.line, "part": r.part,
                 "quantity": r.quantity, "open": r.open, "over": r.over}
                for r in done
            ]
        )  # fmt: skip
        return
    if not done:
        click.echo(f"nothing is open on {order}")
    for r in done:
        _tell(r, place, units[r.part])
    common.tell_past(use_by, today)


def _tell(r: Received, place: str, unit: str) -> None:
    """Tell what one receipt wrote."""
    rest = f"; {common.written(r.open, unit)} still to come" if r.open else ""
    over = f"; {common.written(r.over, unit)} more than ordered: ask the supplier" if r.over else ""
    off = "; the line was called off: ask the supplier" if r.cancelled else ""
    amount = common.written(r.quantity, unit)
    click.echo(f"{r.receipt}: {amount} of {r.part} into {place}{rest}{over}{off}")

"""``kitting amend``: what changed about an order since it was written."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from kitting.commands import common
from kitting.errors import InputError

if TYPE_CHECKING:
    from datetime import date


@click.command(
    "amend", epilog='Example: kitting amend K0007 2 --promised 2026-04-01 --reason "phoned"'
)
@click.argument("order")
@click.argument("line", type=click.IntRange(1), required=False)
@click.option("--sent", is_flag=True, help="A drafted order was sent.")
@click.option("--promised", type=common.Day(), metavar="DAY", help="New day at the door.")
@click.option("--price", metavar="AMOUNT", help="New amount of the line, such as 12.50.")
@click.option("--call-off", is_flag=True, help="What is still to come is called off.")
@click.option("--stands", is_flag=True, help="It stands again after all.")
@click.option("--split", "part", metavar="N", help="So many become a line of their own first.")
@click.option("--reason", type=common.Line(blank=True), default="", help="Why, or who said so.")
@click.option("--by", type=common.Line(blank=True), default="", help="Who noted it.")
@common.shop_option
@common.day_option
@common.json_option
def command(
    order: str,
    line: int | None,
    sent: bool,
    promised: date | None,
    price: str | None,
    call_off: bool,
    stands: bool,
    part: str | None,
    reason: str,
    by: str,
    shop: str,
    day: date | None,
    as_json: bool,
) -> None:
    """Note that LINE of ORDER, or all of it, was promised anew, became dearer, was called off.

    Each change is kept with its day. With --split, that many of what is still to come become a
    back-order, a line of its own; the other options are then about that line.
    """
    from kitting import records
    from kitting.records import Amendment
    from kitting.records.order_lines import lines
    from kitting.terms.money import parse_cents

    today, _ = common.as_of(day)
    try:
        cents = None if price is None else parse_cents(price)
    except ValueError as fault:
        raise InputError(str(fault)) from fault
    change = Amendment(
        order, today, line, sent=sent, promised=promised, price=cents, cancelled=call_off,
        stands=stands, reason=reason, by=by,
    )  # fmt: skip
    with records.open_shop(shop) as held, held.writing() as hand:
        if part is None:
            done = records.amend(held, change)
        else:
            only = lines(hand, order, line)[0]
            amount, _unit = common.read_quantity(only["part"], only["unit"], part)
            done = [records.split(held, change, amount)]
    if as_json:
        common.echo_json({"order": order, "lines": done})
        return
    said = "parted off as" if part is not None else "changed:"
    of = "line" if len(done) == 1 else "lines"
    click.echo(f"{order} {said} {of} {', '.join(map(str, done))}")

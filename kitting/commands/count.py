"""``kitting count``: note what was counted on a shelf."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from kitting.commands import common
from kitting.errors import InputError

if TYPE_CHECKING:
    from datetime import date


@click.command("count", epilog='Example: kitting count "O-RING 210" 7 --place "bin A3"')
@click.argument("part", required=False)
@click.argument("quantity", required=False)
@click.option("--due", is_flag=True, help="List the bins to count before the open builds' kits.")
@click.option("--place", type=common.Line(), help="Bin or shelf that was counted.")
@click.option("--lot", type=common.Line(blank=True), default="", help="Lot or batch mark.")
@click.option("--held-for", default="", metavar="BUILD", help="Build the lot is kept for.")
@click.option("--owner", default="", metavar="NAME", help="Customer or sponsor whose it is.")
@click.option("--use-by", type=common.Day(), help="Last day it may be used.")
@click.option("--opened", type=common.Day(), help="Day it was opened.")
@click.option("--by", type=common.Line(blank=True), default="", help="Who counted.")
@common.shop_option
@common.day_option
@common.json_option
def command(
    part: str | None,
    quantity: str | None,
    due: bool,
    place: str | None,
    lot: str,
    held_for: str,
    owner: str,
    use_by: date | None,
    opened: date | None,
    by: str,
    shop: str,
    day: date | None,
    as_json: bool,
) -> None:
    """Note that QUANTITY of PART was counted at a place; the shop then holds that much there.

    QUANTITY may carry a unit: "80 ml". --due lists the bins on which the open builds' kits rely
    and that somebody should count first: the record was wrong at the last count, the part was
    missed or wrong in a kit since, it was decided so, or the count is old (setting count_days).
    """
    if due:
        if part is not None:
            raise click.UsageError("--due lists bins; leave PART out")
        _tell_due(shop, day, as_json)
        return
    if part is None or quantity is None or place is None:
        raise click.UsageError("say what was counted: PART QUANTITY --place BIN, or give --due")
    from kitting import records
    from kitting.records import Count
    from kitting.records.counting import part_unit
    from kitting.records.picking import known_build

    today, _ = common.as_of(day)
    if opened is not None and opened > today:
        raise InputError(f"it cannot have been opened on {opened}, after {today}; correct --opened")
    with records.open_shop(shop) as held, held.writing() as hand:
        own = part_unit(hand, part)
        amount, unit = common.read_quantity(part, own, quantity)
        if held_for:
            known_build(hand, held_for)
        seen = Count(
            part=part, place=place, quantity=amount, day=today, lot=lot, held_for=held_for,
            owner=owner, use_by=use_by, opened=opened, unit=unit, by=by,
        )  # fmt: skip
        counted = records.count(held, seen)
    if as_json:
        common.echo_json(
            {"part": part, "place": place, "before": counted.before, "after": counted.after}
        )
        return
    before = common.written(counted.before, own)
    after = common.written(counted.after, own)
    click.echo(f"{part} at {place}: {after}" + ("" if before == after else f", was {before}"))
    common.tell_past(use_by, today)


def _tell_due(shop: str, day: date | None, as_json: bool) -> None:
    """List the bins to count first."""
    from kitting.outputs.count_first import count_first_document, count_first_text

    today, clock = common.as_of(day)
    plan = common.make_plan(common.load_shop(shop, today), today, clock)
    bins, _ = common.look_at_shelf(plan)
    document = count_first_document(bins, plan.shop["parts"])
    if as_json:
        common.echo_json(document)
    else:
        click.echo("\n".join(count_first_text(document)))

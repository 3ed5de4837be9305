"""``kitting claim``: what came of a claim."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from kitting.commands import common

if TYPE_CHECKING:
    from datetime import date


@click.command("claim", epilog='Example: kitting claim C0003 "sent back" --note "parcel 88-1"')
@click.argument("claim")
@click.argument("event", type=click.Choice(["sent back", "scrapped", "kept", "settled"]))
@click.option(
    "--place", type=common.Line(blank=True), default="", help="Bin for what is kept after all."
)
@click.option("--note", type=common.Line(blank=True), default="", help="Anything else.")
@click.option("--by", type=common.Line(blank=True), default="", help="Who noted it.")
@common.shop_option
@common.day_option
@common.json_option
def command(
    claim: str,
    event: str,
    place: str,
    note: str,
    by: str,
    shop: str,
    day: date | None,
    as_json: bool,
) -> None:
    """Note what came of CLAIM: its goods were sent back, scrapped or kept, or it is settled.

    kitting receive opens claims, kitting orders lists them. Goods that are kept are received into
    --place. A claim is settled when its goods are gone and the supplier has answered; that on an
    old part when its deposit came back. Scrapped is an old part that was not accepted.
    """
    from dataclasses import asdict

    from kitting import records
    from kitting.records import Answer

    today, _ = common.as_of(day)
    with records.open_shop(shop) as held:
        now = records.answer(held, Answer(claim, event, today, place, note, by))
    if as_json:
        common.echo_json(asdict(now))
        return
    click.echo(f"{now.claim}: {now.what}, order {now.order} line {now.line}: {now.event} {now.day}")

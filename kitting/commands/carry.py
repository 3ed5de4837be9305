"""``kitting carry``: note that stock was carried from one place to another."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from kitting.commands import common

if TYPE_CHECKING:
    from datetime import date


@click.command(
    "carry", epilog='Example: kitting carry HEAD-1 1 --from "bench 2" --to-outwork GREYFORD'
)
@click.argument("part", required=False)
@click.argument("quantity", required=False)
@click.option("--from", "source", type=common.Line(), help="Bin that it leaves.")
@click.option("--from-customer", is_flag=True, help="A customer or sponsor brought it.")
@click.option("--from-outwork", type=common.Line(), metavar="NAME", help="Who worked on it.")
@click.option("--from-site", type=common.Line(), metavar="NAME", help="Other site or shop.")
@click.option("--to", "target", type=common.Line(), help="Bin that it enters.")
@click.option("--to-customer", is_flag=True, help="Its owner has it again.")
@click.option("--to-outwork", type=common.Line(), metavar="NAME", help="Who will work on it.")
@click.option("--to-site", type=common.Line(), metavar="NAME", help="Other site or shop.")
@click.option("--scrap", is_flag=True, help="It is thrown away; --reason says why.")
@click.option("--owner", type=common.Line(), help="Whose it is, when not the shop's.")
@click.option("--held-for", metavar="BUILD", help="Build that it is kept for.")
@click.option("--lot", type=common.Line(blank=True), help="Lot or batch mark.")
@click.option("--use-by", type=common.Day(), help="Last day it may be used.")
@click.option("--reason", type=common.Line(blank=True), default="", help="Why.")
@click.option("--by", type=common.Line(blank=True), default="", help="Who carried it.")
@common.shop_option
@common.day_option
@common.json_option
def command(
    part: str | None,
    quantity: str | None,
    source: str | None,
    from_customer: bool,
    from_outwork: str | None,
    from_site: str | None,
    target: str | None,
    to_customer: bool,
    to_outwork: str | None,
    to_site: str | None,
    scrap: bool,
    owner: str | None,
    held_for: str | None,
    lot: str | None,
    use_by: date | None,
    reason: str,
    by: str,
    shop: str,
    day: date | None,
    as_json: bool,
) -> None:
    """Note that QUANTITY of PART was carried from one place to another.

    Without PART it lists what is away: at outwork and at other sites. A customer's or sponsor's
    part keeps its owner: only builds of that customer, or the build that it is held for, get it.
    """
    from kitting import records
    from kitting.records.carrying import Carry, carry
    from kitting.records.counting import part_unit
    from kitting.records.places import CUSTOMER, SCRAP, outwork_place, site_place

    if part is None or quantity is None:
        _list(shop, as_json)
        return
    leaves = _only(
        "--from", source, CUSTOMER if from_customer else None,
        from_outwork and outwork_place(from_outwork), from_site and site_place(from_site),
    )  # fmt: skip
    enters = _only(
        "--to", target, CUSTOMER if to_customer else None,
        to_outwork and outwork_place(to_outwork), to_site and site_place(to_site),
        SCRAP if scrap else None,
    )  # fmt: skip
    today, _ = common.as_of(day)
    with records.open_shop(shop) as held:
        with held.reading() as hand:
            own = part_unit(hand, part)
        amount, _unit = common.read_quantity(part, own, quantity)
        what = Carry(
            part, amount, leaves, enters, today, lot=lot, held_for=held_for, owner=owner,
            use_by=use_by, by=by, reason=reason,
        )  # fmt: skip
        moves = carry(held, what)
    if as_json:
        common.echo_json(
            [{"move": m.move, "part": m.part, "quantity": m.quantity, "from": m.from_place,
              "to": m.to_place, "owner": m.owner, "held_for": m.held_for} for m in moves]
        )  # fmt: skip
        return
    numbers = ", ".join(str(m.move) for m in moves)
    away, there = (p.removeprefix("outside: ") for p in (leaves, enters))
    click.echo(f"{common.written(amount, own)} of {part}: {away} -> {there} (move {numbers})")


def _only(option: str, *places: str | None) -> str:
    """Return the one place that was given."""
    given = [p for p in places if p]
    if len(given) != 1:
        raise click.UsageError(f"give one of the options that begin with {option}")
    return given[0]


def _list(shop: str, as_json: bool) -> None:
    """List what is at outwork and other sites."""
    from kitting import records
    from kitting.records.carrying import away
    from kitting.records.counting import part_unit

    with records.open_shop(shop, read_only=True) as held:
        rows = away(held)
        with held.reading() as hand:
            units = {part: part_unit(hand, part) for _, part, _ in rows}
    if as_json:
        common.echo_json([{"place": p, "part": part, "quantity": n} for p, part, n in rows])
        return
    for place, part, quantity in rows:
        owed = " owed to" if quantity < 0 else " at"
        where = place.removeprefix("outside: ")
        click.echo(f"{common.written(abs(quantity), units[part])} of {part}{owed} {where}")
    if not rows:
        click.echo("nothing is away")

"""``kitting ready``: what must lie on the shelf to promise a build within some days."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from kitting.commands import common

if TYPE_CHECKING:
    from datetime import date

    from kitting.tables.shop import Shop


@click.command("ready", epilog="Example: kitting ready PLOVER --within 25")
@click.argument("assembly")
@click.option("--within", "days", type=click.IntRange(0, 1000), required=True, metavar="DAYS",
              help="Working days from the customer's word to the hand-over.")  # fmt: skip
@click.option("--options", default="", metavar="TEXT",
              help='Choices of the build, as in "hand=port"; else defaults.')  # fmt: skip
@click.option("--exchange", is_flag=True,
              help="The customer gets a unit of the shop's, which keeps his own.")  # fmt: skip
@common.shop_option
@common.day_option
@common.json_option
def command(
    assembly: str,
    days: int,
    options: str,
    exchange: bool,
    shop: str,
    day: date | None,
    as_json: bool,
) -> int:
    """Say what to keep so that a build of ASSEMBLY can be promised within DAYS; order nothing.

    At least holding cost: what comes before its stage must start is not kept, and an assembly is
    built ahead where that is cheaper than keeping its parts. Quickest offers and jobs that are away
    take their days with the shop's confidence; builds come as often as past ones did. An assembly
    that holds what its customer brings is built ahead only with --exchange. Exit code 1: it cannot
    be promised, or there is less than to be kept.
    """
    from kitting.outputs.ready import ready_document, ready_text
    from kitting.plan import ready
    from kitting.reading.catalogs import catalogs

    today, clock = common.as_of(day)
    tables = common.load_shop(shop, today)
    _refuse_unknown(tables, assembly)
    plan = common.make_plan(tables, today, clock)
    found = ready(plan, (assembly, options), days, catalogs(), exchange=exchange)
    asked = {"assembly": assembly, "options": options, "within": days, "exchange": exchange}
    document = ready_document(found, plan.shop, asked, today)
    click.echo(common.to_json(document) if as_json else ready_text(document))
    lacking = (found.keep["have"] < found.keep["keep"]) & (found.keep["keep"] > 0)
    return 1 if days < found.soonest or lacking.any() else 0


def _refuse_unknown(shop: Shop, assembly: str) -> None:
    """Refuse what has neither stages nor lines."""
    from kitting.errors import UnknownName
    from kitting.terms.nearest import nearest

    known = {*shop["stages"]["assembly"], *shop["lines"]["assembly"]}
    if assembly not in known:
        raise UnknownName(f'no assembly is called "{assembly}"{nearest(assembly, known)}')

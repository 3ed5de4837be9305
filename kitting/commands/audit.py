"""``kitting audit``: what past builds forgot."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from kitting.commands import common

if TYPE_CHECKING:
    from datetime import date


@click.command("audit", epilog="Example: kitting audit --all")
@common.shop_option
@common.day_option
@common.json_option
@click.option("--all", "everything", is_flag=True, help="List every row, and what is caught.")
def command(shop: str, day: date | None, as_json: bool, everything: bool) -> int:
    """Rank what past builds forgot, and tell whether today's bill would catch it.

    Rates are shares of the finished builds on which the thing could have been forgotten, with
    their 95 % interval: few builds say little. Exit code 1: something would be forgotten again.
    """
    from kitting import audit, bill
    from kitting.outputs.audit import audit_document, audit_text
    from kitting.reading.catalogs import joint_kinds

    today, _ = common.as_of(day)
    tables = common.load_shop(shop, today)
    kinds = joint_kinds()
    builds = tables["builds"]
    forgotten_on = builds[builds["build"].isin(tables["forgotten"]["build"])]
    past = bill.explode(tables, forgotten_on)
    caught = audit.caught(tables, past.required, bill.gaps(tables, past, kinds), kinds)
    document = audit_document(tables, audit.tally(tables), caught, audit.findings(tables))
    if as_json:
        common.echo_json(document)
    else:
        click.echo(audit_text(document, everything=everything))
    return 0 if bool(caught["caught"].all()) else 1

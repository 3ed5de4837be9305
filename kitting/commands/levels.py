"""``kitting levels``: what to keep of what is always used, and when to order it again."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from kitting.commands import common

if TYPE_CHECKING:
    from datetime import date


@click.command("levels", epilog="Example: kitting levels --share 60 --into levels")
@click.option("--share", type=click.IntRange(1, 100), default=75, show_default=True,
              help="Percent of the finished builds that must have used a part.")  # fmt: skip
@click.option("--into", type=click.Path(file_okay=False, path_type=Path),
              help="Folder for a workbook to print.")  # fmt: skip
@common.shop_option
@common.day_option
@common.json_option
def command(share: int, into: Path | None, shop: str, day: date | None, as_json: bool) -> int:
    """Propose levels at which to order again what most builds use, and how much; order nothing.

    Levels follow from what finished builds used and how long each supplier's orders take, with
    their spread; quantities from price breaks, the cost of an order (setting parcel_cost), of
    holding (holding_rate, percent of the price in a year) and of a stage that waits
    (late_cost_per_day). Parts of one supplier share its freight: how often to order them together
    is told by supplier. Exit code 1: something is at its level or below.
    """
    from kitting import sourcing, timing
    from kitting.outputs.levels import levels_document, levels_text, write_levels
    from kitting.reading.catalogs import catalogs

    today, clock = common.as_of(day)
    tables = common.load_shop(shop, today)
    plan = common.make_plan(tables, today, clock)
    known = plan.shop.with_known_offers()
    calendars = timing.calendars(known, today)
    times = timing.lead_times(known, today, calendars, catalogs().lead_classes)
    parts = sourcing.always_used(known, today, share / 100)
    spread = timing.lead_spread(known, times, parts)
    found, findings = sourcing.levels(plan, spread, share / 100)
    files = [write_levels(found, plan.shop, into, today)] if into and len(found) else []
    document = levels_document(found, plan.shop, findings, today, files)
    click.echo(common.to_json(document) if as_json else levels_text(document))
    return 1 if found["low"].any() else 0

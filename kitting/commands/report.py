"""``kitting report``: one page to look at, for a desk, a phone or the wall."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from kitting.commands import common

if TYPE_CHECKING:
    from datetime import date


@click.command("report", epilog="Example: kitting report CURLEW-31 --into curlew-31.html")
@click.argument("builds", nargs=-1, shell_complete=common.complete_build)
@click.option(
    "--into",
    type=click.Path(dir_okay=False, path_type=Path),
    default=Path("report.html"),
    show_default=True,
    help="The page; one that is there is replaced when the new one is whole.",
)
@common.shop_option
@common.day_option
def command(builds: tuple[str, ...], into: Path, shop: str, day: date | None) -> int:
    """Write a page on BUILDS, or on every open build.

    Whole or not and what to do first; stages, deliveries and their spread over the days; every
    joint with what is short or empty; until when to order what; what it costs; what goes out and
    comes back; what is owed at the end; cautions. One file, without script, that fetches nothing.
    Exit code 1: a build is not whole.
    """
    from kitting.outputs.check import check_document
    from kitting.outputs.folder import replace_file
    from kitting.outputs.report import report_page
    from kitting.plan import beyond, schedule

    today, clock = common.as_of(day)
    plan = common.make_plan(common.load_shop(shop, today), today, clock)
    wanted = builds or plan.builds
    common.check_open(plan, wanted)
    limited = any(plan.shop.setting(name).strip() for name in ("benches", "people"))
    scheduled = schedule(plan) if limited else None
    replace_file(into, report_page(plan, wanted, beyond(plan), scheduled).encode())
    click.echo(f"wrote {into}")
    return 0 if all(check_document(plan, build)["whole"] for build in wanted) else 1

"""``kitting report``: one page to look at, for a desk, a phone or the wall."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from kitting.commands import common

if TYPE_CHECKING:
    from datetime import date

    from kitting.tables.plan import Plan

_COURSES, _SEED = 20_000, 1


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
    drawn = {build: _drawn(plan, build) for build in wanted} if _varies(plan) else None
    replace_file(into, report_page(plan, wanted, beyond(plan), scheduled, drawn).encode())
    click.echo(f"wrote {into}")
    return 0 if all(check_document(plan, build)["whole"] for build in wanted) else 1


def _varies(plan: Plan) -> bool:
    """Tell whether some stage takes between a least and a most of work days."""
    stages = plan.shop["stages"]
    return bool((stages["work_days_least"] < stages["work_days_most"]).any())


def _drawn(plan: Plan, build: str) -> dict[str, Any] | None:
    """Draw courses of events for a build."""
    from kitting.outputs.sampled import sampled_document

    sampled = common.make_sample(plan, build, _COURSES, _SEED)
    return sampled_document(plan, build, sampled, _COURSES, _SEED)

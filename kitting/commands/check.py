"""``kitting check BUILD``: the pre-build kit check."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from kitting.commands import common

if TYPE_CHECKING:
    from datetime import date


@click.command("check", epilog="Example: kitting check CURLEW-31 --on 2026-03-09")
@common.build_argument
@common.shop_option
@common.day_option
@common.json_option
@click.option("--all", "everything", is_flag=True, help="Also list what is there, and notes.")
@click.option("--why", is_flag=True, help="Print rule and source of each gap, how to waive it.")
@click.option("--spares", is_flag=True, help="Also list spares to think of.")
@click.option(
    "--sample",
    "courses",
    type=click.IntRange(100, 1_000_000),
    is_flag=False,
    flag_value=20_000,
    metavar="[N]",
    help="Also draw 20000, or N, courses of events: supplies late together, work days.",
)
@click.option("--seed", type=click.IntRange(min=0), default=1, show_default=True,
              help="Where --sample begins to draw; the same one tells the same.")  # fmt: skip
def command(
    build: str,
    shop: str,
    day: date | None,
    as_json: bool,
    everything: bool,
    why: bool,
    spares: bool,
    courses: int | None,
    seed: int,
) -> int:
    """Tell whether BUILD's kit is whole, stage by stage.

    Every open build is planned together, so that no part is promised twice. Exit code 0: whole;
    1: not whole.
    """
    from kitting.outputs.check import check_document
    from kitting.outputs.count_first import (
        count_first_document,
        count_first_text,
        kept_document,
        kept_text,
    )

    today, clock = common.as_of(day)
    plan = common.make_plan(common.load_shop(shop, today), today, clock)
    common.check_open(plan, [build])
    document = check_document(plan, build, common.look_beyond(plan))
    if why:
        from kitting.reading.catalogs import explain

        for gap in document["gaps"]:
            gap["why"] = explain(gap["check"])
    if spares:
        from kitting.outputs.spares import spares_document

        document["spares"] = spares_document(plan, build, *common.make_spares(plan))
    bins, kept = common.look_at_shelf(plan)
    document["count_first"] = count_first_document(bins[bins["build"] == build], plan.shop["parts"])
    document["kept"] = kept_document(kept, plan.shop["parts"])
    if courses:
        from kitting.outputs.sampled import sampled_document, sampled_text

        drawn = common.make_sample(plan, build, courses, seed)
        document["sampled"] = sampled_document(plan, build, drawn, courses, seed)
    if as_json:
        common.echo_json(document)
    else:
        from kitting.outputs.check_text import check_text

        click.echo(check_text(document, everything=everything, why=why))
        if document["count_first"]:
            click.echo("\n" + "\n".join(count_first_text(document["count_first"])))
        if document["kept"]:
            click.echo("\n" + "\n".join(kept_text(document["kept"])))
    if spares and not as_json:
        from kitting.outputs.spares import spares_text

        click.echo("\n" + "\n".join(spares_text(document["spares"])))
    if courses and not as_json:
        click.echo("\n" + "\n".join(sampled_text(document["sampled"])))
    return 0 if document["whole"] else 1

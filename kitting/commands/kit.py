"""``kitting kit BUILD``: kit sheets, pick lists and bag labels to print."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from kitting.commands import common

if TYPE_CHECKING:
    from datetime import date

    from kitting.outputs.kit import Kit


@click.command("kit", epilog="Example: kitting kit CURLEW-31 --into kits --labels 3x8")
@common.build_argument
@click.option(
    "--into",
    type=click.Path(file_okay=False, path_type=Path),
    default=Path("kits"),
    show_default=True,
    help="Folder for the sheets; they appear whole or not at all.",
)
@click.option(
    "--labels",
    type=click.Choice(["3x7", "3x8", "none"]),
    default="3x7",
    show_default=True,
    help="Label sheet: how many labels across and down an A4 page.",
)
@click.option(
    "--skip", type=click.IntRange(min=0), default=0, help="Labels gone from the first sheet."
)
@common.shop_option
@common.day_option
@common.json_option
def command(
    build: str, into: Path, labels: str, skip: int, shop: str, day: date | None, as_json: bool
) -> int:
    """Write what is printed to pick and build BUILD.

    A workbook with a pick list in walking order and a sheet for each stage on the bench, one more
    for stages that come later or elsewhere, and a page of bag labels: open it in a browser and
    print it at 100 %, without margins. Nothing is booked. Exit code 1: something is short or
    still on its way.
    """
    from kitting.outputs.folder import staging
    from kitting.outputs.kit_book import kit_book
    from kitting.outputs.kit_lines import gather_kit

    today, clock = common.as_of(day)
    plan = common.make_plan(common.load_shop(shop, today), today, clock)
    common.check_open(plan, [build])
    kit = gather_kit(plan, build, common.look_beyond(plan))
    count = 0
    with staging(into) as staged:
        for deferred, name in ((False, f"kit {build}"), (True, f"kit {build} later")):
            part = kit.part_of(deferred=deferred)
            if part.stages:
                staged.add(name, ".xlsx", kit_book(part))
        if labels != "none":
            from kitting.outputs.labels import label_page

            text, count = label_page(kit, labels, skip)
            if count:
                staged.add(f"labels {build}", ".html", text.encode())
        files = staged.place()
    return _tell(kit, files, count, as_json=as_json)


def _tell(kit: Kit, files: list[Path], labels: int, *, as_json: bool) -> int:
    """Print what was written and what is not there; return the exit code."""
    from kitting.outputs.text import plural

    short = sum(len(s.short) for s in kit.stages if not s.deferred)
    coming = sum(bool(t.order) for s in kit.stages if not s.deferred for t in s.taken)
    document = {
        "build": kit.build,
        "as_of": kit.day,
        "files": [str(f) for f in files],
        "stages": [
            {"number": s.number, "assembly": s.assembly, "stage": s.stage, "deferred": s.deferred,
             "short": s.short, "left_over": s.left_over}
            for s in kit.stages
        ],
        "labels": labels,
        "short": short,
        "coming": coming,
    }  # fmt: skip
    if as_json:
        common.echo_json(document)
    else:
        for file in files:
            click.echo(f"wrote {file}")
        if labels:
            said = plural(labels, "bag label", "bag labels")
            click.echo(f"{said}; print at 100 %, without margins")
        if not files:
            click.echo("nothing to write: the assembly has no stages")
        click.echo(f"on the bench: {plural(short, 'line', 'lines')} short, {coming} on their way")
    return 1 if short or coming else 0

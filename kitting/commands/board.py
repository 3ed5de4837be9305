"""``kitting board``: the bench page."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from kitting.commands import common

if TYPE_CHECKING:
    from datetime import date


@click.command("board", epilog="Example: kitting board --into benches.html")
@click.option(
    "--into",
    type=click.Path(dir_okay=False, path_type=Path),
    default=Path("board.html"),
    show_default=True,
    help="The page; one that is there is replaced when the new one is whole.",
)
@common.shop_option
@common.day_option
@common.json_option
def command(into: Path, shop: str, day: date | None, as_json: bool) -> None:
    """Write the page of today's benches: which build is where, what comes next, what it lacks.

    One file, without script, that fetches nothing: for the wall, a desk or a phone. With --json
    nothing is written. Stages are where the sheets put them; kitting schedule proposes better.
    """
    from kitting.outputs.board import bench_words, board_document, board_page

    today, clock = common.as_of(day)
    plan = common.make_plan(common.load_shop(shop, today), today, clock)
    if as_json:
        common.echo_json(board_document(plan))
        return
    from kitting.outputs.folder import replace_file
    from kitting.outputs.text import wrapped

    replace_file(into, board_page(plan).encode())
    for bench in board_document(plan)["benches"]:
        for line in wrapped(bench_words(bench), 4):
            click.echo(line)
    click.echo(f"wrote {into}")

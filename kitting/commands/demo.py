"""``kitting demo``: the invented shop, and the main job run on it."""

from __future__ import annotations

import shutil
from datetime import date
from pathlib import Path

import click

from kitting.commands import common
from kitting.commands.order import Into, placed
from kitting.errors import KittingError

DAY = date(2026, 3, 9)
_MARK = ".kitting-demo"


@click.command("demo", epilog="Example: kitting demo --into saltmarsh")
@click.option(
    "--into",
    type=click.Path(file_okay=False, path_type=Path),
    default=Path("saltmarsh"),
    show_default=True,
    help="Folder for the demo's shop, sheets and orders; a demo in it is made anew.",
)
def command(into: Path) -> None:
    """Make the invented shop and run the main job on it.

    Reads the sheets of Saltmarsh Engine Works as of Monday 9 March 2026, checks its three open
    builds, writes the order sheets and audits ten past builds. Names, numbers and prices are
    invented.
    """
    from kitting import records, shipped
    from kitting.reading import read_sheets
    from kitting.reading.catalogs import joint_kinds

    _make_room(into)
    sheets = into / "sheets"
    shutil.copytree(shipped.shipped("demo") / "sheets", sheets)
    shop = str(into / "shop.db")
    reading = read_sheets(sheets, kinds=frozenset(joint_kinds()["kind"]))
    with records.open_shop(shop, create=True) as held:
        records.apply(held, reading.frames, DAY)
        tables = records.snapshot(held, DAY)
    _say(f"kitting read {sheets} --shop {shop}")
    counts = {n: len(tables[n]) for n in ("lines", "joints", "offers", "suppliers")}
    click.echo("read " + ", ".join(f"{number} {name}" for name, number in counts.items()))
    _check_and_order(shop, into / "orders")
    _say(f"kitting audit --shop {shop}")
    from kitting.commands import run

    run(["audit", "--shop", shop, "--on", DAY.isoformat()])
    click.echo(f"\nLook at {into}/orders, change {sheets}, read them again. Every command:")
    click.echo("  kitting --help")


def _check_and_order(shop: str, orders: Path) -> None:
    """Check every open build in a few lines each, order what is short, check again."""
    from kitting.outputs.check import check_document
    from kitting.outputs.check_text import check_text
    from kitting.outputs.order_text import order_text
    from kitting.outputs.text import plural
    from kitting.sourcing import Pins

    plan = common.make_plan(common.load_shop(shop, DAY), DAY, None)
    beyond = common.look_beyond(plan)
    documents = {build: check_document(plan, build, beyond) for build in plan.builds}
    first = next((b for b, d in documents.items() if d["whole"]), plan.builds[0])
    for build, document in documents.items():
        _say(f"kitting check {build} --shop {shop} --on {DAY}")
        text = check_text(document).splitlines()
        click.echo("\n".join(text if build == first else text[:18]))
        if build != first and len(text) > 18:
            click.echo(f"... and {plural(len(text) - 18, 'line', 'lines')} more")
    _say(f"kitting order --shop {shop} --into {orders} --on {DAY}")
    document = placed(plan, plan.shortages, Pins(), "balanced", Into(shop, orders))
    click.echo(order_text(document))


def _make_room(into: Path) -> None:
    """Empty the demo's folder, if it is a demo's.

    Raises
    ------
    KittingError
        When the folder holds something else.
    """
    if into.exists() and any(into.iterdir()):
        if not (into / _MARK).exists():
            raise KittingError(f"{into} holds something else; choose another folder with --into")
        shutil.rmtree(into)
    into.mkdir(parents=True, exist_ok=True)
    (into / _MARK).touch()


def _say(command_line: str) -> None:
    click.echo(click.style(f"\n$ {command_line}", fg="cyan"))

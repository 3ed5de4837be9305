"""``kitting sheets``: empty sheets to fill in, or the shop's own."""

from __future__ import annotations

from pathlib import Path

import click

from kitting.commands import common


@click.command("sheets", epilog="Example: kitting sheets my-shop.xlsx")
@click.argument("into", type=click.Path(path_type=Path))
@click.option("--filled", is_flag=True, help="Write the shop's own sheets into a folder instead.")
@common.shop_option
def command(into: Path, filled: bool, shop: str) -> None:
    """Write an empty workbook INTO a file: a sheet for each table, ready to fill in.

    Each column has a note and an example; cells with fixed words have a drop-down list. With
    --filled, INTO is a folder and gets the shop's own sheets as csv files.
    """
    from kitting import reading

    if filled:
        today, _ = common.as_of(None)
        reading.write_sheets(common.load_shop(shop, today), into)
        click.echo(f"wrote the shop's sheets into {into}; change them and: kitting read {into}")
        return
    from kitting.reading.catalogs import joint_kinds

    reading.write_template(into, kinds=sorted(set(joint_kinds()["kind"])))
    click.echo(f"wrote {into}; fill it in, then: kitting read {into}")

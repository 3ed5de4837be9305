"""``kitting sheets``: empty sheets to fill in, or the shop's own."""

from __future__ import annotations

from pathlib import Path

import click

from kitting.commands import common
from kitting.errors import KittingError


@click.command("sheets", epilog="Example: kitting sheets my-shop.xlsx")
@click.argument("into", type=click.Path(path_type=Path))
@click.option("--filled", is_flag=True, help="Write the shop's own sheets into a folder instead.")
@click.option("--replace", is_flag=True, help="Write over sheets that are there already.")
@common.shop_option
def command(into: Path, filled: bool, replace: bool, shop: str) -> None:
    """Write an empty workbook INTO a file: a sheet for each table, ready to fill in.

    Each column has a note and an example; cells with fixed words have a drop-down list. With
    --filled, INTO is a folder and gets the shop's own sheets as csv files. Sheets that are there
    already stay as they are unless you say --replace.
    """
    from kitting import reading

    _check_place(into, filled=filled, replace=replace)
    if filled:
        today, _ = common.as_of(None)
        reading.write_sheets(common.load_shop(shop, today), into)
        click.echo(f"wrote the shop's sheets into {into}; change them and: kitting read {into}")
        return
    from kitting.reading.catalogs import joint_kinds

    reading.write_template(into, kinds=sorted(set(joint_kinds()["kind"])))
    click.echo(f"wrote {into}; fill it in, then: kitting read {into}")


def _check_place(into: Path, *, filled: bool, replace: bool) -> None:
    """Refuse a place where something would be lost or that cannot be read again.

    Raises
    ------
    KittingError
        When it is of the wrong kind, or holds sheets that are not to be replaced.
    """
    if filled:
        if into.exists() and not into.is_dir():
            raise KittingError(f"{into} is a file; --filled writes into a folder, so name one")
        held = sorted(p.name for p in into.glob("*.csv")) if into.is_dir() else []
        if held and not replace:
            raise KittingError(
                f"{into} holds sheets already ({', '.join(held[:3])}{' ...' if held[3:] else ''}); "
                "choose another folder, or say --replace to lose what was changed in them"
            )
        return
    if into.is_dir():
        raise KittingError(f"{into} is a folder; name a file in it, such as {into / 'sheets.xlsx'}")
    if into.suffix.casefold() != ".xlsx":
        raise KittingError(f"{into} would be a workbook; give it a name that ends in .xlsx")
    if into.exists() and not replace:
        raise KittingError(
            f"{into} is there already; choose another name, or say --replace to lose what it holds"
        )

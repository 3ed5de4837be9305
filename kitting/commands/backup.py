"""``kitting backup``: a copy of the whole shop in one file."""

from __future__ import annotations

import click

from kitting.commands import common


@click.command("backup", epilog="Example: kitting backup /media/stick/shop-2026-03-09.db")
@click.argument("file", type=common.Line())
@common.shop_option
@common.json_option
def command(file: str, shop: str, as_json: bool) -> None:
    """Copy the whole shop into a new FILE, while others work on; the copy is proved.

    The file holds what it held when it was made; ``kitting restore`` compares.
    """
    from kitting.records.copying import copy_shop

    common.tell_copied(copy_shop(shop, file, seal=True), as_json)

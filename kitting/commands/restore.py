"""``kitting restore``: a backup becomes the shop again."""

from __future__ import annotations

import click

from kitting.commands import common


@click.command("restore", epilog="Example: kitting restore /media/stick/shop-2026-03-09.db --over")
@click.argument("file", type=common.Line())
@common.shop_option
@common.json_option
@click.option("--over", is_flag=True, help="Replace the shop that is there; it is kept beside it.")
def command(file: str, shop: str, as_json: bool, over: bool) -> None:
    """Make the backup in FILE the shop, after proving that it is as it was when it was made.

    A shop that is there already is replaced only when asked, and kept under another name. FILE may
    also be restored onto an empty database of a server.
    """
    from kitting.records.copying import copy_shop

    common.tell_copied(copy_shop(file, shop, over=over), as_json)

"""``kitting copy``: a whole shop to another file or onto a database server, proved equal."""

from __future__ import annotations

import click

from kitting.commands import common


@click.command("copy", epilog="Example: kitting copy shop.db postgresql://jo@server/shop")
@click.argument("source", metavar="FROM")
@click.argument("target", metavar="TO")
@common.json_option
def command(source: str, target: str, as_json: bool) -> None:
    """Copy the whole shop at FROM to TO; each is a file or the URL of a PostgreSQL database.

    From a file onto a server, back, or from file to file. Every table is compared row by row on
    both sides and the ledger proved on both; TO must hold no shop yet. FROM stays as it is: work
    on in one of the two only.
    """
    from kitting.records.copying import copy_shop

    common.tell_copied(copy_shop(source, target), as_json)

"""``kitting prove``: work everything out anew and compare."""

from __future__ import annotations

import click

from kitting.commands import common


@click.command("prove", epilog="Example: kitting prove --shop shop.db")
@common.shop_option
@common.json_option
def command(shop: str, as_json: bool) -> int:
    """Work out from the moves what is where, and compare it with what the shop keeps.

    Each part sums to zero over all places, nothing left a place that was not there, reversals
    and receipts agree with their moves. Exit code 0: all holds; 1: something does not.
    """
    from kitting import records
    from kitting.outputs.text import plural

    with records.open_shop(shop, read_only=True) as held:
        proof = records.prove(held)
    if as_json:
        common.echo_json(
            {"holds": proof.holds, "moves": proof.moves, "lots": proof.lots,
             "faults": list(proof.faults)}
        )  # fmt: skip
    else:
        for fault in proof.faults:
            click.echo(f"  {fault}")
        word = "all holds"
        if not proof.holds:
            word = plural(len(proof.faults), "thing does NOT hold", "things do NOT hold")
        moves, lots = plural(proof.moves, "move", "moves"), plural(proof.lots, "lot", "lots")
        click.echo(f"{word}: {moves}, {lots} on the shelf and in kits")
        if not proof.holds:
            click.echo("keep this file, and bring back the last backup that proves")
    return 0 if proof.holds else 1

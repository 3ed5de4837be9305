"""``kitting moves``: what was moved, by whom and why."""

from __future__ import annotations

import click

from kitting.commands import common


@click.command("moves", epilog='Example: kitting moves "O-RING 210" --last 5')
@click.argument("part", required=False)
@click.option("--build", default="", metavar="BUILD", help="Only moves for this build.")
@click.option("--last", type=click.IntRange(1, 100_000), default=20, show_default=True,
              help="How many, the latest.")  # fmt: skip
@common.shop_option
@common.json_option
def command(part: str | None, build: str, last: int, shop: str, as_json: bool) -> None:
    """List the moves of PART, or of every part, the latest at the end.

    A move is never changed; to undo one: kitting reverse NUMBER --reason TEXT.
    """
    from kitting import records
    from kitting.records.ledger import latest_moves

    with records.open_shop(shop, read_only=True) as held, held.reading() as hand:
        found = latest_moves(hand, last, part=part, build=build)
    if as_json:
        names = ("move", "day", "made_at", "part", "quantity", "unit", "from_place", "to_place",
                 "lot", "held_for", "owner", "build", "order", "by", "checked", "reason",
                 "reverses")  # fmt: skip
        common.echo_json([{n: getattr(m, n) for n in names} for m in found])
        return
    for m in found:
        who = "/".join(w for w in (m.by, m.checked) if w)
        signed = f" by {who}" if who else ""
        undoes = f" (undoes {m.reverses})" if m.reverses else ""
        amount = common.written(m.quantity, m.unit)
        click.echo(f"{m.move:>6} {m.day} {amount} of {m.part}: {m.from_place} -> {m.to_place}")
        click.echo(f"       {m.reason}{signed}{undoes}")
    if not found:
        click.echo("nothing was moved")

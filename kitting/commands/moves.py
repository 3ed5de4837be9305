"""``kitting moves``: what was moved, by whom and why."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from kitting.commands import common

if TYPE_CHECKING:
    import pandas as pd


@click.command("moves", epilog='Example: kitting moves "O-RING 210" --last 5')
@click.argument("part", required=False)
@click.option("--build", default="", metavar="BUILD", help="Only moves for this build.")
@click.option("--last", type=click.IntRange(1, 100_000), default=20, show_default=True,
              help="How many, the latest.")  # fmt: skip
@click.option("--csv", "into", type=click.Path(path_type=Path, dir_okay=False), metavar="FILE",
              help="Write every move into this new file, for a spreadsheet.")  # fmt: skip
@common.shop_option
@common.json_option
def command(
    part: str | None, build: str, last: int, into: Path | None, shop: str, as_json: bool
) -> None:
    """List the moves of PART, or of every part, the latest at the end.

    A move is never changed; to undo one: kitting reverse NUMBER --reason TEXT.
    """
    from kitting import records
    from kitting.records.ledger import latest_moves

    if into:
        _write(shop, into, part, build, as_json=as_json)
        return
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


def _write(shop: str, into: Path, part: str | None, build: str, *, as_json: bool) -> None:
    """Write every move into a csv file and tell how many."""
    from kitting import records
    from kitting.errors import InputError
    from kitting.outputs.text import plural
    from kitting.reading.writing import written_whole

    if into.exists():
        raise InputError(f"{into} is there already; name a new file, or move it away")
    with records.open_shop(shop, read_only=True) as held:
        found = records.moves(held, part, build)
    with written_whole([into]) as (beside,):
        _as_written(found).to_csv(beside, index=False, encoding="utf-8-sig")
    if as_json:
        common.echo_json({"file": str(into), "moves": len(found)})
    else:
        click.echo(f"{plural(len(found), 'move', 'moves')} written to {into}")


def _as_written(found: pd.DataFrame) -> pd.DataFrame:
    """Return moves with their quantities in their units, exactly, instead of base units."""
    import pandas as pd

    from kitting.reading.writing import show_exact
    from kitting.terms.units import unit

    pairs = found[["quantity", "unit"]].drop_duplicates()
    shown = [show_exact(n, unit(u)) for n, u in zip(pairs["quantity"], pairs["unit"], strict=True)]
    shown = pairs.assign(shown=pd.array(shown, dtype="str"))
    told = found[["quantity", "unit"]].merge(shown, on=["quantity", "unit"], how="left")["shown"]
    return found.assign(quantity=told.to_numpy())

"""``kitting versions``: who changed the bill, when and why, and how any two versions differ."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from kitting.commands import common

if TYPE_CHECKING:
    import pandas as pd

_SHOWN = 60


@click.command("versions", epilog="Example: kitting versions 3 5")
@click.argument("old", type=click.IntRange(min=0), required=False)
@click.argument("new", type=click.IntRange(min=0), required=False)
@click.option("--all", "everything", is_flag=True, help="List every row that differs.")
@common.shop_option
@common.json_option
def command(old: int | None, new: int | None, everything: bool, shop: str, as_json: bool) -> None:
    """List the versions of the bill, or tell how they differ.

    The bill is the parts, sets, stand-ins, stages, joints, lines, options, rules and waivers. Each
    reading of sheets and each accepted proposal that changes it makes a version. With OLD alone:
    what that version changed; with OLD and NEW: how NEW differs from OLD. Version 0 is the bill
    before the first change that was kept.
    """
    from kitting import records

    with records.open_shop(shop, read_only=True) as held:
        if old is None:
            listed = records.versions(held)
        elif new is None:
            listed = records.between(held, max(old - 1, 0), old)
        else:
            listed = records.between(held, old, new)
    if as_json:
        from kitting.outputs.audit import as_rows

        common.echo_json(as_rows(listed))
    elif old is None:
        click.echo("\n".join(_list(listed)) or "no version of the bill was kept yet")
    else:
        click.echo("\n".join(_differences(listed, everything)) or "the bill is the same in both")


def _list(versions: pd.DataFrame) -> list[str]:
    from kitting.outputs.text import long_day, plural, wrapped

    lines: list[str] = []
    for row in versions.itertuples(index=False):
        by = f" by {row.by}" if row.by else ""
        head = f"{row.version:4}  {long_day(row.day.date().isoformat())}"
        came = plural(row.added, "row", "rows")
        told = f"{head}, {came} came, {row.removed} went{by}: {row.reason}"
        lines += wrapped(told.rstrip(": "), 6)
    return lines


def _differences(changes: pd.DataFrame, everything: bool) -> list[str]:
    from kitting.outputs.text import wrapped

    lines: list[str] = []
    rows = changes.itertuples(index=False)
    for row in rows if everything else list(rows)[:_SHOWN]:
        detail = f" ({row.detail})" if row.detail else ""
        lines += wrapped(f"  {row.sheet} {row.change}: {row.row}{detail}", 6)
    if len(changes) > _SHOWN and not everything:
        lines.append(f"  and {len(changes) - _SHOWN} more; --all lists them")
    return lines

"""``kitting size``: what a standard designation stands for, and which parts are equal to it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from kitting.commands import common

if TYPE_CHECKING:
    from datetime import date


@click.command("size", epilog='Example: kitting size "AS568-210 FKM 75"')
@click.argument("designation")
@common.shop_option
@common.day_option
@common.json_option
def command(designation: str, shop: str, day: date | None, as_json: bool) -> int:
    """Tell the size of a bolt, nut, washer or ring by its standard DESIGNATION.

    Lists the shop's parts that are equal by dimension, class and compound, and how long such a
    seal may be stored. Whether an equal part may serve is for the maker to say. Exit code 1: the
    designation is not known.
    """
    from kitting.errors import ShopMissing
    from kitting.reading import hardware

    today, _ = common.as_of(day)
    found = hardware.look_up(designation)
    try:
        parts = common.load_shop(shop, today)["parts"] if found else None
    except ShopMissing:
        parts = None
    document: dict[str, Any] = {"designation": designation, "known": found is not None}
    if found is not None:
        names = {} if parts is None else dict(zip(parts["part"], parts["name"], strict=True))
        same = set(hardware.equal_parts(designation, {*names, *names.values()}))
        compound = found.designation.compound
        document |= {
            "family": found.designation.family,
            "dimensions": dict(found.dimensions),
            "source": found.source,
            "equal": {p: n for p, n in names.items() if {p, n} & (same | {designation})},
            "storage_years": hardware.storage_years(compound) if compound else "",
        }
    if as_json:
        common.echo_json(document)
    else:
        click.echo("\n".join(_text(document)))
    return 0 if found is not None else 1


def _text(document: dict[str, Any]) -> list[str]:
    from kitting.outputs.text import wrapped

    if not document["known"]:
        told = f"{document['designation']} is no designation that is known; write one such as"
        return list(wrapped(f"{told} ISO 4762 M8x25-8.8 or AS568-210 FKM 75", 2))
    size = ", ".join(f"{k.replace('_', ' ')} {v:g}" for k, v in document["dimensions"].items())
    lines = [*wrapped(f"{document['designation']}: {document['family']}", 2)]
    lines += wrapped(f"  {size or 'its size is not in the catalog'}", 4)
    if document["source"]:
        lines += wrapped(f"  source: {document['source']}", 4)
    for part, name in document["equal"].items():
        lines += wrapped(f"  equal: {part} ({name}); the maker says whether it may serve", 4)
    if document["storage_years"]:
        years = document["storage_years"]
        told = f"  stored unopened: {years}" + ("" if years == "unlimited" else " years")
        lines += wrapped(f"{told}, as suppliers quote SAE AS/ARP5316; not its life when fitted", 4)
    return lines

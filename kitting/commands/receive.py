"""``kitting receive``: note what came."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from kitting.commands import common

if TYPE_CHECKING:
    from datetime import date

    import pandas as pd

    from kitting.tables.shop import Shop


@click.command(
    "receive", epilog='Example: kitting receive K0007 "O-RING 210" 10 --place "bin A3" --lot B77'
)
@click.argument("order")
@click.argument("part", required=False)
@click.argument("quantity", required=False)
@click.option(
    "--place",
    type=common.Line(),
    default="goods in",
    show_default=True,
    help="Bin it was put into.",
)
@click.option("--lot", type=common.Line(blank=True), default="", help="Lot or batch mark.")
@click.option("--use-by", type=common.Day(), help="Last day it may be used.")
@click.option("--by", type=common.Line(blank=True), default="", help="Who received it.")
@common.shop_option
@common.day_option
@common.json_option
def command(
    order: str,
    part: str | None,
    quantity: str | None,
    place: str,
    lot: str,
    use_by: date | None,
    by: str,
    shop: str,
    day: date | None,
    as_json: bool,
) -> None:
    """Note what came for ORDER: one PART and QUANTITY, or everything that is still open.

    QUANTITY may carry a unit: "80 ml". Open the box and compare before you note it.
    """
    from kitting import records
    from kitting.records import Arrival

    today, _ = common.as_of(day)
    tables = common.load_shop(shop, today)
    open_lines = _open_lines(tables, order, part)
    came: list[tuple[int, int]]
    if quantity is not None:
        name = common.known_part(tables, str(part))
        came = _spread(open_lines, common.base_quantity(tables, name, quantity)[0])
    else:
        came = [(int(row.line), int(row.open)) for row in open_lines.itertuples() if row.open > 0]
    done = []
    with records.open_shop(shop) as held, held.writing():
        for line, amount in came:
            arrival = Arrival(
                order=order, line=line, quantity=amount, place=place, received=today,
                lot=lot, use_by=use_by, by=by,
            )  # fmt: skip
            done.append(records.receive(held, arrival))
    if as_json:
        common.echo_json(
            [
                {"receipt": r.receipt, "order": r.order, "line": r.line, "part": r.part,
                 "quantity": r.quantity, "open": r.open, "over": r.over}
                for r in done
            ]
        )  # fmt: skip
        return
    if not done:
        click.echo(f"nothing is open on {order}")
    for r in done:
        rest = f"; {common.door_quantity(tables, r.part, r.open)} still to come" if r.open else ""
        over = (
            f"; {common.door_quantity(tables, r.part, r.over)} more than ordered: ask the supplier"
            if r.over
            else ""
        )
        amount_text = common.door_quantity(tables, r.part, r.quantity)
        off = "; the line was called off: ask the supplier" if r.cancelled else ""
        click.echo(f"{r.receipt}: {amount_text} of {r.part} into {place}{rest}{over}{off}")
    common.tell_past(use_by, today)


def _spread(lines: pd.DataFrame, amount: int) -> list[tuple[int, int]]:
    """Share what came of a part among the lines that ask for it; the last takes what is over."""
    came: list[tuple[int, int]] = []
    for number, still in zip(lines["line"].tolist(), lines["open"].tolist(), strict=True):
        taken = min(amount, int(still))
        amount -= taken
        if taken:
            came.append((int(number), taken))
    if amount or not came:
        last, taken = came.pop() if came else (int(lines["line"].iloc[-1]), 0)
        came.append((last, taken + amount))
    return came


def _open_lines(tables: Shop, order: str, part: str | None) -> pd.DataFrame:
    """Return the lines of the order with what is still open of each.

    Raises
    ------
    UnknownName
        When there is no such order, or the part is not on it.
    """
    from kitting.errors import UnknownName
    from kitting.terms.nearest import nearest

    orders, receipts = tables["orders"], tables["receipts"]
    lines = orders[orders["order"] == order]
    if not len(lines):
        raise UnknownName(f'no order is called "{order}"{nearest(order, orders["order"])}')
    if part is not None:
        lines = lines[lines["part"] == part]
        if not len(lines):
            on_it = orders.loc[orders["order"] == order, "part"]
            raise UnknownName(f'"{part}" is not on order {order}{nearest(part, on_it)}')
    came = receipts[receipts["order"] == order]
    by_line = came.dropna(subset=["line"]).groupby("line")["quantity"].sum()
    by_part = came[came["line"].isna()].groupby("part")["quantity"].sum()
    have = lines["line"].map(by_line).fillna(0) + lines["part"].map(by_part).fillna(0)
    still = (lines["quantity"] - have.astype("int64")).where(lines["cancelled"].isna(), 0)
    return lines.assign(open=still.clip(lower=0))

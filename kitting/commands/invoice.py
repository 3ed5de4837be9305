"""``kitting invoice``: an invoice against what was ordered and what came."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from kitting.commands import common
from kitting.errors import InputError, UnknownName

if TYPE_CHECKING:
    from datetime import date

    import pandas as pd

    from kitting.tables.shop import Shop


@click.command("invoice", epilog="Example: kitting invoice bill-1187.csv --try")
@click.argument("file", type=click.Path(exists=True, path_type=Path), required=False)
@click.option("--number", metavar="INVOICE", help="Look at one that was read before.")
@click.option("--try", "only_try", is_flag=True, help="Compare; keep nothing.")
@common.shop_option
@common.day_option
@common.json_option
def command(
    file: Path | None,
    number: str | None,
    only_try: bool,
    shop: str,
    day: date | None,
    as_json: bool,
) -> int:
    """Compare the invoices in FILE, or all that were read, with orders and receipts.

    FILE is a csv or a workbook with the sheet invoices: invoice, order, line, part, quantity, unit,
    amount, dated, note. Each line is compared by quantity with what was ordered and what came, by
    amount with the order's price. In the place of a part may stand freight, hazard charge, deposit
    or deposit PART: they are compared with the supplier's terms. Exit code 1: something does not
    agree.
    """
    from kitting import records
    from kitting.dealings import matched

    today, _ = common.as_of(day)
    tables = common.load_shop(shop, today)
    numbers: list[str] = []
    if file is not None:
        fresh = _read(file, tables)
        numbers = list(dict.fromkeys(fresh["invoice"]))
        with records.open_shop(shop, read_only=only_try) as held:
            frames = {"invoices": fresh}
            told = records.changes(held, frames) if only_try else records.apply(held, frames, today)
            kept = records.snapshot(held)["invoices"]
        tables = tables.replaced(invoices=_together(kept, fresh))
        for row in told[told["change"] == "kept"].itertuples(index=False):
            click.echo(f"note: {row.row} was read before and is kept: {row.detail}", err=True)
    elif number is not None:
        numbers = [number]
    found = matched(tables)
    if numbers:
        found = found[found["invoice"].isin(numbers)]
    if number is not None and found.empty:
        raise UnknownName(f'no invoice is called "{number}"; kitting invoice lists all')
    _echo(tables, found, as_json)
    return int((found["difference"] != "").any())


def _together(kept: pd.DataFrame, fresh: pd.DataFrame) -> pd.DataFrame:
    """Return the invoices that are kept and those that are new."""
    import pandas as pd

    from kitting.tables.shop import BY_NAME

    table = BY_NAME["invoices"]
    both = pd.concat([kept, fresh]).drop_duplicates(list(table.key), keep="first")
    return table.conform(both)


def _read(file: Path, tables: Shop) -> pd.DataFrame:
    """Read the sheet invoices, whatever the file is called.

    Raises
    ------
    InputError
        With every fault, or when there is no invoice in it.
    """
    from kitting.reading import read_sheets

    reading = read_sheets(file, tables, called="invoices")
    if not reading.ok:
        raise InputError(f"{file} cannot be read; put these right", reading.findings)
    if "invoices" not in reading.frames or reading.frames["invoices"].empty:
        raise InputError(f"{file} holds no invoice: name the sheet or file invoices")
    return reading.frames["invoices"]


def _echo(tables: Shop, found: pd.DataFrame, as_json: bool) -> None:
    """Print each line, what it asks and what does not agree."""
    import pandas as pd

    from kitting.outputs.text import plural
    from kitting.terms.money import show_cents

    if as_json:
        plain = found.astype({"line": object, "expected": object})
        plain = plain.where(plain.notna(), None)
        common.echo_json(plain.to_dict("records"))
        return
    if found.empty:
        click.echo("no invoices to compare")
        return
    for invoice, rows in found.groupby("invoice", sort=False):
        asked = int(rows["amount"].sum())
        wrong = int((rows["difference"] != "").sum())
        lines = plural(len(rows), "line", "lines")
        said = f"{wrong} to ask about" if wrong else "all agrees"
        click.echo(f"{invoice}: {show_cents(asked)} for {lines}, {said}")
        for row in rows.itertuples(index=False):
            amount = common.written(row.charged, row.unit)
            mark = "!" if row.difference else " "
            besides = row.ordered == 0 and not pd.isna(row.expected)
            much = "" if besides else f"{amount}, "
            click.echo(f"  {mark} {row.order} {row.part}: {much}{show_cents(row.amount)}")
            if row.difference:
                click.echo(f"      {row.difference}")

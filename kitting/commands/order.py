"""``kitting order``: choose suppliers, write order sheets, count the orders as coming."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from kitting.commands import common

if TYPE_CHECKING:
    from collections.abc import Iterable
    from datetime import date

    import pandas as pd

    from kitting.tables.plan import Plan
    from kitting.terms.findings import Finding


@click.command("order", epilog="Example: kitting order CURLEW-31 --into orders --try")
@click.argument("builds", nargs=-1, shell_complete=common.complete_build)
@click.option(
    "--into",
    type=click.Path(file_okay=False, path_type=Path),
    default=Path("orders"),
    show_default=True,
    help="Folder for the order sheets; they appear whole or not at all.",
)
@click.option("--try", "only_try", is_flag=True, help="Show the orders; write nothing.")
@click.option("--bench-only", is_flag=True, help="Leave out what later stages elsewhere need.")
@common.shop_option
@common.day_option
@common.json_option
def command(
    builds: tuple[str, ...],
    into: Path,
    only_try: bool,
    bench_only: bool,
    shop: str,
    day: date | None,
    as_json: bool,
) -> int:
    """Order what the open builds, or only BUILDS, are short of: one workbook for each supplier.

    Of each short part the cheapest offer that comes in time is taken, else the fastest, in whole
    packs. What is ordered counts as coming from then on. Exit code 1: something is short that
    nobody offers or that no offer brings in time.
    """
    from kitting import records, timing
    from kitting.outputs.order_text import order_document, order_text
    from kitting.outputs.orders import staged_orders

    today, clock = common.as_of(day)
    tables = common.load_shop(shop, today)
    plan = common.make_plan(tables, today, clock)
    buys, pegs, findings = _chosen(plan, builds, bench_only)
    order_by = timing.order_by(tables, buys, timing.calendars(tables, today))
    files: list[Path] = []
    if only_try or buys.empty:
        orders = _orders(plan, buys, pegs, {})
    else:
        with records.open_shop(shop) as held:
            prefix = tables.setting("order_prefix")
            suppliers = dict.fromkeys(buys["supplier"])
            numbers = {s: records.next_order_number(held, prefix) for s in suppliers}
            orders = _orders(plan, buys, pegs, numbers)
            with staged_orders(buys, tables, orders, into) as staged:
                records.add_orders(held, orders)
                files = staged.place()
    document = order_document(plan, (buys, pegs, order_by), orders, findings, files)
    click.echo(common.to_json(document) if as_json else order_text(document))
    return 1 if document["not_in_time"] or document["no_offer"] else 0


def _chosen(
    plan: Plan, builds: Iterable[str], bench_only: bool
) -> tuple[pd.DataFrame, pd.DataFrame, tuple[Finding, ...]]:
    """Choose offers again when only some of the shortages are to be ordered.

    Raises
    ------
    UnknownName
        When a build is not open.
    """
    from kitting import sourcing
    from kitting.errors import UnknownName
    from kitting.terms.nearest import nearest

    wanted = tuple(builds) or plan.builds
    for build in wanted:
        if build not in plan.builds:
            raise UnknownName(f'no open build is called "{build}"{nearest(build, plan.builds)}')
    short = plan.shortages[plan.shortages["build"].isin(wanted)]
    if bench_only:
        short = short[~short["deferred"]]
    return sourcing.choose(plan.shop, short.reset_index(drop=True), plan.offer_days, plan.day)


def _orders(
    plan: Plan, buys: pd.DataFrame, pegs: pd.DataFrame, numbers: dict[str, str]
) -> pd.DataFrame:
    """Return the order lines, table ``orders``; without numbers the supplier's name stands in."""
    import pandas as pd

    from kitting.tables.shop import ORDERS

    if buys.empty:
        return ORDERS.empty()
    build_of = plan.needs.set_index("need")["build"]
    served = pegs.assign(build=pegs["need"].map(build_of)).groupby("buy")["build"]
    # Only what serves a single build is kept for it; the rest is there for whoever is first.
    single = served.first().where(served.nunique() == 1, "")
    parts = plan.shop["parts"].set_index("part")["unit"]
    notes = plan.shop["offers"].set_index("offer")["note"]
    rows: list[dict[str, Any]] = []
    for supplier, lines in buys.groupby("supplier", sort=False):
        for line, buy in enumerate(lines.itertuples(), 1):
            rows.append(
                {
                    "order": numbers.get(str(supplier), str(supplier)),
                    "line": line,
                    "supplier": supplier,
                    "part": buy.part,
                    "supplier_part": buy.supplier_part,
                    "quantity": buy.quantity,
                    "unit": parts.get(buy.part, ""),
                    "packs": buy.packs,
                    "price": buy.cost,
                    "ordered": pd.Timestamp(plan.day),
                    "promised": buy.arrives,
                    "build": single.get(buy.buy, ""),
                    "cancelled": pd.NaT,
                    "note": notes.get(buy.offer, ""),
                }
            )
    return ORDERS.conform(pd.DataFrame(rows))

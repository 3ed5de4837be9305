"""``kitting order``: choose suppliers, write order sheets, count the orders as coming."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from kitting.commands import common

if TYPE_CHECKING:
    from collections.abc import Iterable
    from datetime import date

    import pandas as pd

    from kitting.sourcing import Bought, Pins
    from kitting.tables.plan import Plan
    from kitting.tables.shop import Shop


_AIMS = ("balanced", "least cost", "earliest")


@click.command("order", epilog="Example: kitting order CURLEW-31 --into orders --try --why")
@click.argument("builds", nargs=-1, shell_complete=common.complete_build)
@click.option(
    "--into",
    type=click.Path(file_okay=False, path_type=Path),
    default=Path("orders"),
    show_default=True,
    help="Folder for the order sheets; they appear whole or not at all.",
)
@click.option("--try", "only_try", is_flag=True, help="Show the orders; write nothing.")
@click.option("--draft", is_flag=True, help="They are sent later: kitting amend ORDER --sent.")
@click.option("--ubl", is_flag=True, help="Each order also as XML: OASIS UBL 2.1.")
@click.option("--spares", is_flag=True, help="Also the spares that kitting check --spares lists.")
@click.option("--bench-only", is_flag=True, help="Leave out what later stages elsewhere need.")
@click.option(
    "--answer",
    type=click.Choice(_AIMS),
    default="balanced",
    show_default=True,
    help="Which of the three answers to order.",
)
@click.option("--prefer", multiple=True, metavar="SUPPLIER", help="Buy here what they offer.")
@click.option("--supplier-not", multiple=True, metavar="SUPPLIER", help="Buy nothing here.")
@click.option("--only", multiple=True, metavar="SUPPLIER", help="Buy from these alone.")
@click.option("--keep", multiple=True, metavar="SUPPLIER", help="An order goes here in any case.")
@click.option("--why", is_flag=True, help="The reason of each line, what each supplier is worth.")
@common.shop_option
@common.day_option
@common.json_option
def command(
    builds: tuple[str, ...],
    into: Path,
    only_try: bool,
    draft: bool,
    ubl: bool,
    spares: bool,
    bench_only: bool,
    answer: str,
    prefer: tuple[str, ...],
    supplier_not: tuple[str, ...],
    only: tuple[str, ...],
    keep: tuple[str, ...],
    why: bool,
    shop: str,
    day: date | None,
    as_json: bool,
) -> int:
    """Order what the open builds, or only BUILDS, are short of: one workbook for each supplier.

    Three answers stand side by side: the least money, the earliest, and balanced, which also
    counts stages that wait and parcels to handle. Balanced is ordered unless you say --answer.
    What is ordered counts as coming from then on. What only a supplier can answer (nobody offers
    it, the price has ended or is not known yet) stands on a sheet of questions to each.
    Exit code 1: something is short that nobody offers or that no offer brings in time.
    """
    from kitting import sourcing
    from kitting.outputs.order_text import order_text

    if both := sorted({*only, *prefer, *keep} & {*supplier_not}):
        raise click.UsageError(
            f"{', '.join(both)}: both wanted and not wanted; leave one of the options out"
        )
    today, clock = common.as_of(day)
    tables = common.load_shop(shop, today)
    if not only_try:
        _clear_left(shop, into)
    _tell_left(shop, into, tables.setting("order_prefix"))
    pins = sourcing.Pins(
        _known(tables, prefer),
        frozenset(_known(tables, supplier_not)),
        frozenset(_known(tables, only)),
        frozenset(_known(tables, keep)),
    )
    plan = common.make_plan(tables, today, clock)
    short = _short(plan, builds, bench_only)
    if not builds:
        plan, short = _with(plan, short, common.look_at_shelf(plan)[1])
    if spares:
        _, wanted = common.make_spares(plan)
        plan, short = _with(plan, short, wanted[wanted["build"].isin(builds or plan.builds)])
    document = placed(plan, short, pins, answer, None if only_try else Into(shop, into, ubl, draft))
    if why:
        dropped = sourcing.drops(tables, short, plan.offer_days, today, pins)
        document["drops"] = dropped.to_dict("records")
    click.echo(common.to_json(document) if as_json else order_text(document, why=why))
    return 1 if document["not_in_time"] or document["no_offer"] else 0


def _clear_left(shop: str, into: Path) -> None:
    """Remove the sheets of an order that was cut off before it was recorded.

    While this process may write, no other one is between placing its sheets and recording them.
    """
    from kitting import records
    from kitting.outputs.unfinished import left

    if not any(left(into, _whole(shop), ())):
        return
    with records.open_shop(shop) as held, held.writing():
        for found in left(into, _whole(shop), records.order_numbers(held)):
            for file in found.same:
                file.unlink(missing_ok=True)
                click.echo(f"note: {file} is removed: its order was cut off", err=True)
            for file in found.changed:
                said = "is of an order that was cut off, and was changed since"
                click.echo(f"note: {file} {said}; look at it and remove it yourself", err=True)
            found.note.unlink(missing_ok=True)


def _whole(shop: str) -> str:
    """Return a shop's place in full, so that it is told from others of its name."""
    from kitting.records.hands import shown

    return shown(shop) if "://" in shop else str(Path(shop).absolute())


def _tell_left(shop: str, into: Path, prefix: str) -> None:
    """Tell of drafts, whose parts are not coming, and of sheets that no order stands behind.

    Such a sheet is left when the work was cut off between placing it and recording its order.
    """
    import re

    from kitting import records
    from kitting.outputs.folder import safe_name

    with records.open_shop(shop, read_only=True) as held:
        drafts, known = records.drafts(held), records.order_numbers(held)
    for order, supplier in drafts:
        said = f"{order} to {supplier} is a draft, so its parts count as short"
        click.echo(f"note: {said}: kitting amend {order} --sent, or --call-off", err=True)
    named = re.compile(re.escape(safe_name(f"{prefix}0001")[:-4]) + r"\d{4,}(?= .*\.(xlsx|xml)$)")
    whole = {safe_name(order) for order in known}
    for file in sorted(into.iterdir()) if into.is_dir() else []:
        number = named.match(file.name)
        if number and number[0] not in whole:
            said = f"{file} is of no order in this shop, as when work is cut off"
            click.echo(f"note: {said}; do not send it", err=True)


@dataclass(frozen=True, slots=True)
class Into:
    """Where orders are recorded and written.

    Parameters
    ----------
    shop
        The shop, by file or URL.
    folder
        Folder for the sheets.
    ubl
        Write each order as XML too.
    draft
        They are not sent yet, and count as coming only once they are.
    """

    shop: str
    folder: Path
    ubl: bool = False
    draft: bool = False


def placed(
    plan: Plan, short: pd.DataFrame, pins: Pins, answer: str, into: Into | None
) -> dict[str, Any]:
    """Choose the orders for some shortages, write and record them, and return what to tell.

    Parameters
    ----------
    short
        Rows of table ``shortages``.
    answer
        Which of the three answers to order.
    into
        Where to record and write them; ``None`` writes nothing.
    """
    from kitting import timing
    from kitting.outputs.order_text import order_document
    from kitting.plan import answered

    found, chosen, waits = answered(plan, short, pins, answer)
    asked = found.questions()
    files: list[Path] = []
    if into is None or (chosen.buys.empty and asked.empty):
        orders = _orders(plan, chosen.buys, chosen.buy_needs, {})
    else:
        orders, files = _write(plan, chosen, asked, into)
    calendars = timing.calendars(plan.shop, plan.day)
    order_by = timing.order_by(plan.shop, chosen.buys, calendars, plan.likely_days)
    frames = (chosen.buys, chosen.buy_needs, order_by)
    document = order_document(plan, frames, orders, chosen.findings, files)
    document["waits"] = waits[["part", "build", "stage"]].to_dict("records")
    document["by_hand"] = found.by_hand().to_dict("records")
    document["questions"] = asked.to_dict("records")
    return {**document, "answers": found.answers.to_dict("records"), "answer": answer}


def _known(tables: Shop, suppliers: tuple[str, ...]) -> tuple[str, ...]:
    """Return suppliers that the shop knows.

    Raises
    ------
    UnknownName
        When it does not know one.
    """
    from kitting.errors import UnknownName
    from kitting.terms.nearest import nearest

    known = tables["suppliers"]["supplier"].tolist()
    for supplier in suppliers:
        if supplier not in known:
            raise UnknownName(f'no supplier is called "{supplier}"{nearest(supplier, known)}')
    return suppliers


def _short(plan: Plan, builds: Iterable[str], bench_only: bool) -> pd.DataFrame:
    """Return the shortages that are to be ordered.

    Raises
    ------
    UnknownName
        When a build is not open.
    """
    wanted = tuple(builds) or plan.builds
    common.check_open(plan, wanted)
    short = plan.shortages[plan.shortages["build"].isin(wanted)]
    if bench_only:
        short = short[~short["deferred"]]
    return short.reset_index(drop=True)


def _with(plan: Plan, short: pd.DataFrame, wanted: pd.DataFrame) -> tuple[Plan, pd.DataFrame]:
    """Add needs that hold no bench to what is to be ordered: spares, what the shelf is to keep."""
    import pandas as pd

    from kitting.tables.flow import NEEDS, SHORTAGES

    if wanted.empty:
        return plan, short
    needs = NEEDS.conform(pd.concat([plan.needs, wanted], ignore_index=True))
    more = pd.concat([short, wanted[list(SHORTAGES.names)]], ignore_index=True)
    return replace(plan, needs=needs), SHORTAGES.conform(more)


def _write(
    plan: Plan, chosen: Bought, asked: pd.DataFrame, into: Into
) -> tuple[pd.DataFrame, list[Path]]:
    """Write the sheets and record the orders, all or nothing; return orders and files.

    Raises
    ------
    KittingError
        When the shop is no longer as it was planned, or the sheets cannot be written.
    """
    from kitting import records
    from kitting.outputs.orders import staged_orders
    from kitting.outputs.questions import stage_questions
    from kitting.outputs.unfinished import note_placing

    with records.open_shop(into.shop) as held:
        prefix = plan.shop.setting("order_prefix")
        suppliers = dict.fromkeys(chosen.buys["supplier"])
        numbers = {s: records.next_order_number(held, prefix) for s in suppliers}
        orders = _orders(plan, chosen.buys, chosen.buy_needs, numbers)
        terms = chosen.order_terms
        freight = {
            numbers[s]: int(cents)
            for s, cents in zip(terms["supplier"], terms["freight"], strict=True)
            if s in numbers
        }
        files: list[Path] = []
        note, made = None, not into.folder.exists()
        try:
            with (
                staged_orders(
                    chosen.buys, plan.shop, orders, into.folder, freight, into.ubl
                ) as staged,
                held.writing(),
            ):
                stage_questions(staged, plan.shop, asked, plan.day)
                _check_unchanged(plan, records.snapshot(held, plan.day))
                records.add_orders(held, orders, plan.day if into.draft else None)
                if numbers:
                    note = note_placing(staged, _whole(into.shop), list(numbers.values()))
                files = staged.place()
        except BaseException:
            for file in (*files, *filter(None, [note])):
                file.unlink(missing_ok=True)
            if made and into.folder.is_dir() and not any(into.folder.iterdir()):
                into.folder.rmdir()
            raise
        if note:
            note.unlink(missing_ok=True)
        return orders, files


def _check_unchanged(plan: Plan, now: Shop) -> None:
    """Refuse to order for a shop that someone else changed since it was planned.

    Raises
    ------
    KittingError
        When any table differs: the same parts may have been ordered twice.
    """
    from kitting import bill
    from kitting.errors import KittingError
    from kitting.reading.references import references

    now = bill.with_amounts(now, references(now))
    if any(not frame.equals(now[name]) for name, frame in plan.shop.tables.items()):
        raise KittingError(
            "someone else changed the shop meanwhile; nothing was ordered: give the command again"
        )


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
                    "requested": buy.day,
                    "first_promised": pd.NaT,
                }
            )
    return ORDERS.conform(pd.DataFrame(rows))

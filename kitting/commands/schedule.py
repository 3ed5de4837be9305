"""``kitting schedule``: all open builds on the benches and people that there are."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from kitting.commands import common

if TYPE_CHECKING:
    from datetime import date

    from kitting.tables.shop import Shop


@click.command(
    "schedule", epilog='Example: kitting schedule --benches "bay 1; run stand" --people 2'
)
@click.option("--benches", help='Places that hold few at once, as in "bay 1; bench = 3".')
@click.option("--people", type=click.IntRange(min=1), help="How many people work at once.")
@click.option("--plans", type=click.IntRange(min=1), default=1000, show_default=True,
              help="How many schedules to try.")  # fmt: skip
@click.option("--solver", is_flag=True, help="Ask the solver of the extra schedule too.")
@click.option("--seconds", type=click.FloatRange(min=0.1), default=20.0, show_default=True,
              help="How long the solver may take.")  # fmt: skip
@common.shop_option
@common.day_option
@common.json_option
def command(
    benches: str | None,
    people: int | None,
    plans: int,
    solver: bool,
    seconds: float,
    shop: str,
    day: date | None,
    as_json: bool,
) -> int:
    """Propose on which days each stage of the open builds is on which bench.

    Benches and people are those of the sheet shop, settings benches and people, unless given
    here. Stages wait until their kits are ready; * marks stages that may not slip. No sheet is
    changed. Exit code 1: a build cannot keep its date.
    """
    from kitting.outputs.schedule import schedule_document, schedule_text
    from kitting.plan import schedule
    from kitting.timing.improve import Effort

    today, clock = common.as_of(day)
    given = {"benches": benches, "people": None if people is None else str(people)}
    tables = _with_settings(
        common.load_shop(shop, today), {k: v for k, v in given.items() if v is not None}
    )
    plan = common.make_plan(tables, today, clock)
    scheduled = schedule(plan, Effort(plans=plans, solver=solver, seconds=seconds))
    document = schedule_document(tables, scheduled, today)
    click.echo(common.to_json(document) if as_json else schedule_text(document))
    return 1 if any(b["days_late"] for b in document["builds"]) else 0


def _with_settings(shop: Shop, given: dict[str, str]) -> Shop:
    """Return a shop with some settings of the sheet shop exchanged, for this once."""
    if not given:
        return shop
    import pandas as pd

    from kitting.tables.shop import SETTINGS

    kept = shop["shop"][~shop["shop"]["setting"].isin(list(given))]
    rows = pd.DataFrame({"setting": list(given), "value": list(given.values())})
    return shop.replaced(shop=SETTINGS.conform(pd.concat([kept, rows], ignore_index=True)))

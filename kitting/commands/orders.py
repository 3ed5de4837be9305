"""``kitting orders``: what is ordered, what of it came, what is owed, which claims are open."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from kitting.commands import common

if TYPE_CHECKING:
    from datetime import date

    import pandas as pd

    from kitting.records import Claim
    from kitting.tables.shop import Shop


@click.command("orders", epilog="Example: kitting orders K0007 --facts")
@click.argument("order", required=False)
@click.option("--all", "everything", is_flag=True, help="Orders that are closed too.")
@click.option("--facts", is_flag=True, help="What happened to each line, day by day.")
@common.shop_option
@common.day_option
@common.json_option
def command(
    order: str | None, everything: bool, facts: bool, shop: str, day: date | None, as_json: bool
) -> None:
    """List the orders that are open, or the lines of ORDER: state, what is owed, open claims.

    A line is sent, promised, part received, closed or cancelled. kitting amend notes what a
    supplier changes, kitting claim what came of a claim.
    """
    from kitting import records
    from kitting.dealings import order_states

    today, _ = common.as_of(day)
    with records.open_shop(shop, read_only=True) as held, held.reading():
        tables = records.snapshot(held, today)
        claims = [c for c in records.claims(held) if c.day <= today]
        drafts = records.drafts(held)
    states = order_states(tables)
    if order is not None:
        _known(order, [*states["order"], *(name for name, _supplier in drafts)])
        states = states[states["order"] == order]
        claims = [c for c in claims if c.order == order]
    elif not everything:
        still = states[(states["owed"] > 0) | (states["claims"] > 0)]["order"]
        states = states[states["order"].isin(still)]
    shown = [c for c in claims if c.open or everything or order is not None]
    happened = _facts(tables, states) if facts else []
    if as_json:
        common.echo_json(_document(states, shown, drafts, happened))
        return
    if order is None:
        _echo_orders(states, today)
    elif len(states):
        click.echo(f"{order} to {states['supplier'].iloc[0]}")
        _echo_lines(tables, states, today)
    for name, supplier in drafts:
        if order in (None, name):
            click.echo(f"{name}: drafted for {supplier}, not sent; kitting amend {name} --sent")
    _echo_claims(tables, shown, today)
    for fact in happened:
        click.echo(fact)


def _known(order: str, known: list[str]) -> None:
    """Refuse an order that is not there.

    Raises
    ------
    UnknownName
        With the nearest numbers.
    """
    from kitting.errors import UnknownName
    from kitting.terms.nearest import nearest

    if order not in known:
        raise UnknownName(f'no order is called "{order}"{nearest(order, known)}')


def _echo_orders(states: pd.DataFrame, today: date) -> None:
    """Print a line for each order, 80 columns."""
    from kitting.outputs.text import fit, short_day

    if states.empty:
        click.echo("no order is open")
        return
    click.echo("order        supplier     lines  open  claims  next promised")
    for (order, supplier), rows in states.groupby(["order", "supplier"], sort=False):
        owed = rows[rows["owed"] > 0]
        first = _iso(owed["promised"].min())
        late = ", late" if first and first < today.isoformat() else ""
        click.echo(
            f"{fit(order, 12)} {fit(supplier, 12)} {len(rows):>5} {len(owed):>5} "
            f"{rows['claims'].sum():>7}  {short_day(first) if len(owed) else '-'}{late}"
        )


def _echo_lines(tables: Shop, states: pd.DataFrame, today: date) -> None:
    """Print the lines of an order, 80 columns."""
    from kitting.outputs.text import fit, short_day

    click.echo("line part                asked        owed  state          promised")
    for row in states.itertuples(index=False):
        asked, owed = (common.door_quantity(tables, row.part, n) for n in (row.quantity, row.owed))
        promised, first = _iso(row.promised), _iso(row.first_promised)
        late = ", late" if row.owed and promised and promised < today.isoformat() else ""
        moved = f", was {short_day(first)}" if first and first != promised else ""
        click.echo(
            f"{row.line:>4} {fit(row.part, 14)} {fit(asked, 11, '>')} {fit(owed, 11, '>')}  "
            f"{fit(row.state, 13)}  {short_day(promised)}{late}{moved}"
        )


def _iso(day: Any) -> str | None:
    """Return a day as ISO text, blank as ``None``."""
    import pandas as pd

    return None if pd.isna(day) else day.date().isoformat()


def _echo_claims(tables: Shop, claims: list[Claim], today: date) -> None:
    """Print claims."""
    from kitting.outputs.text import wrapped

    for c in claims:
        amount = common.door_quantity(tables, c.part, c.quantity)
        due = f" by {c.due}" if c.due and c.open else ""
        due += ", late" if c.due and c.open and c.due < today else ""
        text = f"{c.claim}: {amount} of {c.part} {c.what}, order {c.order} line {c.line}: "
        text += f"{c.event} {c.day}" + (f", next {c.next}{due}" if c.open else "")
        click.echo("\n".join(wrapped(text, 7)))


def _facts(tables: Shop, states: pd.DataFrame) -> list[str]:
    """Return what happened to the lines shown, a line of text each."""
    shown = set(zip(states["order"], states["line"], strict=True))
    lines = []
    for f in tables["order_facts"].itertuples(index=False):
        if (f.order, f.line) in shown:
            to = f" to {_iso(f.promised)}" if f.what == "promised" else ""
            why = f" ({f.reason})" if f.reason else ""
            lines.append(f"{_iso(f.day)} {f.order} line {f.line}: {f.what}{to}{why}")
    return lines


def _document(
    states: pd.DataFrame, claims: list[Claim], drafts: list[tuple[str, str]], facts: list[str]
) -> dict[str, Any]:
    """Return what is shown, for a script."""
    from dataclasses import asdict

    days = ["since", "promised", "first_promised"]
    plain = states.astype({"price": object})
    for name in days:
        plain[name] = [_iso(d) for d in states[name]]
    plain["price"] = [None if p is None or p != p else int(p) for p in plain["price"].to_list()]
    return {
        "lines": plain.to_dict("records"),
        "claims": [asdict(c) for c in claims],
        "drafts": [{"order": name, "supplier": supplier} for name, supplier in drafts],
        "facts": facts,
    }

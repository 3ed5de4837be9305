"""What ``kitting order`` prints: the orders, and what could not be ordered in time."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click
import pandas as pd

from kitting.outputs.text import fit, leveled, plural, short_day, wrapped
from kitting.terms.money import show_cents
from kitting.terms.words import Level

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from pathlib import Path

    from kitting.tables.plan import Plan
    from kitting.terms.findings import Finding

Document = dict[str, Any]


def order_document(
    plan: Plan,
    chosen: tuple[pd.DataFrame, pd.DataFrame, pd.DataFrame],
    orders: pd.DataFrame,
    findings: Sequence[Finding],
    files: Sequence[Path],
) -> Document:
    """Return the orders, ready for JSON; amounts in cents of the order's currency.

    Parameters
    ----------
    plan
        The plan the buys come from.
    chosen
        Tables ``buys``, ``buy_needs`` and ``order_by`` of what is to be ordered.
    orders
        Table ``orders``; empty order numbers mean that nothing was written.
    findings
        What sourcing says.
    files
        The workbooks that were written.
    """
    buys, pegs, order_by = chosen
    rows = buys.assign(order=orders["order"].to_numpy(), line=orders["line"].to_numpy())
    rows = rows.merge(order_by[["buy", "order_by"]], on="buy", how="left")
    needs = plan.needs.set_index("need")
    late = pegs[pegs["buy"].isin(rows.loc[~rows["in_time"], "buy"])]
    return {
        "as_of": plan.day.isoformat(),
        "written": bool(files),
        "files": [str(f) for f in files],
        "orders": [
            {
                "order": order if files else None,
                "supplier": lines["supplier"].iloc[0],
                "currency": lines["currency"].iloc[0],
                "goods": int(lines["cost"].sum()),
                "arrives": _day(lines["arrives"].max()),
                "order_by": _day(lines["order_by"].min()),
                "lines": [_line(line) for line in lines.itertuples()],
            }
            for order, lines in rows.groupby("order", sort=False)
        ],
        "not_in_time": [
            {
                "build": needs.at[peg.need, "build"],
                "stage": needs.at[peg.need, "stage"],
                "part": needs.at[peg.need, "part"],
                "needed": _day(needs.at[peg.need, "day"]),
                "usable": _day(rows.loc[rows["buy"] == peg.buy, "usable"].iloc[0]),
            }
            for peg in late.itertuples()
            if not needs.at[peg.need, "deferred"]
            and not needs.at[peg.need, "day"] >= rows.loc[rows["buy"] == peg.buy, "usable"].iloc[0]
        ],
        "no_offer": [
            f.message for f in findings if f.level == Level.STOP and "offers" in f.message
        ],
        "findings": [
            {"level": str(f.level), "where": f.where(), "message": f.message} for f in findings
        ],
    }


def _day(value: Any) -> str | None:
    return None if pd.isna(value) else pd.Timestamp(value).date().isoformat()


def _line(line: Any) -> Document:
    return {
        "line": int(line.line),
        "part": line.part,
        "supplier_part": line.supplier_part,
        "packs": int(line.packs),
        "pack": int(line.pack),
        "quantity": int(line.quantity),
        "needed": int(line.needed),
        "cost": int(line.cost),
        "order_by": _day(line.order_by),
        "arrives": _day(line.arrives),
        "usable": _day(line.usable),
        "in_time": bool(line.in_time),
        "why": line.why,
    }


def order_text(document: Document) -> str:
    """Write the orders for a terminal, 80 columns."""
    if not document["orders"] and not document["findings"]:
        return "nothing is short; nothing to order"
    return "\n".join([*_orders(document), *_late(document), *_findings(document)])


def _orders(document: Document) -> Iterator[str]:
    if not document["orders"]:
        yield "nothing can be ordered"
        return
    count = plural(len(document["orders"]), "order", "orders")
    yield click.style(
        f"{count} {'written' if document['written'] else 'would be written'}", bold=True
    )
    yield f"  {'order':9} {'supplier':12} {'lines':>5} {'goods':>13}  {'order by':11} all there"
    for order in document["orders"]:
        goods = show_cents(order["goods"], order["currency"])
        yield (
            f"  {fit(order['order'] or '-', 9)} {fit(order['supplier'], 12)} "
            f"{len(order['lines']):>5} {goods:>13}  {short_day(order['order_by']):11} "
            f"{short_day(order['arrives'])}"
        )
    sums: dict[str, int] = {}
    for order in document["orders"]:
        sums[order["currency"]] = sums.get(order["currency"], 0) + order["goods"]
    for currency, cents in sums.items():
        yield f"  {'goods in all':28} {show_cents(cents, currency):>13}"
    for name in document["files"]:
        yield f"  wrote {name}"


def _late(document: Document) -> Iterator[str]:
    if not document["not_in_time"]:
        return
    yield ""
    yield click.style("Not in time, even when ordered now", bold=True)
    for row in document["not_in_time"]:
        yield from wrapped(
            f"  !! {row['part']} for {row['build']} {row['stage']}: needed "
            f"{short_day(row['needed'])}, usable {short_day(row['usable'])}",
            5,
        )


def _findings(document: Document) -> Iterator[str]:
    if not document["findings"]:
        return
    yield ""
    for row in document["findings"]:
        place = f"{row['where']}: " if row["where"] else ""
        yield from leveled(row["level"], f"{place}{row['message']}")

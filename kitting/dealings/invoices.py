"""Invoices against orders against receipts: the three-way match."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pandas as pd

from kitting.dealings.charges import Besides, charge_of
from kitting.dealings.states import order_states
from kitting.tables.dealings import MATCHED
from kitting.terms.money import amount as worth
from kitting.terms.money import show_cents

if TYPE_CHECKING:
    from collections.abc import Iterator

    from kitting.tables.shop import Shop


def matched(shop: Shop, invoice: str | None = None) -> pd.DataFrame:
    """Return each invoice line with what it should be, and what does not agree.

    Invoices are taken in the order of their days: what an earlier one charged, a later one may not
    charge again. A line should charge no more than came and was kept, at the order's price in
    proportion; one cent of rounding is let pass where it charges a part of an order line. A deposit
    on old parts may stand in the line's amount or as a line of its own. Lines named ``freight``,
    ``hazard charge``, ``deposit`` or ``deposit PART`` are held against what the sheets say of the
    supplier. Lines of the invoice's orders that came and that no invoice charges are told last.

    Parameters
    ----------
    shop
        Reads ``orders``, ``receipts``, ``order_facts``, ``claims``, ``invoices``, ``suppliers``,
        ``offers``, ``parts`` and settings.
    invoice
        Only this one; ``None`` = all.

    Returns
    -------
    DataFrame
        Table ``matched``.
    """
    lines = {(row.order, row.line): row for row in order_states(shop).itertuples(index=False)}
    by_part: dict[tuple[str, str], list[int]] = {}
    for (order, line), row in lines.items():
        by_part.setdefault((order, row.part), []).append(line)
    charged: dict[tuple[str, int], int] = {}
    rows: list[dict[str, Any]] = []
    besides = Besides(shop)
    asked = shop["invoices"].sort_values("dated", kind="stable", na_position="last")
    for line in asked.itertuples(index=False):
        charge = None if (line.order, line.part) in by_part else charge_of(line.part)
        if charge is not None:
            rows.append(besides.row(line, charge))
            continue
        at = _line(line, lines, by_part, charged)
        rows.append(_row(line, lines.get((line.order, at)) if at else None, charged, besides))
        if at:
            charged[line.order, at] = charged.get((line.order, at), 0) + int(line.quantity)
    chosen = [r for r in rows if invoice in (None, r["invoice"])]
    chosen += _not_charged(chosen, lines, charged)
    return MATCHED.conform(pd.DataFrame(chosen, columns=MATCHED.names))


def _line(
    asked: Any,
    lines: dict[tuple[str, int], Any],
    by_part: dict[tuple[str, str], list[int]],
    charged: dict[tuple[str, int], int],
) -> int | None:
    """Return the order line that an invoice line charges: as it says, or the next of its part."""
    if not pd.isna(asked.line):
        return int(asked.line) if (asked.order, int(asked.line)) in lines else None
    of_part = by_part.get((asked.order, asked.part), [])
    open_ = [n for n in of_part if charged.get((asked.order, n), 0) < lines[asked.order, n].come]
    return next(iter(open_ or of_part[-1:]), None)


def _row(
    asked: Any, line: Any, charged: dict[tuple[str, int], int], besides: Besides
) -> dict[str, Any]:
    """Return one invoice line with what it should be."""
    quantity, amount = int(asked.quantity), int(asked.amount)
    row = {
        "invoice": asked.invoice,
        "order": asked.order,
        "line": line.line if line else pd.NA,
        "part": asked.part,
        "unit": asked.unit,
        "ordered": line.quantity if line else 0,
        "come": line.come if line else 0,
        "charged": quantity,
        "before": charged.get((line.order, line.line), 0) if line else 0,
        "amount": amount,
        "expected": _expected(line, quantity),
    }
    return {**row, "difference": "; ".join(_differences(row, line, besides))}


def _expected(line: Any, quantity: int) -> Any:
    """Return what a quantity comes to at the price of an order line, rounded once."""
    if line is None or pd.isna(line.price) or not line.quantity:
        return pd.NA
    return worth(quantity, int(line.price), int(line.quantity))


def _differences(row: dict[str, Any], line: Any, besides: Besides) -> Iterator[str]:
    """Yield what does not agree."""
    if line is None:
        yield "no line of our orders asks for it"
        return
    total = row["before"] + row["charged"]
    if row["before"] and row["before"] >= min(row["ordered"], row["come"]):
        yield "charged before"
    elif total > row["ordered"]:
        yield "more than ordered"
    if total > row["come"]:
        claimed = ", and a claim is open" if line.claims else ""
        yield f"more than came{claimed}"
    if line.state == "cancelled":
        yield "the line was called off"
    if line.part != row["part"]:
        yield f"the order asks for {line.part}"
    if not pd.isna(row["expected"]):
        over = row["amount"] - int(row["expected"])
        rounding = 0 if row["charged"] == row["ordered"] else 1
        held = abs(over) > rounding and besides.in_price(line, row["charged"], over, rounding)
        if abs(over) > rounding and not held:
            yield f"{show_cents(abs(over))} {'dearer' if over > 0 else 'cheaper'} than ordered"


def _not_charged(
    rows: list[dict[str, Any]],
    lines: dict[tuple[str, int], Any],
    charged: dict[tuple[str, int], int],
) -> list[dict[str, Any]]:
    """Return lines of the invoices' orders that came and were charged by none."""
    orders = {r["order"]: r["invoice"] for r in rows}
    return [
        {
            "invoice": orders[order], "order": order, "line": number, "part": line.part,
            "unit": line.unit, "ordered": line.quantity, "come": line.come, "charged": 0,
            "before": 0, "amount": 0, "expected": _expected(line, line.come),
            "difference": "came, and no invoice charges it",
        }
        for (order, number), line in lines.items()
        if order in orders and line.come and not charged.get((order, number))
    ]  # fmt: skip

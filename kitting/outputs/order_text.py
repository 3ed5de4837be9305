"""What ``kitting order`` prints: the orders, and what could not be ordered in time."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click
import numpy as np
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
    rows = rows.merge(order_by[["buy", "order_by", "stated"]], on="buy", how="left")
    rows = _with_deposits(rows, plan.shop["offers"])
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
                "deposits": int(lines["deposit"].sum()),
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
        "no_offer": [f.message for f in findings if f.level == Level.STOP and f.sheet == "offers"],
        "findings": [
            {"level": str(f.level), "where": f.where(), "message": f.message} for f in findings
        ],
    }


def _with_deposits(rows: pd.DataFrame, offers: pd.DataFrame) -> pd.DataFrame:
    """Add what is paid on the old parts of each line, and the day until which they must be back."""
    offered = offers.set_index("offer")[["core_deposit", "core_days"]]
    found = offered.reindex(rows["offer"])
    days = pd.to_timedelta(found["core_days"].to_numpy("float64", na_value=np.nan), unit="D")
    deposit = found["core_deposit"].to_numpy("int64", na_value=0) * rows["packs"].to_numpy()
    by = (rows["arrives"] + days).where(deposit > 0)
    return rows.assign(deposit=deposit, core_by=by)


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
        "deposit": int(line.deposit),
        "core_by": _day(line.core_by),
        "order_by": _day(line.order_by),
        "order_by_stated": _day(line.stated),
        "arrives": _day(line.arrives),
        "usable": _day(line.usable),
        "in_time": bool(line.in_time),
        "why": line.why,
    }


def order_text(document: Document, *, why: bool = False) -> str:
    """Write the orders for a terminal, 80 columns; ``why`` adds the reason of each line."""
    waits = list(_waits(document))
    if not document["orders"] and not document["findings"]:
        return "\n".join(waits) or "nothing is short; nothing to order"
    lines = [*_answers(document), *_orders(document), *_late(document), *waits]
    if why:
        lines += [*_reasons(document), *_drops(document), *_questions(document)]
    return "\n".join([*lines, *_findings(document)])


def _waits(document: Document) -> Iterator[str]:
    """Name what waits for an order on the way, since what would be bought is there no sooner."""
    waits = document.get("waits", ())
    if not waits:
        return
    yield click.style("On the way already, late; what would be bought is no sooner", bold=True)
    for row in waits:
        yield from wrapped(f"  {row['part']} for {row['build']} {row['stage']}", 4)
    yield "  chase it; --answer earliest buys what is sooner"


def _answers(document: Document) -> Iterator[str]:
    """Put the answers side by side; the star marks the one that is ordered."""
    answers = document.get("answers", [])
    if len(answers) < 2:
        return
    currency = answers[0]["currency"]
    yield click.style("Three answers to choose from", bold=True)
    paid_in = f"paid {currency}"
    yield f"    {'answer':10}   goods freight  charges {paid_in:>10} parcels  all usable  waits"
    hand = document.get("by_hand", [])
    for row in (*answers, *hand):
        charges = row["hazard"] + row["filling"] + row["deposits"]
        paid = row["goods"] + row["freight"] + charges
        sign = "*" if row["answer"] == document["answer"] else " "
        proof = "" if row["gap"] <= 0 else f" (within {100 * row['gap']:.1f} %)"
        waits = plural(row["days_late"], "day", "days") if row["days_late"] else "none"
        yield (
            f"  {sign} {row['answer']:10} {show_cents(row['goods']):>7} "
            f"{show_cents(row['freight']):>7} {show_cents(charges):>8} {show_cents(paid):>10} "
            f"{row['parcels']:>7}  {short_day(_day(row['last'])):11} {waits}{proof}"
        )
    yield from _deposits((*answers, *hand))
    if hand:
        yield from _saving(document, hand[0])
    yield ""


def _deposits(answers: Sequence[Document]) -> Iterator[str]:
    """Say what of the charges are deposits on old parts, and what of them is expected back."""
    terms: dict[str, list[str]] = {}
    for row in answers:
        paid, back = (show_cents(row[n]) for n in ("deposits", "deposits_back"))
        terms.setdefault(f"{paid} paid now, {back} expected back", []).append(row["answer"])
    if not any(row["deposits"] for row in answers):
        return
    told = (
        f"{said} ({', '.join(names)})" if len(terms) > 1 else said for said, names in terms.items()
    )
    yield from wrapped(f"  Deposits on old parts, in the charges: {'; '.join(told)}.", 4)


def _saving(document: Document, hand: Document) -> Iterator[str]:
    """Say what the ordered answer saves against choosing by hand."""
    (chosen,) = (row for row in document["answers"] if row["answer"] == document["answer"])
    saved = hand["total"] - chosen["total"]
    terms = ("goods", "freight", "hazard", "filling", "deposits")
    paid = sum(hand[t] - chosen[t] for t in terms)
    how = "by hand (each part alone, the cheapest in time)"
    name, currency = document["answer"].capitalize(), hand["currency"]
    if not saved and not paid:
        yield f"  {name} costs as much as {how}."
        return
    less, paid_less = ("more" if s < 0 else "less" for s in (saved, paid))
    yield from wrapped(
        f"  {name} costs {show_cents(abs(saved), currency)} "
        f"({abs(100 * saved / max(hand['total'], 1)):.1f} %) {less} than {how}: "
        f"{show_cents(abs(paid))} {paid_less} is paid, and stages wait "
        f"{plural(chosen['days_late'], 'day', 'days')} instead of {hand['days_late']}.",
        4,
    )


def _reasons(document: Document) -> Iterator[str]:
    for order in document["orders"]:
        yield ""
        yield click.style(f"{order['supplier']}, line by line", bold=True)
        alike: dict[str, list[str]] = {}
        for line in order["lines"]:
            alike.setdefault(line["why"], []).append(line["part"])
        for why, parts in alike.items():
            yield from wrapped(f"  {', '.join(parts)}: {why}", 6)


def _drops(document: Document) -> Iterator[str]:
    if not document["drops"]:
        return
    yield ""
    yield click.style("Without a supplier", bold=True)
    currency = document["answers"][0]["currency"]
    for row in document["drops"]:
        text = f"  {row['supplier']}: {show_cents(row['money'], currency)} more is paid"
        if row["days_late"]:
            text += f", stages wait {row['days_late']} working days more"
        if row["unmet"]:
            text += f", and nobody else sells {row['unmet']}"
        yield from wrapped(text, 6)


def _questions(document: Document) -> Iterator[str]:
    if not document["questions"]:
        return
    yield ""
    yield click.style("Ask", bold=True)
    for row in document["questions"]:
        whom = row["supplier"] or "the maker, or anyone who may know"
        name = f" ({row['name']})" if row["name"] not in ("", row["part"]) else ""
        known = f" ({row['known']})" if row["known"] else ""
        yield from wrapped(
            f"  {whom} for {row['part']}{name}, by {_day(row['day'])}: {row['ask']}{known}", 6
        )


def _orders(document: Document) -> Iterator[str]:
    if not document["orders"]:
        yield "nothing can be ordered"
    else:
        yield from _table(document)
    for name in document["files"]:
        yield f"  wrote {name}"


def _table(document: Document) -> Iterator[str]:
    """Write a line for each order, and what the goods come to."""
    count = plural(len(document["orders"]), "order", "orders")
    yield click.style(
        f"{count} {'written' if document['written'] else 'would be written'}", bold=True
    )
    yield f"  {'order':9} {'supplier':12} {'lines':>5} {'goods':>13}  {'order by':11} all there"
    for order in document["orders"]:
        goods = show_cents(order["goods"], order["currency"])
        passed = (order["order_by"] or "9") <= document["as_of"]
        until = "today" if passed else short_day(order["order_by"])
        yield (
            f"  {fit(order['order'] or '-', 9)} {fit(order['supplier'], 12)} "
            f"{len(order['lines']):>5} {goods:>13}  {until:11} "
            f"{short_day(order['arrives'])}"
        )
    for term, what in (("goods", "goods in all"), ("deposits", "deposits on old parts")):
        sums: dict[str, int] = {}
        for order in document["orders"]:
            sums[order["currency"]] = sums.get(order["currency"], 0) + order[term]
        for currency, cents in sums.items():
            if cents or term == "goods":
                yield f"  {what:28} {show_cents(cents, currency):>13}"
    for order in document["orders"]:
        for line in order["lines"]:
            if line["deposit"]:
                yield from _old_part(line, order["currency"])


def _old_part(line: Document, currency: str) -> Iterator[str]:
    """Say what is paid until the old parts of a line are back."""
    until = "; ask until when they must be back"
    if line["core_by"]:
        until = f" that are back by {short_day(line['core_by'])}"
    paid = show_cents(line["deposit"], currency)
    yield from wrapped(f"  {line['part']}: deposit of {paid}, paid back for old parts{until}", 4)


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

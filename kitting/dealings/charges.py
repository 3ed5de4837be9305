"""What an invoice may charge besides goods: freight, hazard charge, deposits on old parts."""

from __future__ import annotations

from collections import defaultdict
from contextlib import suppress
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import pandas as pd

from kitting.terms.freight import flat_steps, freight_at, parse_steps
from kitting.terms.money import amount as worth
from kitting.terms.money import show_cents

if TYPE_CHECKING:
    from kitting.tables.shop import Shop

FREIGHT, HAZARD, DEPOSIT = "freight", "hazard charge", "deposit"


@dataclass(frozen=True, slots=True)
class Charge:
    """A charge that an invoice names in the place of a part.

    Parameters
    ----------
    what
        ``freight``, ``hazard charge`` or ``deposit``.
    part
        The part whose old one a deposit is for; blank = all of the order.
    """

    what: str
    part: str = ""


def charge_of(named: str) -> Charge | None:
    """Return the charge that the words of an invoice name; ``None`` when they name none.

    ``freight``, ``hazard charge``, ``deposit`` and ``deposit PART`` are understood.
    """
    words = " ".join(named.split())
    if words.casefold() in (FREIGHT, HAZARD, DEPOSIT):
        return Charge(words.casefold())
    first, _, part = words.partition(" ")
    return Charge(DEPOSIT, part) if first.casefold() == DEPOSIT else None


class Besides:
    """Charges of invoices against what the sheets say that each order's supplier takes [cents].

    Charges are noted as they are asked for, so that a later invoice may not ask again.
    """

    def __init__(self, shop: Shop) -> None:
        orders = shop["orders"]
        standing = orders[orders["cancelled"].isna()]
        self._lines = {str(name): rows for name, rows in standing.groupby("order")}
        self._suppliers = shop["suppliers"].set_index("supplier").to_dict("index")
        self._told = dict(zip(shop["shop"]["setting"], shop["shop"]["value"], strict=True))
        self._hazardous = set(shop["parts"].loc[shop["parts"]["hazard"] != "", "part"])
        offers = shop["offers"]
        self._offers = {
            key: rows.to_dict("records")
            for key, rows in offers[offers["pack"] > 0].groupby(["supplier", "part"])
        }
        self._asked: dict[tuple[str, Charge], int] = defaultdict(int)

    def row(self, asked: Any, charge: Charge) -> dict[str, Any]:
        """Return a row of table ``matched`` for a charge on an invoice.

        Parameters
        ----------
        asked
            Row of ``invoices``.
        """
        expected = self._agreed(asked.order, charge, int(asked.quantity))
        before = self._before(asked.order, charge)
        self._asked[asked.order, charge] += int(asked.amount)
        return {
            "invoice": asked.invoice, "order": asked.order, "line": pd.NA, "part": asked.part,
            "unit": asked.unit, "ordered": 0, "come": 0, "charged": int(asked.quantity),
            "before": 0, "amount": int(asked.amount),
            "expected": pd.NA if expected is None else expected,
            "difference": _difference(charge, int(asked.amount), before, expected),
        }  # fmt: skip

    def in_price(self, line: Any, quantity: int, over: int, rounding: int) -> bool:
        """Tell whether what an invoice line asks beyond its goods is the deposit of its old parts.

        Parameters
        ----------
        line
            The order line, with its order and part.
        quantity
            How much of the part the invoice line charges [base units].
        over, rounding
            What it asks beyond its goods, and what of that may be rounding [cents].
        """
        charge = Charge(DEPOSIT, line.part)
        agreed = self._agreed(line.order, charge, quantity)
        if not agreed or abs(agreed - over) > rounding or self._before(line.order, charge):
            return False
        self._asked[line.order, charge] += over
        return True

    def _before(self, order: str, charge: Charge) -> int:
        """Return what was asked of a charge; all deposits of an order include each one's."""
        kin = [Charge(DEPOSIT)] if charge.part else []
        if charge == Charge(DEPOSIT):
            kin = [c for o, c in self._asked if o == order and c.what == DEPOSIT and c.part]
        return sum(self._asked.get((order, c), 0) for c in (charge, *kin))

    def _agreed(self, order: str, charge: Charge, quantity: int) -> int | None:
        """Return what a charge comes to; ``None`` when order or supplier is not known."""
        rows = self._lines.get(order)
        if rows is None or rows["supplier"].iloc[0] not in self._suppliers:
            return None
        if charge.what != DEPOSIT:
            return self._terms(rows, charge.what)
        of_part = [r for r in rows.itertuples(index=False) if charge.part in ("", r.part)]
        total, asked = sum(map(self._deposit, of_part)), sum(int(r.quantity) for r in of_part)
        if not charge.part or not asked:
            return total
        return worth(min(quantity, asked), total, asked)

    def _deposit(self, line: Any) -> int:
        """Return the deposit of an order line, by the offer under its number and in its pack."""
        offers = self._offers.get((line.supplier, line.part), [])
        packs = None if pd.isna(line.packs) else int(line.packs)

        def apart(offer: dict[Any, Any]) -> tuple[bool, bool]:
            in_pack = packs is not None and offer["pack"] * packs == line.quantity
            return offer["supplier_part"] != line.supplier_part, not in_pack

        best = min(offers, key=apart, default=None)
        if best is None:
            return 0
        count = packs if packs is not None else -(-int(line.quantity) // int(best["pack"]))
        return int(best["core_deposit"]) * count

    def _terms(self, rows: pd.DataFrame, what: str) -> int:
        """Return freight or hazard charge of an order."""
        supplier = str(rows["supplier"].iloc[0])
        row = self._suppliers[supplier]
        if what == HAZARD:
            return int(row["hazard_charge"]) if rows["part"].isin(self._hazardous).any() else 0
        free = row["free_freight_above"]
        steps = flat_steps(int(row["freight"]), None if pd.isna(free) else int(free))
        with suppress(ValueError):  # Unless steps are told, the supplier's own row stands.
            steps = parse_steps(self._told.get(f"freight steps {supplier}", ""))
        return freight_at(steps, int(rows["price"].fillna(0).sum()))


def _difference(charge: Charge, amount: int, before: int, agreed: int | None) -> str:
    """Say what does not agree about a charge; blank = all agrees."""
    if agreed is None:
        return "no line of our orders asks for it"
    if not agreed:
        return f"no {charge.what} is agreed" if amount else ""
    if before >= agreed:
        return "charged before"
    over = before + amount - agreed
    return (
        f"{show_cents(abs(over))} {'dearer' if over > 0 else 'cheaper'} than agreed" if over else ""
    )

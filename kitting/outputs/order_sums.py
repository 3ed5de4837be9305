"""Sums of an order in UBL 2.1, checked on the document itself: validity does not prove them."""

from __future__ import annotations

from decimal import ROUND_HALF_UP, Decimal
from typing import TYPE_CHECKING
from xml.etree import ElementTree

if TYPE_CHECKING:
    from collections.abc import Iterator
    from xml.etree.ElementTree import Element

_UBL = "urn:oasis:names:specification:ubl:schema:xsd:"
SPACES = {
    "": f"{_UBL}Order-2",
    "cac": f"{_UBL}CommonAggregateComponents-2",
    "cbc": f"{_UBL}CommonBasicComponents-2",
}
"""Names of the spaces that an order is written in, by prefix."""


def sum_faults(document: bytes) -> tuple[str, ...]:
    """Tell which sums of an order do not hold; none when all do.

    A line is quantity times price over what the price is for, with the line's own charges and
    allowances, rounded half up to the cent; the lines make their total; charges and allowances
    make theirs; lines and charges less allowances are to be paid (UBL 2.1, MonetaryTotal). Tax is
    counted only where the total with tax is stated. All amounts are in one currency.

    Parameters
    ----------
    document
        An Order in UBL 2.0 or 2.1.

    Raises
    ------
    ElementTree.ParseError
        When it is not XML.
    """
    order = ElementTree.fromstring(document)
    lines = order.findall("cac:OrderLine/cac:LineItem", SPACES)
    return (*_currencies(order), *(f for line in lines for f in _line(line)), *_total(order, lines))


def _currencies(order: Element) -> Iterator[str]:
    """Tell when amounts are in several currencies."""
    found = sorted({e.attrib["currencyID"] for e in order.iter() if "currencyID" in e.attrib})
    if len(found) > 1:
        yield f"amounts are in {', '.join(found)}; write them in one currency"


def _line(line: Element) -> Iterator[str]:
    """Tell when a line is not what quantity and price make."""
    name = line.findtext("cbc:ID", "", SPACES)
    quantity, amount = (line.find(f"cbc:{n}", SPACES) for n in ("Quantity", "LineExtensionAmount"))
    price, base = (line.find(f"cac:Price/cbc:{n}", SPACES) for n in ("PriceAmount", "BaseQuantity"))
    if quantity is None or amount is None or price is None:
        return
    basis = Decimal(1) if base is None else _number(base)
    units = {e.get("unitCode", "") for e in (quantity, base) if e is not None} - {""}
    if len(units) > 1:
        yield f"line {name}: quantity and price are in {' and '.join(sorted(units))}; use one unit"
        return
    if basis <= 0:
        yield f"line {name}: the price is for {basis}, which is not above zero"
        return
    charges, allowances = _charges(line)
    worked = _cents(_number(quantity) * _number(price) / basis) + charges - allowances
    if worked != _number(amount):
        yield f"line {name}: quantity times price is {worked}, but {_number(amount)} is written"


def _total(order: Element, lines: list[Element]) -> Iterator[str]:
    """Tell when the totals are not what lines, charges and allowances make."""
    total = order.find("cac:AnticipatedMonetaryTotal", SPACES)
    if total is None:
        return
    goods = sum((_sum(line, "cbc:LineExtensionAmount") for line in lines), Decimal(0))
    charges, allowances = _charges(order)
    net = goods + charges - allowances
    taxed = net + _sum(order, "cac:TaxTotal/cbc:TaxAmount")
    with_tax = total.find("cbc:TaxInclusiveAmount", SPACES) is not None
    due = taxed if with_tax else net
    due += _sum(total, "cbc:PayableRoundingAmount") - _sum(total, "cbc:PrepaidAmount")
    for name, worked, what in (
        ("LineExtensionAmount", goods, "the lines"),
        ("ChargeTotalAmount", charges, "the charges"),
        ("AllowanceTotalAmount", allowances, "the allowances"),
        ("TaxExclusiveAmount", net, "lines and charges less allowances"),
        ("TaxInclusiveAmount", taxed, "lines, charges and tax"),
        ("PayableAmount", due, "the amounts to pay"),
    ):
        written = total.find(f"cbc:{name}", SPACES)
        if written is not None and _number(written) != worked:
            yield f"{name}: {what} come to {worked}, but {_number(written)} is written"
        elif written is None and worked and name in {"ChargeTotalAmount", "AllowanceTotalAmount"}:
            yield f"{name}: {what} come to {worked}, but no total is written"


def _charges(of: Element) -> tuple[Decimal, Decimal]:
    """Return the charges and the allowances that stand directly in an order or a line."""
    sums = {True: Decimal(0), False: Decimal(0)}
    for each in of.findall("cac:AllowanceCharge", SPACES):
        adds = each.findtext("cbc:ChargeIndicator", "", SPACES).strip() in {"true", "1"}
        sums[adds] += _sum(each, "cbc:Amount")
    return sums[True], sums[False]


def _sum(of: Element, path: str) -> Decimal:
    return sum((_number(e) for e in of.findall(path, SPACES)), Decimal(0))


def _number(element: Element) -> Decimal:
    return Decimal((element.text or "").strip())


def _cents(value: Decimal) -> Decimal:
    return value.quantize(Decimal("0.01"), ROUND_HALF_UP)

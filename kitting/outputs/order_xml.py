"""One order as an XML document: Order of the Universal Business Language 2.1 (OASIS, 2013)."""

from __future__ import annotations

import re
from decimal import Decimal
from fractions import Fraction
from typing import TYPE_CHECKING
from xml.etree import ElementTree
from xml.etree.ElementTree import Element, SubElement

from kitting.errors import KittingError
from kitting.outputs.order_book import CONFIRM, NO_AIR, UNPRICED
from kitting.outputs.order_sums import SPACES, sum_faults
from kitting.terms.money import show_cents
from kitting.terms.units import Unit, unit

if TYPE_CHECKING:
    from datetime import date

    from kitting.outputs.order_book import Sender
    from kitting.outputs.order_lines import Order, OrderLine

# GS1 in the list of agencies, UN/CEFACT 3055; the published order example codes GLNs so.
_GS1 = "9"
NO_TAX = "All amounts are without tax."
# What XML 1.0 does not allow in a document (section 2.2, Char).
_FORBIDDEN = re.compile("[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")


def order_xml(order: Order, sender: Sender) -> bytes:
    """Return an order as UBL 2.1, valid against its schema, with sums that hold.

    Quantities carry UNECE Recommendation 20 codes. Freight, hazard charge and the deposits on old
    parts, each by its line, are charges of the whole order; tax is left out and a note says so.
    What XML cannot hold becomes a replacement character.

    Parameters
    ----------
    order
        The order.
    sender
        Who orders.

    Raises
    ------
    KittingError
        When it has no day, or a sum does not hold.
    """
    if order.ordered is None:
        raise KittingError(f"order {order.number} has no day on which it is sent; give it one")
    root = Element("Order", {f"xmlns:{k}" if k else "xmlns": v for k, v in SPACES.items()})
    _put(root, "cbc:UBLVersionID", "2.1")
    _put(root, "cbc:ID", order.number)
    _put(root, "cbc:IssueDate", order.ordered.isoformat())
    for note in _notes(order):
        _put(root, "cbc:Note", note)
    _put(root, "cbc:DocumentCurrencyCode", order.currency)
    _put(root, "cbc:LineCountNumeric", str(len(order.lines)))
    _parties(root, order, sender)
    _delivery(root, sender.ship_to, order)
    for reason, cents in _charges(order):
        charge = SubElement(root, "cac:AllowanceCharge")
        _put(charge, "cbc:ChargeIndicator", "true")
        _put(charge, "cbc:AllowanceChargeReason", reason)
        _money(charge, "cbc:Amount", cents, order.currency)
    total = SubElement(root, "cac:AnticipatedMonetaryTotal")
    _money(total, "cbc:LineExtensionAmount", order.goods, order.currency)
    _money(total, "cbc:TaxExclusiveAmount", order.total, order.currency)
    _money(total, "cbc:ChargeTotalAmount", order.total - order.goods, order.currency)
    _money(total, "cbc:PayableAmount", order.total, order.currency)
    for line in order.lines:
        _line(SubElement(root, "cac:OrderLine"), line, order)
    ElementTree.indent(root)
    document: bytes = ElementTree.tostring(root, encoding="UTF-8", xml_declaration=True)
    faults = sum_faults(document)
    if faults:
        raise KittingError(f"order {order.number} does not add up: {'; '.join(faults)}")
    return document


def _notes(order: Order) -> list[str]:
    """Say what holds for the whole order."""
    notes = [NO_TAX]
    if any(line.amount is None for line in order.lines):
        notes.append(UNPRICED)
    return [*notes, *([NO_AIR] if order.hazardous else []), CONFIRM]


def _charges(order: Order) -> list[tuple[str, int]]:
    found = [("Freight", order.freight), ("Hazard charge", order.hazard_charge)]
    for line in order.lines:
        by = f", by {line.back_by}" if line.back_by else ""
        reason = f"Deposit on the old parts of line {line.line}, {line.part}; back when they are"
        found.append((f"{reason}{by}", line.deposit))
    return [(reason, cents) for reason, cents in found if cents]


def _parties(root: Element, order: Order, sender: Sender) -> None:
    """Write who orders, with our account at the supplier, and who is to deliver."""
    buyer = SubElement(root, "cac:BuyerCustomerParty")
    if order.account:
        _put(buyer, "cbc:SupplierAssignedAccountID", order.account)
    _party(buyer, sender.name, sender.address, sender.contact)
    seller = SubElement(root, "cac:SellerSupplierParty")
    _put(seller, "cbc:CustomerAssignedAccountID", order.supplier)
    _party(seller, order.name, order.address, "")


def _party(parent: Element, name: str, address: str, contact: str) -> None:
    party = SubElement(parent, "cac:Party")
    if name:
        _put(SubElement(party, "cac:PartyName"), "cbc:Name", name)
    if address:
        _address(party, "cac:PostalAddress", address)
    if contact:
        _put(SubElement(party, "cac:Contact"), "cbc:Note", contact)


def _address(parent: Element, name: str, text: str) -> None:
    """Write an address line by line, as it stands in the sheets: its parts are not told apart."""
    address = SubElement(parent, name)
    for row in text.splitlines():
        if row.strip():
            _put(SubElement(address, "cac:AddressLine"), "cbc:Line", row.strip())


def _delivery(root: Element, ship_to: str, order: Order) -> None:
    """Write where the goods go, and the first day by which something must be there."""
    first = order.first_needed
    if not ship_to.strip() and first is None:
        return
    delivery = SubElement(root, "cac:Delivery")
    if ship_to.strip():
        _address(delivery, "cac:DeliveryAddress", ship_to)
    if first is not None:
        _period(delivery, first, order.ordered)


def _period(delivery: Element, line: OrderLine, ordered: date | None) -> None:
    """Write the day by which a line is asked for, never before the order itself."""
    if line.needed is None:
        return
    day = ordered if line.at_once and ordered is not None else line.needed
    period = SubElement(delivery, "cac:RequestedDeliveryPeriod")
    _put(period, "cbc:EndDate", day.isoformat())


def _line(parent: Element, line: OrderLine, order: Order) -> None:
    """Write one line: quantity, amount, day, price, item."""
    for note in (line.notes, "Needed at once" if line.at_once else ""):
        if note:
            _put(parent, "cbc:Note", note)
    item = SubElement(parent, "cac:LineItem")
    of = _exact_unit(line)
    _put(item, "cbc:ID", str(line.line))
    _put(item, "cbc:Quantity", _decimal(line.quantity, of), unitCode=of.code)
    if line.amount is not None:
        _money(item, "cbc:LineExtensionAmount", line.amount, order.currency)
    if line.needed is not None:
        _period(SubElement(item, "cac:Delivery"), line, order.ordered)
    if line.price is not None:
        price = SubElement(item, "cac:Price")
        _money(price, "cbc:PriceAmount", line.price.cents, order.currency)
        _put(price, "cbc:BaseQuantity", _decimal(line.price.per, of), unitCode=of.code)
    _item(SubElement(item, "cac:Item"), line, of)


def _item(item: Element, line: OrderLine, of: Unit) -> None:
    """Write what is ordered: its name, pack, hazard and numbers."""
    if line.price is not None:
        _put(item, "cbc:PackQuantity", _decimal(line.price.pack, of), unitCode=of.code)
    _put(item, "cbc:Name", line.name or line.part)
    if line.hazard:
        _put(item, "cbc:HazardousRiskIndicator", "true")
    for whose, number in (("Buyers", line.part), ("Sellers", line.supplier_part)):
        if number:
            _put(SubElement(item, f"cac:{whose}ItemIdentification"), "cbc:ID", number)
    if line.gtin:
        standard = SubElement(item, "cac:StandardItemIdentification")
        _put(standard, "cbc:ID", line.gtin, schemeID="GTIN", schemeAgencyID=_GS1)


def _exact_unit(line: OrderLine) -> Unit:
    """Return the line's unit, or the base unit where a quantity is no decimal number of it."""
    amounts = [line.quantity]
    if line.price is not None:
        amounts += [line.price.per, line.price.pack]
    exact = all(_is_decimal(Fraction(n) / line.unit.factor) for n in amounts)
    return line.unit if exact else unit(line.unit.dimension.value)


def _is_decimal(value: Fraction) -> bool:
    """Tell whether a number has an end in decimals: its divisor has no primes but 2 and 5."""
    rest = value.denominator
    for prime in (2, 5):
        while rest % prime == 0:
            rest //= prime
    return rest == 1


def _decimal(quantity: int, of: Unit) -> str:
    value = Fraction(quantity) / of.factor
    return f"{Decimal(value.numerator) / Decimal(value.denominator):f}"


def _money(parent: Element, name: str, cents: int, currency: str) -> None:
    _put(parent, name, show_cents(cents), currencyID=currency)


def _put(parent: Element, name: str, text: str, **attributes: str) -> None:
    SubElement(parent, name, attributes).text = _FORBIDDEN.sub("\ufffd", text)

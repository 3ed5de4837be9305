"""UBL 2.1 (OASIS Standard, 2013): our orders against its schema, its examples against our sums.

The schema, the published examples and their terms are in ``data/ubl``. Validity says nothing about
sums: of the six published orders four do not add up, three of them valid.
"""

from __future__ import annotations

import csv
from pathlib import Path

import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from lxml import etree
from outputs.order_frames import MIXED, NORTH, PARTS, bought, shop

from kitting.outputs.order_book import Sender
from kitting.outputs.order_lines import gather
from kitting.outputs.order_sums import SPACES, sum_faults
from kitting.outputs.order_xml import order_xml
from kitting.tables.flow import BUYS
from kitting.terms.units import UNITS

DATA = Path(__file__).parent / "data"
UBL = DATA / "ubl"
SENDER = Sender("Saltmarsh Engine Works", "The Old Net Loft\nFennick Haven", "Jo, desk", "x", "A4")
WRONG = "line 1: quantity times price is 10000.00, but 100.00 is written"
# Schema verdict as the release states it (section E.3), and what our sums say.
EXAMPLES = [
    ("xml/UBL-Order-2.1-Example.xml", True, ()),
    ("xml/UBL-Order-2.0-Example-International.xml", True, ()),
    ("xml/UBL-Order-2.0-Example.xml", True, (WRONG,)),
    ("val/order-test-good.xml", True, (WRONG,)),
    ("val/order-test-bad2.xml", True, (WRONG,)),
    ("val/order-test-bad1.xml", False, (WRONG,)),
]


@pytest.fixture(scope="module")
def schema():
    return etree.XMLSchema(etree.parse(UBL / "xsdrt" / "maindoc" / "UBL-Order-2.1.xsd"))


def ours(rows=MIXED, of=None, sender=SENDER):
    """Write one order as XML."""
    buys, orders = bought(rows)
    (order,) = gather(buys, of or shop(), orders)
    return order_xml(order, sender)


@pytest.mark.parametrize(("file", "valid", "faults"), EXAMPLES)
def test_the_published_examples(schema, file, valid, faults):
    """The schema judges each as the release says; our sums find those that do not add up."""
    assert schema.validate(etree.parse(UBL / file)) is valid
    assert sum_faults((UBL / file).read_bytes()) == faults


def test_our_order_is_valid_and_adds_up(schema):
    """Pieces, prices per 100, millilitres, freight and hazard charge."""
    document = ours()
    assert schema.validate(etree.fromstring(document).getroottree()), schema.error_log
    assert sum_faults(document) == ()


@pytest.mark.parametrize(
    ("supplier", "parts", "sender", "row"),
    [
        # Nothing is known of supplier and sender, and the part is in no sheet.
        ([], [], Sender("", "", "", "", "A4"), {"part": "UNKNOWN", "supplier_part": ""}),
        # Pairs, bought as pieces: three pieces are a pair and a half.
        ([NORTH], [{"part": "GASKET", "unit": "pair"}], SENDER, {"packs": 3}),
        # Dozens: five pieces are no decimal number of dozens, so pieces are written.
        ([NORTH], [{"part": "GASKET", "unit": "dozen"}], SENDER, {"packs": 5}),
        # Text that XML cannot hold, that looks like mark-up, and from beyond the first plane.
        ([NORTH], PARTS, SENDER, {"note": "a\x00b\x1b <&> ]]> \ufffe 𝄞", "order": "K<1>"}),
    ],
    ids=["nothing known", "pairs", "dozens", "hard text"],
)
def test_what_is_rare_is_valid_too(schema, supplier, parts, sender, row):
    """Each rare order still passes the schema and the sums."""
    document = ours([row], shop(supplier, parts), sender)
    assert schema.validate(etree.fromstring(document).getroottree()), schema.error_log
    assert sum_faults(document) == ()


def test_units_are_active_codes_of_recommendation_20():
    """No package code, no deleted code: as the published list marks them."""
    with (DATA / "unece_rec20_selected.csv").open(encoding="utf-8") as file:
        active = {r["code"] for r in csv.DictReader(file) if r["in_ubl_2_4_active_list"] == "yes"}
    root = etree.fromstring(ours())
    assert {e.get("unitCode") for e in root.iter() if e.get("unitCode")} == {"H87", "MLT"}
    assert active >= {"H87", "MLT"}
    example = etree.parse(UBL / "val" / "order-test-good.xml")
    codes = {e.get("unitCode") for e in example.iter() if e.get("unitCode")}
    assert codes - active == {"KG"}  # the release's own trap: a deleted code, not kilograms


def test_the_order_says_what_the_workbook_says():
    """Numbers, quantities, prices, charges and total of the mixed order, worked by hand."""
    root = etree.fromstring(ours())

    def texts(path):
        return [e.text for e in root.findall(path, SPACES)]

    item = "cac:OrderLine/cac:LineItem"
    assert texts("cbc:IssueDate") == ["2026-03-02"]
    assert texts(f"{item}/cbc:Quantity") == ["3", "75", "160", "1000"]
    assert texts(f"{item}/cbc:LineExtensionAmount") == ["58.80", "12.94", "23.80", "7.80"]
    assert texts(f"{item}/cac:Price/cbc:BaseQuantity") == ["1", "100", "80", "500"]
    assert texts(f"{item}/cac:Item/cac:SellersItemIdentification/cbc:ID") == [
        "N1", "007", "=R1", "1E5",
    ]  # fmt: skip
    assert texts("cac:AllowanceCharge/cbc:AllowanceChargeReason") == ["Freight", "Hazard charge"]
    assert texts("cac:AllowanceCharge/cbc:Amount") == ["8.50", "6.00"]
    assert texts("cac:AnticipatedMonetaryTotal/cbc:ChargeTotalAmount") == ["14.50"]
    assert texts("cac:AnticipatedMonetaryTotal/cbc:PayableAmount") == ["117.84"]
    assert "All amounts are without tax." in texts("cbc:Note")
    assert texts("cac:BuyerCustomerParty/cbc:SupplierAssignedAccountID") == ["70418"]
    assert texts(f"{item}/cac:Item/cbc:HazardousRiskIndicator") == ["true"]


def test_what_is_overdue_is_asked_for_at_once(schema):
    """No day before the order itself is asked for; a note says that it is urgent."""
    root = etree.fromstring(ours([{"day": pd.Timestamp("2026-02-20")}]))
    assert schema.validate(root.getroottree()), schema.error_log
    days = {e.text for e in root.iterfind(".//cac:RequestedDeliveryPeriod/cbc:EndDate", SPACES)}
    assert days == {"2026-03-02"}
    assert root.findtext("cac:OrderLine/cbc:Note", namespaces=SPACES) == "Needed at once"


def test_an_order_without_its_buys_keeps_what_is_known(schema):
    """Printed again later: amounts without prices; a line without an amount is to be quoted."""
    _, orders = bought(MIXED)
    orders.loc[0, "price"] = pd.NA
    (order,) = gather(BUYS.empty(), shop(), orders)
    document = order_xml(order, SENDER)
    root = etree.fromstring(document)
    assert schema.validate(root.getroottree()), schema.error_log
    assert sum_faults(document) == ()
    amounts = root.findall("cac:OrderLine/cac:LineItem/cbc:LineExtensionAmount", SPACES)
    assert [e.text for e in amounts] == ["12.94", "23.80", "7.80"]
    assert root.find(".//cac:Price", SPACES) is None
    assert any("please quote" in e.text for e in root.findall("cbc:Note", SPACES))


def test_the_trade_item_number_is_the_standard_one(schema):
    """As in the published example, under the agency code of GS1."""
    offers = [{"offer": 7, "supplier": "NORTH", "part": "GASKET", "gtin": "6291041500213"}]
    document = ours([{"offer": 7}], shop(offers=offers))
    root = etree.fromstring(document)
    assert schema.validate(root.getroottree()), schema.error_log
    (number,) = root.findall(".//cac:StandardItemIdentification/cbc:ID", SPACES)
    assert number.text == "6291041500213"
    assert dict(number.attrib) == {"schemeID": "GTIN", "schemeAgencyID": "9"}


def test_deposits_on_old_parts_are_charges_with_their_reason(schema):
    """One for each line, with the day until which the old parts must be back; the sums hold."""
    offers = [{"offer": 7, "part": "GASKET", "core_deposit": 4500, "core_days": 30}]
    document = ours([{"offer": 7, "packs": 2}, {}], shop(offers=offers))
    root = etree.fromstring(document)
    assert schema.validate(root.getroottree()), schema.error_log
    assert sum_faults(document) == ()
    told = [[e.text for e in c] for c in root.findall("cac:AllowanceCharge", SPACES)]
    reason = "Deposit on the old parts of line 1, GASKET; back when they are, by 2026-04-01"
    assert told == [["true", "Freight", "8.50"], ["true", reason, "90.00"]]
    total = root.findtext("cac:AnticipatedMonetaryTotal/cbc:PayableAmount", namespaces=SPACES)
    assert total == "157.30"


@pytest.mark.parametrize(
    ("found", "put", "said"),
    [
        (b">58.80<", b">58.81<", "line 1: quantity times price is 58.80, but 58.81 is written"),
        (b">103.34<", b">103.35<", "LineExtensionAmount: the lines come to 103.34"),
        (b">14.50<", b">14.00<", "ChargeTotalAmount: the charges come to 14.50"),
        (b">8.50<", b">8.00<", "PayableAmount: the amounts to pay come to 117.34"),
        (b'"GBP">6.00', b'"USD">6.00', "amounts are in GBP, USD"),
        (b'BaseQuantity unitCode="MLT">80', b'BaseQuantity unitCode="LTR">80', "use one unit"),
    ],
)
def test_a_cent_anywhere_is_found(found, put, said):
    """Every number that is changed by hand is told."""
    document = ours()
    assert found in document
    assert any(said in fault for fault in sum_faults(document.replace(found, put)))


@settings(max_examples=40, deadline=None)
@given(
    of=st.sampled_from(UNITS),
    packs=st.integers(1, 500),
    pack=st.integers(1, 10**7),
    per=st.integers(1, 10**7),
    price=st.integers(0, 10**6),
)
def test_any_order_in_any_unit_is_valid_and_adds_up(schema, of, packs, pack, per, price):
    """Whatever the unit, the numbers written are exact, so that the amount follows from them."""
    row = {"packs": packs, "pack": pack, "per": per, "price": price}
    document = ours([row], shop(parts=[{"part": "GASKET", "unit": of.name}]))
    assert schema.validate(etree.fromstring(document).getroottree()), schema.error_log
    assert sum_faults(document) == ()

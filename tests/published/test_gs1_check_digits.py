"""Check digits of GS1 numbers, worked by GS1 and its members, and printed in published orders.

``data/gs1_check_digits.csv`` names the source of each number. Location numbers have the check digit
of trade item numbers (GS1 General Specifications, section 7.9.1).
"""

from __future__ import annotations

import csv
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from lxml import etree

from kitting.outputs.order_sums import SPACES
from kitting.reading.cells import gtin
from kitting.terms.gtin import check_digit, gtin_fault

DATA = Path(__file__).parent / "data"
with (DATA / "gs1_check_digits.csv").open(encoding="utf-8") as _file:
    NUMBERS = list(csv.DictReader(_file))


@pytest.mark.parametrize("row", NUMBERS, ids=lambda row: row["full_number"])
def test_published_numbers(row):
    """The digit is the one that the source works out; wrong ones are told with the right one."""
    assert check_digit(row["body"]) == int(row["check_digit"])
    fault = gtin_fault(row["full_number"])
    assert (fault == "") == (row["verdict"] == "valid")
    if fault:
        assert f"the check digit {row['check_digit']} of" in fault


def test_the_published_order_has_trade_items_that_are_none():
    """Both numbers of the UBL 2.1 example order are made up: their check digits do not hold."""
    order = etree.parse(DATA / "ubl" / "xml" / "UBL-Order-2.1-Example.xml")
    found = [e.text for e in order.findall(".//cac:StandardItemIdentification/cbc:ID", SPACES)]
    assert found == ["1234567890123", "123452340123"]
    assert all(gtin_fault(number) for number in found)


@given(st.text("0123456789", min_size=7, max_size=13).filter(lambda t: len(t) not in (8, 9, 10)))
def test_one_wrong_digit_is_always_found(body):
    """The weights 3 and 1 share no factor with ten, so that no single slip goes unseen."""
    number = body + str(check_digit(body))
    assert gtin_fault(number) == ""
    for place, digit in enumerate(number):
        slip = number[:place] + str((int(digit) + 1) % 10) + number[place + 1 :]
        assert gtin_fault(slip)


@pytest.mark.parametrize(
    ("cell", "read"),
    [
        ("6291041500213", "6291041500213"),
        ("6 291041 500213", "6291041500213"),
        (6291041500213.0, "6291041500213"),
        ("0-36000-29145-2", "036000291452"),
    ],
)
def test_how_it_may_be_written(cell, read):
    """As printed, with spaces or dashes, or as the number that a spreadsheet made of it."""
    assert gtin(cell) == read


@pytest.mark.parametrize(
    ("cell", "says"),
    [
        ("6291041500214", "does not end in the check digit 3"),
        (36000291452.0, "has 11 digits, and a GTIN has 8, 12, 13 or 14; if leading zeros"),
        ("62910A1500213", "is not a GTIN"),
        ("٦٢٩١٠٤١٥٠٠٢١٣", "is not a GTIN"),
    ],
)
def test_what_is_refused(cell, says):
    """A wrong digit, a lost zero, a letter, digits that no scanner prints."""
    with pytest.raises(ValueError, match=says):
        gtin(cell)

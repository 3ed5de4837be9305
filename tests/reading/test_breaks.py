"""Price breaks that cross are told on reading, with the row that is odd."""

from __future__ import annotations

import pytest

HEAD = "supplier,part,pack,from_packs,price,lead_days,valid_to,per\n"


@pytest.mark.parametrize(
    ("rows", "says"),
    [
        ("1,,4.20,2,,\n1,10,5.00,2,,", "row 3, price: from 10 packs the price is higher"),
        ("1,10,5.00,2,,\n1,,4.20,2,,", "row 2, price: from 10 packs the price is higher"),
        ("1,,4.20,2,,\n1,1,4.10,2,,", "row 3, price: two prices hold from 1 pack;"),
        ("1,,4.20,2,,\n1,10,3.90,2,,", ""),  # lower, as breaks are
        ("1,,4.20,2,,\n1,10,4.20,2,,", ""),
        ("1,,4.20,2,,\n10,,38.00,2,,", ""),  # packs of another size
        ("1,,4.20,5,,\n1,10,5.00,1,,", ""),  # by express
        ("1,,4.20,2,2026-03-31,\n1,,4.60,2,2026-12-31,", ""),  # the next price list
        ("1,,4.20,2,,\n1,10,,2,,", ""),  # not known yet
        ("1,,4.20,2,,1\n1,10,8.00,2,,2", ""),  # for two
    ],
)
def test_a_break_lowers_the_price(told, rows, says):
    """Rows are alike but for the packs from which their price holds."""
    offers = HEAD + "".join(f"S,0012,{row}\n" for row in rows.split("\n"))
    found = [f for f in told(offers=offers, suppliers="supplier\nS\n") if f.startswith("warn")]
    assert [f for f in found if "price" in f] == ([f for f in found if says in f] if says else [])
    assert bool(found) is bool(says)

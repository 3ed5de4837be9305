"""The three-way match: what was asked, what came, what is charged."""

from __future__ import annotations

import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kitting.dealings import matched, order_states
from kitting.tables.shop import BY_NAME, empty_shop


def frame(sheet, rows):
    """Return a contract's frame from rows that name the columns they fill."""
    table = BY_NAME[sheet]
    blanks = {"text": "", "whole": 0, "real": 0.0, "yes or no": False}
    full = [{c.name: row.get(c.name, blanks.get(c.kind)) for c in table.columns} for row in rows]
    return table.conform(pd.DataFrame(full, columns=table.names)) if rows else table.empty()


def shop(receipts=(), invoices=(), **line):
    """Return a shop with an order of ten at 41.00 for line 1 and three at 9.99 for line 2."""
    base = {"order": "K1", "supplier": "s", "unit": "piece", "ordered": "2026-03-02"}
    orders = [
        {**base, "line": 1, "part": "P", "quantity": 10, "price": 4100, **line},
        {**base, "line": 2, "part": "Q", "quantity": 3, "price": 999},
    ]
    came = [
        {"receipt": f"R{i}", "order": "K1", "unit": "piece", "received": "2026-03-05", **r}
        for i, r in enumerate(receipts)
    ]
    asked = [{"invoice": "I1", "order": "K1", "unit": "piece", **r} for r in invoices]
    return empty_shop().replaced(
        orders=frame("orders", orders),
        receipts=frame("receipts", came),
        invoices=frame("invoices", asked),
    )


ALL_CAME = ({"line": 1, "part": "P", "quantity": 10}, {"line": 2, "part": "Q", "quantity": 3})
ALL_ASKED = (
    {"line": 1, "part": "P", "quantity": 10, "amount": 4100},
    {"part": "Q", "quantity": 3, "amount": 999},
)


def differences(shop, invoice=None):
    """Return what does not agree, by part."""
    found = matched(shop, invoice)
    return list(zip(found["part"], found["difference"], strict=True))


def test_all_agrees():
    """Asked, came and charged alike: nothing differs, by line or by part."""
    assert differences(shop(ALL_CAME, ALL_ASKED)) == [("P", ""), ("Q", "")]


@pytest.mark.parametrize(
    ("receipts", "invoice", "said"),
    [
        (ALL_CAME[:1], ALL_ASKED[1], "more than came"),
        (ALL_CAME, {"line": 2, "part": "Q", "quantity": 4, "amount": 1332}, "more than ordered"),
        (ALL_CAME, {"line": 2, "part": "Q", "quantity": 3, "amount": 1050}, "0.51 dearer than"),
        (ALL_CAME, {"line": 2, "part": "Q", "quantity": 3, "amount": 900}, "0.99 cheaper than"),
        (ALL_CAME, {"line": 2, "part": "X", "quantity": 3, "amount": 999}, "order asks for Q"),
        (ALL_CAME, {"line": 9, "part": "Q", "quantity": 3, "amount": 999}, "no line of our orders"),
        (ALL_CAME, {"part": "FREIGHT", "quantity": 1, "amount": 500}, "no line of our orders"),
        (ALL_CAME, {"order": "K9", "part": "Q", "quantity": 3, "amount": 1}, "no line of our"),
    ],
)
def test_each_difference_is_told(receipts, invoice, said):
    """Each way in which a line may be wrong is told in words."""
    told = differences(shop(receipts, [ALL_ASKED[0], invoice]))
    assert any(said in what for part, what in told if part == invoice["part"]), told


TOWN = {"supplier": "s", "freight": 850, "free_freight_above": 20_000, "hazard_charge": 600}
PACK_OF_FIVE = {"supplier": "s", "part": "P", "pack": 5, "core_deposit": 3000}


def agreed(invoices, of=TOWN, offers=(PACK_OF_FIVE,), settings=(), **line):
    """Return what does not agree of charges, with the supplier's terms known and all come."""
    held = shop(ALL_CAME, [*ALL_ASKED, *({"quantity": 1, **i} for i in invoices)], **line)
    parts = [{"part": "P", "hazard": "aerosol"}, {"part": "Q"}]
    known = {"suppliers": [of] if of else [], "offers": offers, "parts": parts, "shop": settings}
    held = held.replaced(**{name: frame(name, rows) for name, rows in known.items()})
    return [said for _, said in differences(held)][2:]


@pytest.mark.parametrize(
    ("part", "amount", "said"),
    [
        ("Freight", 850, ""),
        ("freight", 900, "0.50 dearer than agreed"),
        ("freight", 500, "3.50 cheaper than agreed"),
        ("hazard charge", 600, ""),
        ("Hazard  Charge", 1200, "6.00 dearer than agreed"),
        ("deposit", 6000, ""),
        ("deposit P", 6000, ""),
        ("deposit Q", 100, "no deposit is agreed"),
        ("deposit", 5000, "10.00 cheaper than agreed"),
    ],
)
def test_charges_are_held_against_what_the_sheets_say(part, amount, said):
    """Two packs of five with a deposit of 30.00 each; goods are below what makes freight free."""
    assert agreed([{"part": part, "amount": amount, "quantity": 10}]) == [said]


def test_freight_goes_by_the_goods_of_the_order():
    """Free from a value, by steps that are told, and nothing known of the supplier."""
    charge = [{"part": "freight", "amount": 850}]
    assert agreed(charge, {**TOWN, "free_freight_above": 5000}) == ["no freight is agreed"]
    told = [{"setting": "freight steps s", "value": "0=12; 50=4"}]
    assert agreed(charge, settings=told) == ["4.50 dearer than agreed"]
    assert agreed(charge, None) == ["no line of our orders asks for it"]


def test_a_charge_is_asked_for_once():
    """On a later invoice, in parts, and a deposit that stood in the price of its line."""
    again = [{"part": "freight", "amount": 850, "invoice": f"I{n}"} for n in (1, 2)]
    assert agreed(again) == ["", "charged before"]
    halves = [{"part": "freight", "amount": n, "invoice": f"I{n}"} for n in (400, 450)]
    assert agreed(halves)[1] == ""
    both = [{"part": part, "amount": 6000, "quantity": 10} for part in ("deposit", "deposit P")]
    assert agreed(both) == ["", "charged before"]
    assert agreed(both[::-1]) == ["", "charged before"]


def test_a_deposit_in_the_price_of_its_line_is_no_difference():
    """41.00 of goods and 60.00 of deposit; only once, and only to the cent."""
    held = shop(ALL_CAME, [{**ALL_ASKED[0], "amount": 10_100}, ALL_ASKED[1]])
    known = held.replaced(
        suppliers=frame("suppliers", [TOWN]), offers=frame("offers", [PACK_OF_FIVE])
    )
    assert differences(known) == [("P", ""), ("Q", "")]
    assert differences(held)[0] == ("P", "60.00 dearer than ordered")
    twice = known.replaced(
        invoices=frame(
            "invoices",
            [
                {"invoice": "I1", "order": "K1", "part": p, "quantity": 10, "amount": n}
                for p, n in (("P", 10_100), ("deposit P", 6000))
            ],
        )
    )
    assert dict(differences(twice))["deposit P"] == "charged before"


def test_a_part_that_is_called_freight_is_a_part():
    """What an order asks for goes before the words of charges."""
    held = shop([{"line": 1, "part": "freight", "quantity": 10}],
                [{"part": "freight", "quantity": 10, "amount": 4100}], part="freight")  # fmt: skip
    assert differences(held)[0] == ("freight", "")


def test_what_was_charged_before_is_told():
    """The same goods charged twice, on the same invoice or a later one."""
    twice = [{**ALL_ASKED[0], "dated": "2026-03-06"}]
    twice.append({**ALL_ASKED[0], "invoice": "I2", "dated": "2026-03-20"})
    held = shop(ALL_CAME, twice)
    assert differences(held, "I1")[0] == ("P", "")
    assert differences(held, "I2")[0][1].startswith("charged before")


def test_what_came_and_is_not_charged_is_told():
    """A line of the invoice's order that came and that nobody charges."""
    assert differences(shop(ALL_CAME, ALL_ASKED[:1])) == [
        ("P", ""),
        ("Q", "came, and no invoice charges it"),
    ]


def test_a_line_called_off():
    """Charged although it was called off and nothing came."""
    told = dict(differences(shop(ALL_CAME[1:], ALL_ASKED, cancelled="2026-03-04")))
    assert "the line was called off" in told["P"]
    assert "more than came" in told["P"]


@settings(max_examples=60, deadline=None)
@given(
    parts=st.lists(st.integers(1, 9), min_size=1, max_size=4),
    came=st.integers(0, 12),
    price=st.integers(0, 10**6),
)
def test_shares_of_a_line_cost_what_the_line_costs(parts, came, price):
    """A line that came is charged in parts, each at its share: only what did not come is told."""
    whole = sum(parts)
    asked = [
        {"invoice": f"I{i}", "line": 1, "part": "P", "quantity": n,
         "amount": (2 * price * n + whole) // (2 * whole), "dated": f"2026-03-{i + 1:02d}"}
        for i, n in enumerate(parts)
    ]  # fmt: skip
    receipts = [{"line": 1, "part": "P", "quantity": came}] if came else []
    held = shop(receipts, asked, quantity=whole, price=price)
    told = matched(held)
    told = told[told["part"] == "P"]
    assert (told["difference"] == "").sum() == sum(
        sum(parts[: i + 1]) <= came for i in range(len(parts))
    )
    state = order_states(held).iloc[0]
    assert state["owed"] == max(0, whole - came)
    assert state["state"] == ("closed" if came >= whole else "part received" if came else "sent")

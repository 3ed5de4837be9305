"""Deposits on old parts: what of them counts as cost, by whose word, and what is said of it."""

from __future__ import annotations

import pytest
from sourcing.shops import TODAY, days, frame, shop, short

from kitting.sourcing import compare
from kitting.sourcing.cores import ENOUGH, read_cores
from kitting.tables.dealings import CLAIMS

TOWN, FAR = {"supplier": "Town"}, {"supplier": "Far"}
EXCHANGE = {"supplier": "Town", "part": "pump", "price": 10_000, "core_deposit": 4000}
NEW = {"supplier": "Far", "part": "pump", "price": 12_500}
TERMS = ("goods", "freight", "hazard", "filling", "deposits", "waiting", "handling")


def ended(accepted, scrapped=0, still=0):
    """Return claims on old parts that ended so."""
    rows = []
    for number in range(accepted + scrapped + still):
        events = ["opened", "sent back", "settled"]
        if number >= accepted:
            events = ["opened", "scrapped", "settled"]
        if number >= accepted + scrapped:
            events = ["opened", "sent back"]
        rows += [{"claim": f"C{number}", "what": "core", "event": event} for event in events]
    return [*rows, {"claim": "D1", "what": "damaged", "event": "settled"}]


def chosen(percent="", claims=(), offers=(EXCHANGE, NEW)):
    """Return the balanced answer for two pumps: its row, its supplier, and what is said."""
    of = shop([TOWN, FAR], list(offers), {"core_return_percent": percent})
    of = of.replaced(claims=frame(CLAIMS, list(claims)))
    found = compare(of, short(("pump", 2, 9)), days(of), TODAY)
    bought = found.bought("balanced")
    row = found.answers.set_index("answer").loc["balanced"]
    return row, bought.buys["supplier"].item(), [f.message for f in bought.findings]


@pytest.mark.parametrize(
    ("percent", "claims", "supplier", "back"),
    [
        ("", (), "Far", None),  # the whole deposit counts: 140.00 against 125.00
        ("37", (), "Far", None),  # 125.20
        ("38", (), "Town", 3040),  # 124.80
        ("100 %", (), "Town", 8000),
        ("", ended(ENOUGH - 1), "Far", None),  # one too few to learn from
        ("", ended(ENOUGH), "Town", 8000),
        ("", ended(4, 6, 9), "Town", 3200),
        ("", ended(3, 7), "Far", None),
        ("0", ended(50), "Far", None),  # what the shop says goes before what it did
    ],
)
def test_what_is_not_expected_back_counts_as_the_price_does(percent, claims, supplier, back):
    """The exchange pump is dearer by its lost deposit; all terms add up to the total."""
    row, who, _ = chosen(percent, claims)
    assert who == supplier
    assert row["deposits"] == (0 if back is None else 8000)
    assert row["deposits_back"] == (back or 0)
    assert row["total"] == sum(row[term] for term in TERMS) - row["deposits_back"]


def test_whose_word_it_goes_by_is_said():
    """The setting, the record, or nobody: then it is asked for. Without a deposit nothing is."""
    only = (EXCHANGE,)
    assert "38 of 100 old parts are counted as coming back" in chosen("38", offers=only)[2][0]
    told = chosen("", ended(9, 3), only)[2][0]
    assert "9 of the 12 old parts whose end is known were accepted, so 75 of 100" in told
    (asked,) = chosen("", offers=only)[2]
    assert asked.startswith("deposits on pump: nobody said how many old parts come back accepted")
    assert '"core_return_percent"' in asked
    assert chosen("", offers=(NEW,))[2] == []


def test_a_share_that_cannot_be_read_is_told():
    """The whole deposit counts then, as when nobody said."""
    cores, faults = read_cores(shop([TOWN], [], {"core_return_percent": "most"}))
    assert (cores.percent, cores.said) == (0, False)
    assert faults == ['setting "core_return_percent": "most" is not a whole number from 0 to 100']
    assert any("is not a whole number from 0 to 100" in said for said in chosen("most")[2])


def test_price_breaks_are_weighed_with_their_deposits():
    """Five at 20.00 less each cost less than four, but not with a deposit lost on the fifth."""
    breaks = [{**NEW, "price": 10_000}, {**NEW, "price": 7_900, "from_packs": 5}]
    held = [{**offer, "core_deposit": 1_000} for offer in breaks]
    bought = []
    for offers in (breaks, held):
        of = shop([FAR], offers, {"core_return_percent": "40"})
        found = compare(of, short(("pump", 4, 9)), days(of), TODAY).bought("balanced")
        bought.append(found.buys["packs"].tolist())
    assert bought == [[5], [4]]


@pytest.mark.parametrize(("deposit", "bought"), [(0, ["kit"]), (799, ["kit"]), (801, [*"ab"])])
def test_what_several_parts_share_is_weighed_with_its_deposit(deposit, bought):
    """A kit of both parts saves 8.00, until its lost deposit is more."""
    offers = [{"supplier": "Town", "part": part, "price": 900} for part in "ab"]
    kit = {"supplier": "Town", "part": "kit", "price": 1_000, "core_deposit": deposit}
    sets = [{"set": "kit", "part": part, "quantity": 1, "fits": "needed"} for part in "ab"]
    of = shop([TOWN], [*offers, kit], sets=sets)
    found = compare(of, short(("a", 1, 9), ("b", 1, 9)), days(of), TODAY)
    for aim in ("least cost", "balanced", "earliest"):
        assert found.bought(aim).buys["part"].tolist() == bought

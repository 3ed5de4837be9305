"""An order's life: facts with their day, claims and what comes of them, boxes, new numbers."""

from __future__ import annotations

import shutil
import sqlite3
from contextlib import closing
from datetime import date

import pandas as pd
import pytest

from kitting import records
from kitting.dealings import order_states
from kitting.errors import InputError, UnknownName
from kitting.records import Amendment, Answer, Arrival, Box, Claim

DAY, NEXT, LATER = date(2026, 3, 9), date(2026, 3, 10), date(2026, 4, 1)


def state(shop, line=1, order="K0001"):
    """Return the state of an order line as a dict."""
    frame = order_states(records.snapshot(shop))
    (row,) = frame[(frame["order"] == order) & (frame["line"] == line)].to_dict("records")
    return row


def facts(shop, line=1, order="K0001"):
    """Return what happened to an order line, with its day."""
    frame = records.snapshot(shop)["order_facts"]
    mine = frame[(frame["order"] == order) & (frame["line"] == line)]
    return list(zip(mine["what"], mine["day"].dt.date, strict=True))


def test_each_change_is_a_fact_with_its_day(shop):
    """Sent, promised again, dearer, called off, standing again: the row is the last fact."""
    records.amend(shop, Amendment("K0001", NEXT, 1, promised=LATER, reason="phoned", by="jo"))
    records.amend(shop, Amendment("K0001", NEXT, 1, price=1250))
    records.amend(shop, Amendment("K0001", LATER, 1, cancelled=True))
    assert state(shop)["state"] == "cancelled"
    assert (state(shop)["owed"], state(shop)["since"]) == (0, pd.Timestamp(LATER))
    records.amend(shop, Amendment("K0001", LATER, 1, stands=True))
    now = state(shop)
    assert (now["state"], now["price"], now["owed"]) == ("promised", 1250, 4)
    assert now["promised"] == pd.Timestamp(LATER)
    assert now["first_promised"] == pd.Timestamp("2026-03-12"), "the first promise is kept"
    assert facts(shop) == [
        ("sent", date(2026, 3, 1)),
        ("promised", NEXT),
        ("priced", NEXT),
        ("called off", LATER),
        ("stands", LATER),
    ]


def test_a_whole_order_is_promised_and_called_off(shop):
    """Without a line, every line that stands is meant."""
    records.amend(shop, Amendment("K0001", NEXT, 2, cancelled=True))
    assert records.amend(shop, Amendment("K0001", NEXT, promised=LATER)) == [1, 3]
    assert records.amend(shop, Amendment("K0001", NEXT, cancelled=True)) == [1, 3]


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (Amendment("K0001", DAY, 1), "say what changed"),
        (Amendment("K0001", DAY, 1, cancelled=True, stands=True), "at once"),
        (Amendment("K0001", DAY, 1, price=-1), "below zero"),
        (Amendment("K0001", DAY, price=1), "say of which"),
        (Amendment("K0001", DAY, 1, sent=True), "was sent on 2026-03-01 already"),
        (Amendment("K0001", DAY, 1, stands=True), "is so already"),
        (Amendment("K0001", DAY, 9, cancelled=True), "has no line 9"),
        (Amendment("K0009", DAY, cancelled=True), "nearest: K0001"),
        (Amendment("K0001", DAY, 1, cancelled=True, reason="\0"), "cannot be kept"),
    ],
)
def test_what_does_not_fit_is_refused(shop, change, said):
    """A refused change leaves no fact."""
    before = facts(shop)
    with pytest.raises((InputError, UnknownName), match=said):
        records.amend(shop, change)
    assert facts(shop) == before


def test_a_draft_is_not_coming_until_it_is_sent(shop, sheets):
    """A drafted order is no order yet; sent, it is one from that day."""
    new = sheets["orders"].assign(order="K0002")
    records.add_orders(shop, new, drafted=DAY)
    assert set(records.snapshot(shop)["orders"]["order"]) == {"K0001"}
    assert records.drafts(shop) == [("K0002", "town")]
    with pytest.raises(InputError, match="was never sent"):
        records.amend(shop, Amendment("K0002", NEXT, 1, promised=LATER))
    with pytest.raises(InputError, match="already ordered"):
        records.add_orders(shop, new)
    assert records.amend(shop, Amendment("K0002", NEXT, sent=True)) == [1, 2, 3]
    orders = records.snapshot(shop)["orders"].set_index("order")
    assert (orders.loc["K0002", "ordered"] == pd.Timestamp(NEXT)).all()
    assert facts(shop, 1, "K0002") == [("drafted", DAY), ("sent", NEXT)]
    assert records.drafts(shop) == []


def test_a_back_order_is_a_line_of_its_own(shop, sheets, make):
    """What is still to come is split off with its price and packs, promised for another day."""
    priced = sheets["orders"].assign(
        order="K0002", price=pd.array([1001, 1, None], "Int64"), packs=pd.array([2, 3, 1], "Int64")
    )
    records.add_orders(shop, priced)
    records.receive(shop, Arrival("K0002", 1, "A1", DAY, line=1))
    change = Amendment("K0002", NEXT, 1, promised=LATER, by="jo")
    with pytest.raises(InputError, match="3 is still to come"):
        records.split(shop, change, 4)
    assert records.split(shop, change, 2) == 4
    old, new = state(shop, 1, "K0002"), state(shop, 4, "K0002")
    assert (old["quantity"], old["price"], old["owed"]) == (2, 500, 1)
    assert (new["quantity"], new["price"], new["owed"]) == (2, 501, 2)
    assert new["promised"] == pd.Timestamp(LATER)
    packs = records.snapshot(shop)["orders"].set_index(["order", "line"])["packs"]
    assert (packs["K0002", 1], packs["K0002", 4]) == (1, 1)
    with pytest.raises(InputError, match="amend the line itself"):
        records.split(shop, Amendment("K0002", NEXT, 2), 10)


def test_a_sheet_may_bring_a_later_promise(shop, sheets):
    """The days and prices of a sheet that say something new are taken; the rest is kept."""
    said = sheets["orders"]
    late = said.assign(promised=said["promised"].where(said["line"] != 1, pd.Timestamp(LATER)))
    dearer = late.assign(price=pd.array([900, None, None], "Int64"), part="OTHER")
    tried = records.changes(shop, {"orders": dearer})
    done = records.apply(shop, {"orders": dearer}, NEXT, "jo")
    assert tried.equals(done)
    changed = done[done["change"] == "changed"]
    assert changed["row"].tolist() == ["K0001, 1"]
    assert "promised: 2026-03-12 -> 2026-04-01" in changed["detail"].iloc[0]
    kept = done[done["change"] == "kept"]
    assert kept["detail"].tolist() == [
        "part: 0012 -> OTHER",
        "part: 1E5 -> OTHER",
        "part: 1E5 -> OTHER",
    ]
    assert facts(shop)[1:] == [("priced", NEXT), ("promised", NEXT)]
    assert state(shop)["part"] == "0012"
    assert state(shop)["first_promised"] == pd.Timestamp("2026-03-12")


def test_reading_an_old_sheet_again_undoes_nothing(shop, sheets):
    """What was noted since stays, until the sheet itself says something new."""
    records.amend(shop, Amendment("K0001", NEXT, 1, promised=LATER))
    records.amend(shop, Amendment("K0001", NEXT, 2, cancelled=True))
    for _again in range(2):
        told = records.apply(shop, {"orders": sheets["orders"]}, NEXT)
        assert set(told["change"]) == {"kept"}
        assert state(shop)["promised"] == pd.Timestamp(LATER)
        assert state(shop, 2)["state"] == "cancelled"
    now = records.snapshot(shop)["orders"]
    records.apply(shop, {"orders": now}, NEXT)
    records.amend(shop, Amendment("K0001", NEXT, 1, promised=DAY))
    records.apply(shop, {"orders": now}, NEXT)
    assert state(shop)["promised"] == pd.Timestamp(DAY), "the same sheet again is no news"
    stands = now.assign(cancelled=pd.Series([pd.NaT] * 3, dtype="datetime64[s]"))
    records.apply(shop, {"orders": stands}, NEXT)
    assert state(shop, 2)["state"] == "promised"


def test_damaged_goods_are_neither_stock_nor_received(shop, shelf):
    """They wait to go back under the claim's number; the line stays open for them."""
    before = shelf(shop)
    made = records.claim(shop, Claim("K0001", 1, "damaged", 3, DAY, due=LATER, by="jo"))
    assert (made.claim, made.next, made.part, made.unit) == ("C0001", "replace", "0012", "piece")
    assert shelf(shop) == before
    assert (state(shop)["come"], state(shop)["owed"], state(shop)["claims"]) == (0, 4, 1)
    with pytest.raises(InputError, match="is still here"):
        records.answer(shop, Answer("C0001", "settled", NEXT))
    records.answer(shop, Answer("C0001", "sent back", NEXT))
    with pytest.raises(InputError, match="sent back on 2026-03-10 already"):
        records.answer(shop, Answer("C0001", "scrapped", NEXT))
    done = records.answer(shop, Answer("C0001", "settled", LATER, note="replaced"))
    assert not done.open
    assert (done.due, done.note) == (LATER, "replaced")
    with pytest.raises(InputError, match="was settled on"):
        records.answer(shop, Answer("C0001", "sent back", LATER))
    assert state(shop)["claims"] == 0
    assert [c.event for c in records.claims(shop)] == ["settled"]


def test_damaged_goods_may_be_kept_after_all(shop, shelf):
    """Kept, they are received into a bin like any others."""
    records.claim(shop, Claim("K0001", 1, "damaged", 3, DAY))
    with pytest.raises(InputError, match="a bin that you name"):
        records.answer(shop, Answer("C0001", "kept", NEXT))
    records.answer(shop, Answer("C0001", "kept", NEXT, place="A1"))
    assert shelf(shop)[("0012", "", "A1", "")] == 6
    assert (state(shop)["come"], state(shop)["owed"]) == (3, 1)


def test_a_credit_calls_off_that_much_of_the_line(shop):
    """Nothing more is owed of it, so that it is ordered again where it is needed."""
    records.receive(shop, Arrival("K0001", 1, "A1", DAY, line=1))
    records.claim(shop, Claim("K0001", 1, "damaged", 2, DAY, next="credit"))
    assert (state(shop)["quantity"], state(shop)["owed"]) == (2, 1)
    assert (state(shop, 4)["quantity"], state(shop, 4)["state"]) == (2, "cancelled")
    records.claim(shop, Claim("K0001", 2, "short", 10, DAY, next="credit"))
    assert state(shop, 2)["state"] == "cancelled"


def test_wrong_goods_over_and_cores(shop, shelf):
    """Wrong goods carry their own number, what came over goes back, a core is owed by a day."""
    before = shelf(shop)
    records.claim(shop, Claim("K0001", 1, "wrong", 4, DAY, part="0021", unit="piece"))
    records.claim(shop, Claim("K0001", 1, "over", 2, DAY))
    records.claim(shop, Claim("K0001", 3, "core", 5, DAY, due=LATER))
    assert shelf(shop) == before
    assert [(c.part, c.next) for c in records.claims(shop)] == [
        ("0021", "replace"),
        ("0012", "return"),
        ("1E5", "return"),
    ]
    with pytest.raises(InputError, match="only damaged goods or goods beyond"):
        records.answer(shop, Answer("C0001", "kept", NEXT, place="A1"))
    records.answer(shop, Answer("C0001", "scrapped", NEXT))
    records.answer(shop, Answer("C0003", "sent back", NEXT))
    records.answer(shop, Answer("C0003", "settled", NEXT))


@pytest.mark.parametrize(
    ("what", "said"),
    [
        (Claim("K0001", 1, "odd", 1, DAY), "is no claim; say one of short"),
        (Claim("K0001", 1, "short", 1, DAY, next="pray"), "is no claim"),
        (Claim("K0001", 1, "damaged", 0, DAY), "above zero"),
        (Claim("K0001", 9, "damaged", 1, DAY), "no line 9"),
        (Claim("K0001", 1, "damaged", 1, DAY, note="\ud800"), "cannot be kept"),
    ],
)
def test_a_claim_is_refused(shop, what, said):
    """Nothing is written, not even a number is used up."""
    with pytest.raises((InputError, UnknownName), match=said):
        records.claim(shop, what)
    assert records.claims(shop) == []
    with pytest.raises(UnknownName, match="there is no claim"):
        records.answer(shop, Answer("C0001", "settled", DAY))
    assert records.claim(shop, Claim("K0001", 1, "short", 1, DAY)).claim == "C0001"


def test_a_new_number_is_accepted_on_receipt(shop, shelf):
    """Goods lie under the new number, which stands in for the old; the line has come."""
    got = records.receive(shop, Arrival("K0001", 4, "A1", DAY, line=1, came_as="0012-A"))
    assert (got.part, got.open) == ("0012-A", 0)
    assert shelf(shop)[("0012-A", "", "A1", "")] == 4
    assert state(shop)["state"] == "closed"
    now = records.snapshot(shop)
    new = now["parts"].set_index("part").loc["0012-A"]
    assert (new["name"], new["note"]) == ("crank seal", "supersedes 0012")
    (pair,) = now["stand_ins"].to_dict("records")
    assert (pair["part"], pair["stand_in"], pair["kind"]) == ("0012", "0012-A", "supersedes")
    assert records.versions(shop)["reason"].iloc[-1].startswith("0012-A superseded 0012")
    with pytest.raises(InputError, match="cannot have superseded it"):
        records.receive(shop, Arrival("K0001", 1, "A1", DAY, line=2, came_as="OIL"))


def test_a_box_is_compared_with_its_list(shop, make, shelf):
    """The contents take the set's place in its bin, less what was lacking."""
    inside = make(
        "sets",
        {"set": "1E5", "part": "0012", "quantity": 2, "fits": "needed"},
        {"set": "1E5", "part": "OIL", "quantity": 1000, "fits": "left over"},
    )
    records.apply(shop, {"sets": inside}, DAY)
    records.receive(shop, Arrival("K0001", 3, "B2", DAY, line=2, use_by=LATER))
    for lacking, said in (({"9": 1}, "is not listed"), ({"0012": 9}, "more is said")):
        with pytest.raises((InputError, UnknownName), match=said):
            records.open_box(shop, Box("1E5", 2, "B2", NEXT, lacking))
    with pytest.raises(InputError, match="3 at B2"):
        records.open_box(shop, Box("1E5", 4, "B2", NEXT))
    with pytest.raises(UnknownName, match="is no set"):
        records.open_box(shop, Box("0012", 1, "A1", NEXT))
    found = records.open_box(shop, Box("1E5", 2, "B2", NEXT, {"0012": 1}))
    assert found == {"0012": 3, "OIL": 2000}
    there = shelf(shop)
    assert there[("1E5", "", "B2", "E-1")] == 1
    assert there[("0012", "", "B2", "E-1")] == 3
    stock = records.snapshot(shop)["stock"].set_index(["part", "place"])
    assert stock.loc[("0012", "B2"), "use_by"] == pd.Timestamp(LATER)
    assert stock.loc[("OIL", "B2"), "unit"] == "l"


@pytest.mark.parametrize(
    ("tampering", "said"),
    [
        ("UPDATE orders SET promised = '2026-05-05' WHERE line = 1", "line 1 of order K0001 is"),
        ("UPDATE orders SET price = 1 WHERE line = 2", "line 2 of order K0001 is"),
        ("UPDATE orders SET quantity = 1 WHERE line = 3", "line 3 of order K0001 is"),
        ("DROP TRIGGER claims_no_delete; DELETE FROM claims", "claim C0001 should have 0 waiting"),
        (
            "DROP TRIGGER claims_no_update; UPDATE claims SET quantity = 2",
            "claim C0001 does not agree with move",
        ),
    ],
)
def test_prove_finds_what_was_written_past_us(pattern, tmp_path, tampering, said):
    """Orders that are not as their facts say, claims without their goods."""
    file = shutil.copy(pattern, tmp_path / "shop.db")
    with records.open_shop(file) as opened:
        records.claim(opened, Claim("K0001", 1, "damaged", 3, DAY))
        assert records.prove(opened).holds
    with closing(sqlite3.connect(file)) as past:
        past.executescript(tampering)
    with records.open_shop(file) as opened:
        faults = records.prove(opened).faults
    assert any(said in fault for fault in faults), faults


@pytest.mark.parametrize("table", ["order_facts", "claims"])
def test_facts_stay(shop, table):
    """The database itself refuses to change what happened."""
    from kitting.errors import TableError

    records.claim(shop, Claim("K0001", 1, "short", 1, DAY))
    for change in (f"UPDATE {table} SET \"by\" = 'me'", f"DELETE FROM {table}"):
        with pytest.raises(TableError, match=r"stays a fact|never edited"), shop.writing() as hand:
            hand.run(change)

"""An order's life through the command line, on a small shop of its own."""

from __future__ import annotations

import json

import pytest

from kitting import records
from kitting.commands import run

DAY = "2026-03-09"
SHEETS = {
    "parts": "part,name,unit\nSEAL,crank seal,piece\nRING,o-ring,piece\nKIT,seal kit,piece\n",
    "sets": "set,part,quantity\nKIT,SEAL,1\nKIT,RING,4\n",
    "suppliers": "supplier,name,calendar\ntown,Town Seals,every weekday\n",
    "orders": (
        "order,line,supplier,part,quantity,price,ordered,promised\n"
        "K1,1,town,SEAL,10,41.00,2026-03-02,2026-03-12\n"
        "K1,2,town,KIT,2,30.00,2026-03-02,2026-03-12\n"
    ),
}


@pytest.fixture
def kitting(tmp_path, capsys, monkeypatch):
    """Return the command line on a shop that holds one order; its answers as JSON."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "sheets").mkdir()
    for name, text in SHEETS.items():
        (tmp_path / "sheets" / f"{name}.csv").write_text(text)

    def call(*words, code=0, plain=False):
        extra = [] if plain else ["--json"]
        given = [*words, *extra, *(["--on", DAY] if words[0] not in ("prove", "moves") else [])]
        assert run([str(w) for w in given]) == code, capsys.readouterr()
        said = capsys.readouterr()
        return said.out + said.err if plain or code else json.loads(said.out)

    call("read", "sheets")
    return call


def line(kitting, number):
    """Return the state of a line of the order."""
    return kitting("orders", "K1")["lines"][number - 1]


def test_part_damaged_part_short(kitting):
    """Six good, two damaged to be replaced, two short and credited: four facts, two claims."""
    done = kitting("receive", "K1", "SEAL", 6, "--damaged", 2, "--due", "2026-03-20")
    assert [(d.get("quantity"), d.get("what")) for d in done] == [(6, None), (2, "damaged")]
    kitting("receive", "K1", "SEAL", 0, "--short", 2, "--next", "credit")
    assert (line(kitting, 1)["owed"], line(kitting, 1)["state"]) == (2, "part received")
    assert line(kitting, 3)["state"] == "cancelled"
    kitting("claim", "C0001", "sent back")
    kitting("claim", "C0001", "settled")
    kitting("receive", "K1", "SEAL", 2)
    assert line(kitting, 1)["state"] == "closed"
    assert kitting("prove")["holds"]
    told = kitting("claim", "C0001", "settled", code=2)
    assert "was settled" in told


def test_the_rest_is_good(kitting):
    """Without a quantity, what is not damaged or wrong is taken as come."""
    done = kitting("receive", "K1", "SEAL", "--wrong", 3, "--wrong-part", "SEAL-9")
    assert done[0]["quantity"] == 7
    assert (done[1]["part"], done[1]["next"]) == ("SEAL-9", "replace")


def test_a_box_that_is_not_whole(kitting):
    """A set that lacks a ring is opened: its contents are there, the ring is claimed."""
    done = kitting("receive", "K1", "KIT", 2, "--lacks", "RING=1", "--place", "A1")
    assert (done[1]["part"], done[1]["what"]) == ("RING", "short")
    with records.open_shop("shop.db") as shop:
        stock = records.snapshot(shop)["stock"]
    assert dict(zip(stock["part"], stock["quantity"], strict=True)) == {"SEAL": 2, "RING": 7}
    assert kitting("prove")["holds"]


def test_a_new_number_and_a_core(kitting):
    """What came under a new number closes the line; the old part goes back by a day."""
    done = kitting("receive", "K1", "SEAL", 10, "--as", "SEAL-A", "--core-by", "2026-04-30")
    assert done[0]["part"] == "SEAL-A"
    assert (done[1]["what"], done[1]["due"]) == ("core", "2026-04-30")
    assert line(kitting, 1)["state"] == "closed"


def test_a_deposit_opens_the_claim_on_the_old_part_by_itself(kitting, tmp_path):
    """Its day comes from the offer under the order's own number; credited, it is closed."""
    (tmp_path / "sheets" / "offers.csv").write_text(
        "supplier,part,supplier_part,pack,price,lead_days,core_deposit,core_days\n"
        "town,SEAL,,1,4.10,2,0,\ntown,SEAL,X,1,3.10,2,2.00,30\ntown,KIT,,1,15,2,9.50,21\n"
    )
    kitting("read", "sheets")
    first = kitting("receive", "K1")
    assert [(d["part"], d["what"], d["quantity"], d["due"]) for d in first if "claim" in d] == [
        ("KIT", "core", 2, "2026-03-30")
    ]
    told = " ".join(kitting("orders", plain=True).split())
    assert "C0001: 2 pieces of KIT core" in told
    assert "next return by 2026-03-30" in told
    kitting("claim", "C0001", "sent back")
    kitting("claim", "C0001", "settled")
    assert kitting("orders")["claims"] == []
    assert kitting("prove")["holds"]


def test_a_receipt_by_a_slip_takes_its_old_part_with_it(kitting, tmp_path):
    """Of two receipts one is undone: one claim is left, and nobody is asked for the other."""
    (tmp_path / "sheets" / "offers.csv").write_text(
        "supplier,part,pack,price,lead_days,core_deposit,core_days\ntown,SEAL,1,4.10,2,2.00,30\n"
    )
    kitting("read", "sheets")
    for much in (4, 5):
        kitting("receive", "K1", "SEAL", much)
    moves = kitting("moves", "SEAL")
    (slip,) = (m["move"] for m in moves if m["quantity"] == 5)
    told = kitting("reverse", slip, "--reason", "another box", plain=True)
    assert "claim C0002 is withdrawn" in told
    assert [c["claim"] for c in kitting("orders")["claims"]] == ["C0001"]
    assert kitting("prove")["holds"]


def test_of_two_alike_receipts_the_undone_one_takes_its_own_claim(kitting, tmp_path):
    """As many came twice; the first was a slip. What went back for the second is no slip."""
    (tmp_path / "sheets" / "offers.csv").write_text(
        "supplier,part,pack,price,lead_days,core_deposit\ntown,SEAL,1,4.10,2,2.00\n"
    )
    kitting("read", "sheets")
    for due in ("2026-04-01", "2026-05-01"):
        kitting("receive", "K1", "SEAL", 4, "--core-by", due)
    first, second = sorted(m["move"] for m in kitting("moves", "SEAL") if m["quantity"] == 4)
    kitting("reverse", first, "--reason", "another box", plain=True)
    (left,) = kitting("orders")["claims"]
    assert (left["claim"], left["due"]) == ("C0002", "2026-05-01")
    kitting("claim", "C0002", "sent back")
    told = kitting("reverse", second, "--reason", "slip", code=2)
    assert "claim C0002 on its old part was sent back" in " ".join(told.split())
    kitting("claim", "C0002", "scrapped")
    assert kitting("prove")["holds"]


def test_an_old_part_whose_day_nobody_told_is_asked_about(kitting, tmp_path):
    """The day that a person gives goes before the offer's."""
    (tmp_path / "sheets" / "offers.csv").write_text(
        "supplier,part,pack,price,lead_days,core_deposit\ntown,SEAL,1,4.10,2,2.00\n"
    )
    kitting("read", "sheets")
    told = " ".join(kitting("receive", "K1", "SEAL", 4, plain=True).split())
    assert "old: back to the supplier for the deposit; until when is not said: ask" in told
    done = kitting("receive", "K1", "SEAL", 6, "--core-by", "2026-03-12")
    assert done[1]["due"] == "2026-03-12"


def test_charges_on_an_invoice_are_compared_too(kitting, tmp_path):
    """Freight by the supplier's row, the deposit by its offer; goods have a quantity, they none."""
    sheets = tmp_path / "sheets"
    (sheets / "suppliers.csv").write_text("supplier,calendar,freight\ntown,every weekday,8.50\n")
    (sheets / "offers.csv").write_text(
        "supplier,part,pack,price,lead_days,core_deposit\ntown,KIT,1,15,2,9.50\n"
    )
    kitting("read", "sheets")
    kitting("receive", "K1")
    bill = tmp_path / "bill.csv"
    head = "invoice,order,part,quantity,amount\n7,K1,SEAL,10,41\n7,K1,KIT,2,30\n"
    bill.write_text(f"{head}7,K1,freight,1,8.50\n7,K1,deposit KIT,2,19\n")
    told = kitting("invoice", bill, plain=True)
    assert "7: 98.50 for 4 lines, all agrees" in told
    assert "K1 KIT: 2 pieces, 30.00" in told
    assert "K1 freight: 8.50" in told
    bill.write_text(f"{head.replace('7,', '8,')}8,K1,freight,1,9.00\n")
    told = kitting("invoice", bill, "--try", code=1, plain=True)
    assert "charged before" in told


def test_promises_prices_and_back_orders(kitting):
    """Each is a fact with its reason; a line split off has its own promise."""
    kitting("amend", "K1", 1, "--promised", "2026-03-30", "--price", "45.00", "--reason", "phoned")
    assert kitting("amend", "K1", 1, "--split", 4, "--promised", "2026-04-10")["lines"] == [3]
    assert (line(kitting, 1)["price"], line(kitting, 3)["price"]) == (2700, 1800)
    facts = kitting("orders", "K1", "--facts")["facts"]
    assert f"{DAY} K1 line 1: promised to 2026-03-30 (phoned)" in facts
    kitting("amend", "K1", "--call-off")
    assert kitting("orders")["lines"] == []
    assert "nothing was changed" in kitting("amend", "K1", "--call-off", code=2)


def test_an_invoice_is_compared(kitting, tmp_path):
    """Exit 1 and words for what differs; --try keeps nothing; read twice it is the same."""
    kitting("receive", "K1", "SEAL", 8)
    bill = tmp_path / "bill-77.csv"
    bill.write_text("invoice,order,part,quantity,amount\n77,K1,SEAL,10,41.00\n77,K1,KIT,2,30.00\n")
    told = kitting("invoice", bill, "--try", code=1, plain=True)
    assert told.count("more than came") == 2
    assert "no invoices" in kitting("invoice", plain=True)
    kitting("receive", "K1", "SEAL", 2)
    kitting("receive", "K1", "KIT", 2)
    assert "all agrees" in kitting("invoice", bill, plain=True)
    assert "all agrees" in kitting("invoice", bill, plain=True)
    bill.write_text("invoice,order,part,quantity,amount\n78,K1,SEAL,10,x\n")
    assert "bill-77" in kitting("invoice", bill, code=2)


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("receive", "K1", "--damaged", 2), "say which PART"),
        (("receive", "K1", "SEAL", 1, "--damaged", "x"), "quantity"),
        (("receive", "K1", "KIT", 1, "--lacks", "RING"), "write PART=N"),
        (("receive", "K1", "SEAL", 1, "--lacks", "RING=1"), "is no set"),
        (("receive", "K1", "SEAL", 1, "--next", "pray"), "replace"),
        (("orders", "K9"), "nearest"),
        (("amend", "K1", 1), "say what changed"),
        (("amend", "K1", "--split", 2, "--call-off"), "which line"),
        (("claim", "C1", "settled"), "no claim"),
        (("invoice", "--number", "9"), "no invoice"),
    ],
)
def test_what_is_wrong_is_told(kitting, words, said):
    """Wrong use changes nothing and says what to do."""
    before = kitting("orders", "--all")
    assert said in kitting(*words, code=2)
    assert kitting("orders", "--all") == before


def test_drafts_and_sheets_of_no_order_are_told(kitting, tmp_path):
    """Ordering tells what was drafted and not sent, and which sheet no order stands behind."""
    (tmp_path / "more").mkdir()
    (tmp_path / "more" / "stages.csv").write_text("assembly,stage,work_days\nE,s,1\n")
    (tmp_path / "more" / "lines.csv").write_text("assembly,stage,part,quantity\nE,s,RING,40\n")
    (tmp_path / "more" / "builds.csv").write_text("build,assembly,start\nB,E,2026-04-20\n")
    (tmp_path / "more" / "offers.csv").write_text(
        "supplier,part,pack,price,lead_days\ntown,RING,4,2.00,3\n"
    )
    kitting("read", "more")
    kitting("order", "--draft", "--into", "orders", plain=True)
    assert kitting("orders")["drafts"] == [{"order": "K0001", "supplier": "town"}]
    (tmp_path / "orders" / "K0009 town.xlsx").write_bytes(b"PK")
    told = kitting("order", "--try", "--into", "orders", plain=True)
    assert "K0001 to town is a draft, so its parts count as short" in told
    assert "K0009 town.xlsx is of no order" in told
    assert told.count("is of no order") == 1
    kitting("amend", "K0001", "--sent")
    assert "draft" not in kitting("order", "--try", "--into", "other", plain=True)


def test_goods_kept_after_all_take_their_credit_back(kitting):
    """Ten ordered, four came good and three damaged: kept or not, three are still to come."""
    kitting("receive", "K1", "SEAL", 4, "--damaged", 3, "--next", "credit")
    assert (line(kitting, 1)["owed"], line(kitting, 3)["state"]) == (3, "cancelled")
    kitting("claim", "C0001", "kept", "--place", "A1")
    lines = kitting("orders", "K1")["lines"]
    assert sum(n["owed"] for n in lines if n["part"] == "SEAL") == 3
    assert sum(n["come"] for n in lines if n["part"] == "SEAL") == 7
    assert sum(n["quantity"] for n in lines if n["part"] == "SEAL") == 10
    assert kitting("prove")["holds"]


def test_a_line_that_somebody_called_off_since_stays_so(kitting):
    """What a person decided after the credit is not undone by keeping the goods."""
    kitting("receive", "K1", "SEAL", 4, "--damaged", 3, "--next", "credit")
    kitting("amend", "K1", 3, "--stands")
    kitting("amend", "K1", 3, "--call-off", "--reason", "no more wanted")
    kitting("claim", "C0001", "kept", "--place", "A1")
    assert line(kitting, 3)["state"] == "cancelled"


def test_a_claim_by_a_slip_is_withdrawn_with_its_move(kitting):
    """Undoing the move leaves no claim that nobody can close, and no credit."""
    kitting("receive", "K1", "SEAL", 4, "--damaged", 3, "--next", "credit")
    (goods,) = [m for m in kitting_moves(kitting) if m["to_place"] == "outside: claim"]
    told = kitting("reverse", goods["move"], "--reason", "miscounted")
    assert told["claims"] == {"C0001": "withdrawn"}
    assert kitting("prove")["holds"]
    lines = kitting("orders", "K1")["lines"]
    assert [(n["quantity"], n["owed"]) for n in lines if n["part"] == "SEAL"] == [(7, 3), (3, 3)]
    assert kitting("orders", "K1")["lines"][0]["claims"] == 0
    kitting("claim", "C0001", "settled", code=2)


def test_goods_that_did_not_go_back_are_here_again(kitting):
    """The claim is open again, until it is closed: then its goods cannot come back."""
    kitting("receive", "K1", "SEAL", 4, "--damaged", 3)
    kitting("claim", "C0001", "sent back")
    sent = kitting_moves(kitting)[-1]["move"]
    assert kitting("reverse", sent, "--reason", "still here")["claims"] == {"C0001": "opened"}
    assert kitting("prove")["holds"]
    kitting("claim", "C0001", "sent back")
    kitting("claim", "C0001", "settled")
    sent = kitting_moves(kitting)[-1]["move"]
    assert "was settled" in kitting("reverse", sent, "--reason", "still here", code=2)
    assert kitting("prove")["holds"]


def kitting_moves(kitting):
    """Return the moves of the seal, as the command lists them."""
    with records.open_shop("shop.db", read_only=True) as shop:
        return records.moves(shop, "SEAL").to_dict("records")

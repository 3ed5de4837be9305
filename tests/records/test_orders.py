"""Orders, receipts, counts, reversals and forgotten parts."""

from __future__ import annotations

from datetime import date

import pandas as pd
import pytest

from kitting import records
from kitting.errors import InputError, UnknownName
from kitting.records import Arrival, Count, Forgotten

DAY, NEXT = date(2026, 3, 9), date(2026, 3, 10)
SEAL = ("0012", "", "A1", "")


def test_receiving_writes_receipt_and_move(shop, shelf):
    """Goods go onto the shelf and the receipt says what they answer."""
    got = records.receive(shop, Arrival("K0001", 3, "A1", NEXT, part="0012", by="jo", note="box"))
    assert (got.receipt, got.line, got.part, got.ordered) == ("R0001", 1, "0012", 4)
    assert (got.before, got.open, got.over, got.cancelled) == (0, 1, 0, False)
    assert (got.move.from_place, got.move.to_place) == ("outside: supplier", "A1")
    assert (got.move.by, got.move.order, got.move.day) == ("jo", "K0001", NEXT)
    assert shelf(shop)[SEAL] == 6
    (row,) = records.snapshot(shop)["receipts"].to_dict("records")
    assert (row["receipt"], row["order"], row["line"], row["note"]) == ("R0001", "K0001", 1, "box")


def test_more_than_ordered_is_told(shop):
    """What comes beyond the order is received, and told each time."""
    assert records.receive(shop, Arrival("K0001", 3, "A1", DAY, line=1)).over == 0
    second = records.receive(shop, Arrival("K0001", 3, "A1", DAY, line=1))
    assert (second.before, second.over, second.open) == (3, 2, 0)
    assert records.receive(shop, Arrival("K0001", 1, "A1", DAY, line=1)).over == 1


def test_goods_for_a_build_are_held_for_it(shop, shelf):
    """What was ordered for a build is not offered to another."""
    records.receive(shop, Arrival("K0001", 10, "B2", DAY, line=2))
    records.receive(shop, Arrival("K0001", 5, "B2", DAY, line=3))
    held = shelf(shop)
    assert held[("1E5", "", "B2", "E-1")] == 10
    assert held[("1E5", "", "B2", "")] == 5


@pytest.mark.parametrize(
    ("there", "comes", "stays"),
    [
        (date(2026, 5, 1), date(2027, 1, 1), "2026-05-01"),  # the sooner of two
        (date(2027, 1, 1), date(2026, 5, 1), "2026-05-01"),
        (None, date(2026, 5, 1), "2026-05-01"),  # the one that is known
        (date(2026, 5, 1), None, "2026-05-01"),
        (None, None, None),
    ],
)
def test_a_mixed_lot_spoils_with_its_sooner_part(shop, there, comes, stays):
    """Goods put to others of the same mark get the sooner use-by; an empty bin forgets it."""
    for use_by in (there, comes):
        records.receive(shop, Arrival("K0001", 1, "C3", DAY, line=1, use_by=use_by))
    kept = records.snapshot(shop)["stock"].set_index("place").loc["C3", "use_by"]
    assert kept == pd.Timestamp(stays) if stays else pd.isna(kept)
    records.count(shop, Count("0012", "C3", 0, DAY))
    records.receive(shop, Arrival("K0001", 1, "C3", DAY, line=1, use_by=date(2030, 1, 1)))
    kept = records.snapshot(shop)["stock"].set_index("place").loc["C3", "use_by"]
    assert kept == pd.Timestamp("2030-01-01")


@pytest.mark.parametrize(
    ("arrival", "kind", "said"),
    [
        (Arrival("K0009", 1, "A1", DAY, line=1), UnknownName, "nearest: K0001"),
        (Arrival("K0001", 1, "A1", DAY, line=7), UnknownName, "no line 7"),
        (Arrival("K0001", 1, "A1", DAY, part="OIL"), UnknownName, r"asks for 0012 \(line 1\)"),
        (Arrival("K0001", 1, "A1", DAY, line=1, part="1E5"), UnknownName, "not for 1E5"),
        (Arrival("K0001", 1, "A1", DAY, part="1E5"), InputError, "lines 2, 3"),
        (Arrival("K0001", 1, "A1", DAY), InputError, "which line or part"),
        (Arrival("K0001", 0, "A1", DAY, line=1), InputError, "give a quantity"),
        (Arrival("K0001", -1, "A1", DAY, line=1), InputError, "give a quantity"),
        (Arrival("K0001", 10**30, "A1", DAY, line=1), InputError, "give a quantity"),
        (Arrival("K0001", 1, "outside: scrap", DAY, line=1), InputError, "name of a bin"),
        (Arrival("K0001", 1, "A1", DAY, line=1, lot="\ud800"), InputError, "cannot be kept"),
        (Arrival("K0001", 1, "A1", DAY, line=1, note="\0"), InputError, "cannot be kept"),
    ],
)
def test_receiving_refuses_what_is_not_clear(shop, shelf, arrival, kind, said):
    """A refused receipt leaves neither receipt nor move, nor a used-up number."""
    before = shelf(shop)
    with pytest.raises(kind, match=said):
        records.receive(shop, arrival)
    assert shelf(shop) == before
    assert records.snapshot(shop)["receipts"].empty
    assert records.receive(shop, Arrival("K0001", 1, "A1", DAY, line=1)).receipt == "R0001"


def test_order_numbers_pass_those_of_sheets(shop, sheets):
    """A new number is one that no sheet brought and nobody got before."""
    assert records.next_order_number(shop) == "K0002"
    assert records.next_order_number(shop) == "K0003"
    assert records.next_order_number(shop, "ENG-") == "ENG-0001"


def test_adding_orders_is_all_or_none(shop, sheets):
    """A line that is there already refuses the whole order."""
    new = sheets["orders"].assign(order=["K0002", "K0002", "K0001"])
    with pytest.raises(InputError, match="already ordered: K0001 line 3"):
        records.add_orders(shop, new)
    assert len(records.snapshot(shop)["orders"]) == 3
    with pytest.raises(InputError, match="K0005 line 1"):
        records.add_orders(shop, sheets["orders"].assign(order="K0005", quantity=[0, 1, 1]))
    records.add_orders(shop, sheets["orders"].assign(order="K0002"))
    assert len(records.snapshot(shop)["orders"]) == 6


def test_number_and_order_in_one_transaction(shop, sheets):
    """Work within one writing block happens in full or not at all."""

    def order_and_fail():
        with shop.writing():
            number = records.next_order_number(shop)
            records.add_orders(shop, sheets["orders"].assign(order=number))
            raise RuntimeError("the order sheet could not be written")

    with pytest.raises(RuntimeError):
        order_and_fail()
    assert len(records.snapshot(shop)["orders"]) == 3
    assert records.next_order_number(shop) == "K0002"


def test_a_count_sets_what_is_there(shop, shelf):
    """Up, down, to nothing, and a bin nobody knew; an agreeing count writes nothing."""
    for quantity, moves in ((5, 1), (5, 0), (1, 1), (0, 1), (0, 0), (2, 1)):
        done = records.count(shop, Count("0012", "A1", quantity, DAY, by="jo"))
        assert len(done.moves) == moves
        assert shelf(shop).get(SEAL, 0) == done.after == quantity
    assert records.count(shop, Count("1E5", "Z9", 4, DAY)).before == 0
    stock = records.snapshot(shop)["stock"].set_index("part")
    assert stock.loc["1E5", ["place", "unit", "quantity"]].tolist() == ["Z9", "piece", 4]


def test_a_count_may_change_the_label(shop):
    """Opening a tin: the same quantity with an opened day."""
    done = records.count(shop, Count("OIL", "F2", 5_000_000, DAY, lot="L7", opened=DAY))
    assert [m.from_place for m in done.moves] == ["F2", "outside: label"]
    row = records.snapshot(shop)["stock"].set_index("part").loc["OIL"]
    assert row["opened"] == pd.Timestamp(DAY)
    assert row["use_by"] == pd.Timestamp("2027-01-01")
    assert row["quantity"] == 5_000_000


@pytest.mark.parametrize(
    ("seen", "kind"),
    [
        (Count("12", "A1", 1, DAY), UnknownName),
        (Count("0012", "A1", -1, DAY), InputError),
        (Count("0012", "A1", 10**16, DAY), InputError),
        (Count("0012", "kit: E-1/bottom", 1, DAY), InputError),
    ],
)
def test_a_count_refuses(shop, shelf, seen, kind):
    """A count that cannot be is refused and changes nothing."""
    before = shelf(shop)
    with pytest.raises(kind):
        records.count(shop, seen)
    assert shelf(shop) == before


def test_a_reversal_undoes_receipt_and_label(shop, shelf):
    """The reversed receipt no longer counts as received and the lot has its old label."""
    records.count(shop, Count("0012", "A1", 3, DAY, use_by=date(2028, 1, 1)))
    before = records.snapshot(shop)
    got = records.receive(shop, Arrival("K0001", 4, "A1", DAY, line=1, use_by=date(2026, 6, 1)))
    undone = records.reverse(shop, got.move.move, "wrong box", day=NEXT, by="jo")
    after = records.snapshot(shop)
    assert undone.reverses == got.move.move
    for name in ("stock", "receipts"):
        pd.testing.assert_frame_equal(before[name], after[name])
    assert records.receive(shop, Arrival("K0001", 4, "A1", DAY, line=1)).before == 0


def test_a_reversal_is_refused(shop):
    """Twice, of a reversal, without a reason, of nothing, or of what is used up."""
    got = records.receive(shop, Arrival("K0001", 4, "A1", DAY, line=1)).move.move
    with pytest.raises(InputError, match="say why"):
        records.reverse(shop, got, " ", day=DAY)
    with pytest.raises(UnknownName, match="no move 999"):
        records.reverse(shop, 999, "why", day=DAY)
    records.count(shop, Count("0012", "A1", 2, DAY))
    with pytest.raises(InputError, match="2 there"):
        records.reverse(shop, got, "wrong box", day=DAY)
    records.count(shop, Count("0012", "A1", 7, DAY))
    undone = records.reverse(shop, got, "wrong box", day=DAY)
    with pytest.raises(InputError, match="reversed before"):
        records.reverse(shop, got, "again", day=DAY)
    with pytest.raises(InputError, match="itself a reversal"):
        records.reverse(shop, undone.move, "again", day=DAY)


def test_forgotten_parts_are_noted(shop):
    """A note gets a number and is in the snapshot; the part may be one nobody lists."""
    note = records.forgot(
        shop,
        Forgotten("E-1", "NEW-1", DAY, stage="bottom", cause="not in the bill", hours_lost=0.5),
    )
    assert note.entry == 1
    assert records.forgot(shop, Forgotten("E-2", "0012", DAY)).entry == 2
    first = records.snapshot(shop)["forgotten"].iloc[0]
    assert first[["build", "part", "cause", "hours_lost"]].tolist() == [
        *("E-1", "NEW-1", "not in the bill", 0.5)
    ]


@pytest.mark.parametrize(
    ("what", "kind", "said"),
    [
        (Forgotten("E-9", "0012", DAY), UnknownName, "nearest: E-"),
        (Forgotten("E-1", "0012", DAY, stage="botom"), UnknownName, "nearest: bottom"),
        (Forgotten("E-1", "0012", DAY, cause="who knows"), InputError, "not in the bill"),
        (Forgotten("E-1", " ", DAY), InputError, "which part"),
        (Forgotten("E-1", "0012", DAY, quantity=0), InputError, "above zero"),
        (Forgotten("E-1", "0012", DAY, note="\0"), InputError, "cannot be kept"),
    ],
)
def test_forgotten_parts_are_refused(shop, what, kind, said):
    """A note that cannot be right is refused with what to write."""
    with pytest.raises(kind, match=said):
        records.forgot(shop, what)
    assert records.snapshot(shop)["forgotten"].empty


def test_as_of_an_earlier_day(shop, shelf):
    """Moves and facts after the day are left out; before the first move, as first counted."""
    records.receive(shop, Arrival("K0001", 4, "A1", NEXT, line=1))
    records.forgot(shop, Forgotten("E-1", "0012", NEXT))
    assert shelf(shop)[SEAL] == shelf(shop, NEXT)[SEAL] == 7
    for day in (DAY, date(2020, 1, 1)):
        assert shelf(shop, day)[SEAL] == 3
        assert records.snapshot(shop, day).check()["receipts"].empty
        assert records.snapshot(shop, day)["forgotten"].empty
    assert records.snapshot(shop, date(2026, 2, 28))["orders"].empty
    assert len(records.snapshot(shop, DAY)["orders"]) == 3


def test_names_of_builds(shop):
    """Builds are named in the order of their sheet."""
    assert records.build_names(shop) == ["E-1", "E-2"]

"""Reading sheets into the shop."""

from __future__ import annotations

from datetime import date

import pandas as pd
import pytest
from pandas.testing import assert_frame_equal

from kitting import records
from kitting.errors import InputError, TableError
from kitting.tables.shop import SHEETS

DAY = date(2026, 3, 9)
SEAL, OIL = ("0012", "", "A1", ""), ("OIL", "L7", "F2", "")


def told(found):
    """Return the changes as tuples."""
    return list(found[["sheet", "change", "row"]].itertuples(index=False, name=None))


def test_reads_every_frame_back_as_it_was(shop, sheets):
    """A snapshot follows the contracts and gives each sheet back, in its order."""
    held = records.snapshot(shop).check()
    for name, frame in sheets.items():
        assert_frame_equal(held[name], frame)
    assert all(len(held[t.name]) == 0 for t in SHEETS if t.name not in sheets)


def test_reading_twice_changes_nothing(shop, sheets):
    """The same sheets again: no change told, no move written, even after stock came and went."""
    records.receive(shop, records.Arrival("K0001", 2, "A1", DAY, line=1))
    records.count(shop, records.Count("OIL", "F2", 1_000_000, DAY, lot="L7"))
    before = records.snapshot(shop)
    assert records.changes(shop, sheets).empty
    assert records.apply(shop, sheets, DAY).empty
    after = records.snapshot(shop)
    for table in SHEETS:
        assert_frame_equal(before[table.name], after[table.name])


def test_try_tells_what_apply_does(shop, sheets, make):
    """``changes`` tells exactly what ``apply`` then returns, and writes nothing."""
    parts = sheets["parts"].copy()
    parts.loc[0, "name"] = "seal, crank"
    new = {"parts": pd.concat([parts.iloc[[0, 2]], make("parts", {"part": "3-4"})])}
    new["parts"] = new["parts"].reset_index(drop=True)
    before = records.changes(shop, new)
    assert told(before) == [
        ("parts", "added", "3-4"),
        ("parts", "changed", "0012"),
        ("parts", "removed", "1E5"),
    ]
    assert before["detail"][1] == "name: crank seal -> seal, crank"
    assert_frame_equal(records.snapshot(shop)["parts"], sheets["parts"])
    assert_frame_equal(records.apply(shop, new, DAY), before)
    assert_frame_equal(records.snapshot(shop)["parts"], new["parts"])


def test_tells_a_new_order_of_rows(shop, sheets):
    """Rows in another order are kept in that order, and that is told."""
    parts = sheets["parts"].iloc[::-1].reset_index(drop=True)
    found = records.apply(shop, {"parts": parts}, DAY)
    assert found["detail"].tolist() == ["the rows are in another order"]
    assert_frame_equal(records.snapshot(shop)["parts"], parts)


def test_line_put_in_between_is_one_addition(shop, sheets, make):
    """Rows that have only a number are compared by what they hold."""
    line = make("lines", {"line": 9, "assembly": "engine", "stage": "bottom", "part": "OIL"})
    lines = pd.concat([sheets["lines"].iloc[:1], line, sheets["lines"].iloc[1:]])
    lines = lines.assign(line=[1, 2, 3]).reset_index(drop=True)
    assert told(records.apply(shop, {"lines": lines}, DAY)) == [
        ("lines", "added", "engine, bottom, OIL")
    ]
    assert_frame_equal(records.snapshot(shop)["lines"], lines)


def test_facts_are_only_added(shop, sheets):
    """An order line that is there stays; one that differs is told as kept; new ones come."""
    orders = sheets["orders"].copy()
    orders.loc[0, "quantity"] = 99
    orders.loc[1, "order"] = "K0002"
    found = records.apply(shop, {"orders": orders}, DAY)
    assert told(found) == [("orders", "added", "K0002, 2"), ("orders", "kept", "K0001, 1")]
    held = records.snapshot(shop)["orders"]
    assert held["order"].tolist() == ["K0001", "K0001", "K0001", "K0002"]
    assert held["quantity"].tolist() == [4, 10, 5, 10]


def test_equal_forgotten_parts_are_counted(shop, make):
    """Two equal rows are two facts; a third in the sheet adds one; fewer remove none."""
    row = {"build": "E-1", "stage": "bottom", "part": "0012", "quantity": 1, "unit": "piece"}
    records.apply(shop, {"forgotten": make("forgotten", {"entry": 1, **row})}, DAY)
    records.forgot(shop, records.Forgotten("E-2", "1E5", DAY))
    three = make("forgotten", *({"entry": n, **row} for n in (1, 2, 3)))
    assert len(records.apply(shop, {"forgotten": three}, DAY)) == 2
    assert records.apply(shop, {"forgotten": three}, DAY).empty
    assert records.apply(shop, {"forgotten": three.iloc[:1]}, DAY).empty
    held = records.snapshot(shop)["forgotten"]
    assert held["entry"].tolist() == [1, 2, 3, 4]
    assert held["part"].tolist() == ["0012", "1E5", "0012", "0012"]


def test_receipts_of_a_sheet_move_no_stock(shop, make, shelf):
    """A receipt in a sheet is history; the shelf is what the stock sheet says."""
    came = make("receipts", {"receipt": "R1", "order": "K0001", "part": "0012", "quantity": 4})
    records.apply(shop, {"receipts": came}, DAY)
    assert shelf(shop)[SEAL] == 3
    assert len(records.snapshot(shop)["receipts"]) == 1


@pytest.mark.parametrize(
    ("edit", "seals"),
    [
        ({}, 5),  # the row of the seal is the same: the two received since stay
        ({"quantity": 4}, 4),  # counted anew: that is what is there
        ({"use_by": "2028-01-01"}, 5),  # a new label only: the two received since stay
        ({"part": "1E5"}, None),  # the seal's row is gone: nothing is there
    ],
)
def test_a_stock_sheet_is_a_count(shop, sheets, shelf, edit, seals):
    """Only rows that differ from the last stock sheet say anything."""
    records.receive(shop, records.Arrival("K0001", 2, "A1", DAY, line=1))
    stock = sheets["stock"].copy()
    for column, value in edit.items():
        stock.loc[0, column] = pd.Timestamp(value) if column == "use_by" else value
    records.apply(shop, {"stock": stock}, DAY)
    held = shelf(shop)
    assert held.get(SEAL) == seals
    assert held[OIL] == 5_000_000
    if "use_by" in edit:
        use_by = records.snapshot(shop)["stock"].set_index("part").loc["0012", "use_by"]
        assert use_by == pd.Timestamp("2028-01-01")


def test_an_empty_stock_sheet_empties_what_it_listed(shop, make, shelf):
    """Lots of the last stock sheet go to zero; lots that no sheet ever listed stay."""
    records.receive(shop, records.Arrival("K0001", 10, "B2", DAY, line=2))
    records.apply(shop, {"stock": make("stock")}, DAY)
    assert shelf(shop) == {("1E5", "", "B2", "E-1"): 10}


def test_a_counted_lot_with_a_new_label_and_quantity(shop, sheets, shelf):
    """Quantity and label may change together, up or down."""
    for quantity, use_by in ((7, "2027-05-05"), (2, "2027-06-06"), (0, "2027-07-07")):
        stock = sheets["stock"].copy()
        stock.loc[0, "quantity"] = quantity
        stock.loc[0, "use_by"] = pd.Timestamp(use_by)
        records.apply(shop, {"stock": stock}, DAY)
        assert shelf(shop).get(SEAL, 0) == quantity
        held = records.snapshot(shop)["stock"].set_index("part")
        if quantity:
            assert held.loc["0012", "use_by"] == pd.Timestamp(use_by)


@pytest.mark.parametrize(
    ("column", "value", "said"),
    [
        ("quantity", -1, "count again"),
        ("quantity", 10**16, "count again"),
        ("place", "outside: count", "cannot be the name of a bin"),
        ("place", "KIT: E-1", "cannot be the name of a bin"),
        ("lot", "a\0b", "cannot be kept"),
    ],
)
def test_a_bad_stock_row_changes_nothing(shop, sheets, make, column, value, said):
    """A row that cannot be counted is refused by try and by apply, and no sheet is read."""
    stock = sheets["stock"].copy()
    stock.loc[1, column] = value
    new = {"parts": make("parts"), "stock": stock}
    with pytest.raises(InputError, match=said):
        records.changes(shop, new)
    with pytest.raises(InputError, match=said):
        records.apply(shop, new, DAY)
    assert len(records.snapshot(shop)["parts"]) == 3


def test_refuses_frames_that_break_their_contract(shop, sheets):
    """An unknown sheet, a key that repeats and a time of day are our own faults."""
    with pytest.raises(TableError, match="no sheet nonsense"):
        records.apply(shop, {"nonsense": sheets["parts"]}, DAY)
    twice = pd.concat([sheets["parts"], sheets["parts"]], ignore_index=True)
    with pytest.raises(TableError, match="key part repeats"):
        records.apply(shop, {"parts": twice}, DAY)
    late = sheets["builds"].copy()
    late.loc[0, "start"] = pd.Timestamp("2026-03-09 12:30")
    with pytest.raises(TableError, match="time of day"):
        records.apply(shop, {"builds": late}, DAY)


def test_frames_given_are_not_altered(shop, sheets):
    """Reading leaves the frames as they were."""
    copies = {name: frame.copy(deep=True) for name, frame in sheets.items()}
    records.apply(shop, sheets, DAY)
    for name, frame in sheets.items():
        assert_frame_equal(frame, copies[name])


def test_try_on_a_shop_that_is_not_there_yet(sheets):
    """A shop in memory tells what a first reading would bring."""
    with records.open_shop(":memory:", create=True) as empty:
        found = records.changes(empty, sheets)
    assert set(found["change"]) == {"added"}
    assert len(found) == sum(len(frame) for frame in sheets.values())

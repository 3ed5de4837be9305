"""What stands on the order sheets, and that every reader sees the same totals."""

from __future__ import annotations

import re
import shutil
import subprocess
from datetime import date, datetime

import pandas as pd
import pytest
from openpyxl import load_workbook
from outputs.order_frames import MIXED, NEEDED, NORTH, PARTS, SENT, bought, shop
from python_calamine import CalamineWorkbook

from kitting.errors import KittingError
from kitting.outputs.order_lines import gather
from kitting.outputs.orders import staged_orders, write_orders
from kitting.tables.flow import BUYS
from kitting.tables.shop import ORDERS


def written(tmp_path, rows=MIXED, of=None, **more):
    """Write orders and return their paths."""
    buys, orders = bought(rows)
    return write_orders(buys, of or shop(), orders, tmp_path / "orders", **more)


def table(path, data_only=True):
    """Return headings and lines of an order sheet, and what stands below by its label."""
    sheet = load_workbook(path, data_only=data_only).active
    rows = [[c.value for c in row] for row in sheet.iter_rows()]
    top = next(i for i, row in enumerate(rows) if row[0] == "Line")
    end = next(i for i, row in enumerate(rows[top + 1 :], top + 1) if not isinstance(row[0], int))
    lines = [dict(zip(rows[top], row, strict=True)) for row in rows[top + 1 : end]]
    totals = {row[6]: row[9] for row in rows[end:] if row[6]}
    return lines, totals


def words(path):
    """Return every text of the first sheet."""
    sheet = load_workbook(path, data_only=True).active
    return [c.value for row in sheet.iter_rows() for c in row if isinstance(c.value, str)]


def test_the_lines_hold_what_a_supplier_needs(tmp_path):
    """Its own number, ours, description, packs, pack, quantity with unit, price, per, amount."""
    lines, totals = table(written(tmp_path)[0])
    gasket, screw, rtv, spray = lines
    assert (gasket["Your number"], gasket["Our number"]) == ("N1", "GASKET")
    assert gasket["Description"] == "rocker cover gasket"
    assert [line["Packs"] for line in lines] == [3, 3, 2, 2]
    assert [line["Pack of"] for line in lines] == ["1 piece", "25 pieces", "80 ml", "500 ml"]
    assert [line["Quantity"] for line in lines] == [3, 75, 160, 1000]
    assert [line["Price GBP"] for line in lines] == [19.6, 17.25, 11.9, 3.9]
    assert [line["per"] for line in lines] == ["piece", "100 pieces", "pack", "pack"]
    assert [line["Amount GBP"] for line in lines] == [58.8, 12.94, 23.8, 7.8]
    assert screw["Your number"] == "007"
    assert rtv["Your number"] == "=R1"
    assert spray["Notes"] == "Ground only: aerosol"
    assert gasket["Needed by"] == datetime(2026, 3, 13)
    assert totals == {"Goods": 103.34, "Freight": 8.5, "Hazard charge": 6, "Total GBP": 117.84}


def test_quantities_show_their_unit(tmp_path):
    """The cell is a number and its format names the unit."""
    sheet = load_workbook(written(tmp_path)[0]).active
    formats = [c.number_format for row in sheet.iter_rows() for c in row if c.value in {75, 160}]
    assert formats == ['General" pieces"', 'General" ml"']


def test_the_head_tells_who_orders_what_from_whom(tmp_path):
    """Shop, supplier, our reference, date, account, needed by, where to send it."""
    said = words(
        written(tmp_path, of=shop(settings={"contact": "parts desk", "ship_to": "quay 3"}))[0]
    )
    for text in (
        *("Saltmarsh Engine Works", "The Old Net Loft, Fennick Haven", "parts desk", "K0001"),
        *("2026-03-02", "70418", "2026-03-13", "quay 3", "Total GBP"),
        *("Northlight Distribution", "Unit 9, Carrow Park, Ulvermoor"),
    ):
        assert text in said


def test_the_head_tells_the_number_of_lines_and_the_total(tmp_path):
    """On a long order the foot may stand alone on its last page."""
    sheet = load_workbook(written(tmp_path)[0], data_only=True).active
    said = {row[4]: row[6] for row in sheet.iter_rows(max_row=9, values_only=True)}
    assert (said["Lines"], said["Total GBP"]) == ("4", 117.84)


def test_goods_go_to_the_address_unless_it_says_otherwise(tmp_path):
    said = words(written(tmp_path)[0])
    assert said.count("The Old Net Loft, Fennick Haven") == 2


def test_totals_and_amounts_are_formulas_that_carry_their_values(tmp_path):
    """The formula is there, and readers that do not calculate see the same money."""
    path = written(tmp_path)[0]
    lines, totals = table(path, data_only=False)
    assert [line["Amount GBP"][:7] for line in lines] == ["=ROUND("] * 4
    assert totals["Goods"].startswith("=ROUND(SUM(J")
    assert totals["Total GBP"].startswith("=ROUND(SUM(J")
    rows = CalamineWorkbook.from_path(path).get_sheet_by_index(0).to_python()
    assert [row[9] for row in rows if row[6] == "Total GBP"] == [117.84]


@pytest.mark.skipif(not shutil.which("soffice"), reason="no office program is installed")
def test_an_office_program_works_out_the_same(tmp_path):
    """LibreOffice recalculates both workbooks to the cents that they carry."""
    files = written(tmp_path)
    out = tmp_path / "again"
    office = ["soffice", f"-env:UserInstallation=file://{tmp_path}/profile", "--headless"]
    command = [*office, "--convert-to", "ods", "--outdir", str(out), *map(str, files)]
    subprocess.run(command, check=True, capture_output=True, timeout=120)
    for path in files:
        ours = CalamineWorkbook.from_path(path)
        theirs = CalamineWorkbook.from_path(out / f"{path.stem}.ods")
        for name in ours.sheet_names:
            mine, again = (b.get_sheet_by_name(name).to_python() for b in (ours, theirs))
            numbers = [x for row in mine for x in row if isinstance(x, float)]
            assert numbers
            assert [x for row in again for x in row if isinstance(x, float)] == pytest.approx(
                numbers, abs=1e-9
            )


def test_text_never_runs(tmp_path):
    """Names and notes that look like formulas are text on every sheet; only ours are formulas."""
    evil = "=HYPERLINK(A1)"
    risky = ["=1+1", "+1", "-1", "@A1", "\t=1", "\r=1"]
    of = shop(
        suppliers=({**NORTH, "name": evil, "address": "@x", "account": "-5"},),
        parts=[{"part": part, "name": evil, "unit": "piece", "hazard": "+x"} for part in risky],
        settings={"name": evil, "address": "=1", "contact": "=2", "ship_to": "=3"},
    )
    rows = [{"part": p, "supplier_part": p, "note": p, "build": p, "why": p} for p in risky]
    for path in written(tmp_path, rows, of):
        for sheet in load_workbook(path):
            for row in sheet.iter_rows():
                for cell in row:
                    if cell.data_type == "f":
                        assert re.match(r"=(ROUND\(|J\d+$)", cell.value)
                    elif isinstance(cell.value, str) and cell.value[:1] in "=+-@\t\r":
                        assert cell.quotePrefix or not cell.value


def test_nothing_of_ours_goes_to_the_supplier(tmp_path):
    """Builds and reasons stand in the summary only."""
    rows = [{"build": "B26-01 SEA URCHIN", "why": "Cheapest of 3; next is OTHER at 25.00"}]
    order, summary = written(tmp_path, rows)
    assert not any("URCHIN" in text or "Cheapest" in text for text in words(order))
    lines = load_workbook(summary)["Lines"]
    said = [c.value for row in lines.iter_rows() for c in row]
    assert "B26-01 SEA URCHIN" in said
    assert "Cheapest of 3; next is OTHER at 25.00" in said


def test_a_note_on_the_line_is_printed_for_the_supplier(tmp_path):
    lines, _ = table(written(tmp_path, [{"note": "grind to the size on the tag"}])[0])
    assert lines[0]["Notes"] == "grind to the size on the tag"


@pytest.mark.parametrize(("paper", "number"), [("", "9"), ("A4", "9"), ("Letter", "1")])
def test_it_prints_one_page_wide_with_its_heading_on_every_page(tmp_path, paper, number):
    """Paper, width, repeated heading, page n of m, print area and margins."""
    files = written(tmp_path, MIXED * 20, shop(settings={"paper": paper}))
    for path in files:
        for sheet in load_workbook(path):
            page = sheet.page_setup
            assert str(page.paperSize) == number
            assert (page.fitToWidth, page.fitToHeight, page.orientation) == (1, 0, "landscape")
            assert sheet.sheet_properties.pageSetUpPr.fitToPage
            heading = sheet.print_title_rows.split(":")[0].strip("$")
            assert sheet[f"A{heading}"].value in {"Line", "Order"}
            assert sheet.oddFooter.right.text == "page &P of &N"
            assert sheet.print_area.endswith(f"${sheet.max_row}")
            assert sheet.page_margins.left == pytest.approx(0.4)


@pytest.mark.slow
@pytest.mark.skipif(not shutil.which("soffice"), reason="no office program is installed")
def test_a_long_order_prints_on_several_pages(tmp_path):
    """Eighty lines are some pages of one page's width, not one of tiny print nor a sheet aside."""
    path = written(tmp_path, MIXED * 20)[0]
    office = ["soffice", f"-env:UserInstallation=file://{tmp_path}/profile", "--headless"]
    command = [*office, "--convert-to", "pdf", "--outdir", str(tmp_path), str(path)]
    subprocess.run(command, check=True, capture_output=True, timeout=120)
    pages = (tmp_path / f"{path.stem}.pdf").read_bytes().count(b"/Type/Page/")
    assert 2 <= pages <= 5


def test_one_file_for_each_order_and_a_summary(tmp_path):
    """Named by order number and supplier; the summary by its first and last number."""
    south = {"supplier": "SOUTH/SIDE", "name": "", "currency": "USD"}
    rows = [{}, {"supplier": "SOUTH/SIDE", "order": "K0002", "currency": "USD"}]
    files = written(tmp_path, rows, shop(suppliers=(NORTH, south)))
    assert [p.name for p in files] == [
        "K0001 NORTH.xlsx",
        "K0002 SOUTH-SIDE.xlsx",
        "summary K0001 to K0002.xlsx",
    ]
    sums = load_workbook(files[-1], data_only=True)["Orders"]
    rows = [[c.value for c in row] for row in sums.iter_rows(min_row=4)]
    assert [row[:9] for row in rows] == [
        ["K0001", "Northlight Distribution", 1, 19.6, 8.5, 0, 0, 28.1, "GBP"],
        ["K0002", "SOUTH/SIDE", 1, 19.6, 0, 0, 0, 19.6, "USD"],
        [None, "Total", None, None, None, None, None, 28.1, "GBP"],
        [None, "Total", None, None, None, None, None, 19.6, "USD"],
    ]


def test_order_numbers_lead_nowhere(tmp_path):
    """A number with a path in it stays in the folder."""
    files = written(tmp_path, [{"order": "../../K1"}])
    assert {p.parent for p in files} == {tmp_path / "orders"}


def test_nothing_ordered_writes_nothing(tmp_path):
    assert write_orders(BUYS.empty(), shop(), ORDERS.empty(), tmp_path / "orders") == []
    assert not (tmp_path / "orders").exists()


def test_the_same_orders_are_the_same_bytes(tmp_path):
    """Files can be compared; the clock leaves no trace."""
    once, again = written(tmp_path / "a"), written(tmp_path / "b")
    assert [p.read_bytes() for p in once] == [p.read_bytes() for p in again]


def test_nothing_is_in_the_folder_until_the_orders_are_recorded(tmp_path):
    """Staged files are beside the folder, and gone when recording fails."""
    buys, orders = bought(MIXED)

    def record() -> None:
        with staged_orders(buys, shop(), orders, tmp_path):
            assert not list(tmp_path.glob("*.xlsx"))
            raise ValueError("already ordered")

    with pytest.raises(ValueError, match="already ordered"):
        record()
    assert not list(tmp_path.iterdir())


def test_frames_are_not_altered(tmp_path):
    buys, orders = bought(MIXED)
    before = buys.copy(deep=True), orders.copy(deep=True)
    write_orders(buys, shop(), orders, tmp_path)
    pd.testing.assert_frame_equal(buys, before[0])
    pd.testing.assert_frame_equal(orders, before[1])


def test_an_old_order_is_printed_again_without_its_buys(tmp_path):
    """The amounts stand alone, and the total is their sum."""
    _, orders = bought(MIXED)
    files = write_orders(BUYS.empty(), shop(), orders, tmp_path)
    lines, totals = table(files[0])
    assert [line["Amount GBP"] for line in lines] == [58.8, 12.94, 23.8, 7.8]
    assert [line["Price GBP"] for line in lines] == [None] * 4
    assert totals["Total GBP"] == 117.84


def test_lines_without_an_amount_are_told(tmp_path):
    """What has no price is asked for and left out of the total."""
    _, orders = bought([{}, {"part": "SCREW"}])
    orders = ORDERS.conform(orders.assign(price=pd.array([pd.NA, 500], "Int64")))
    path = write_orders(BUYS.empty(), shop(), orders, tmp_path)[0]
    assert table(path)[1]["Goods"] == 5
    assert any(text.startswith("Lines without a price") for text in words(path))


def one(rows, of=None, **more):
    """Gather one order."""
    (order,) = gather(*bought(rows)[:1], of or shop(), bought(rows)[1], **more)
    return order


@pytest.mark.parametrize(
    ("packs", "freight"),
    [
        (1, 850),  # 19.60 of goods
        (7, 850),  # 137.20
        (8, 0),  # 156.80: free from 150.00
    ],
)
def test_freight_is_free_from_the_value_that_the_supplier_tells(packs, freight):
    assert one([{"packs": packs}]).freight == freight


def test_freight_that_is_told_is_taken():
    """A caller that knows steps of freight gives the amount by order number."""
    assert one([{}], freight={"K0001": 400}).freight == 400
    assert one([{}], freight={"K9999": 400}).freight == 850


def test_the_hazard_charge_comes_with_a_hazardous_line_only():
    assert one([{}]).hazard_charge == 0
    assert one([{}, {"part": "SPRAY"}]).hazard_charge == 600


@pytest.mark.parametrize(
    ("usable", "goods_in", "closed", "expected"),
    [
        ("2026-03-18", "1", [], date(2026, 3, 17)),  # a day for goods-in
        ("2026-03-16", "1", [], date(2026, 3, 13)),  # over the weekend
        ("2026-03-16", "0", [], date(2026, 3, 16)),
        ("2026-03-18", "1", ["2026-03-17"], date(2026, 3, 16)),  # the shop is closed
        ("2026-03-02", "1", [], date(2026, 2, 27)),  # before the order: at once
    ],
)
def test_needed_at_the_door_is_goods_in_before_the_bench(usable, goods_in, closed, expected):
    of = shop(
        settings={"goods_in_days": goods_in},
        closures=[{"calendar": "shop", "day": pd.Timestamp(day)} for day in closed],
    )
    line = one([{"day": pd.Timestamp(usable)}], of).lines[0]
    assert line.needed == expected
    assert line.at_once is (expected <= SENT.date())


def test_a_suppliers_inspection_days_go_before_the_shops_goods_in():
    """Four of the supplier's own instead of one: from Wednesday back to Thursday."""
    of = shop(settings={"goods_in_days": "1"})
    of = of.replaced(
        suppliers=of["suppliers"].assign(
            inspection_days=pd.array([4] * len(of["suppliers"]), dtype="Int64")
        )
    )
    assert one([{"day": pd.Timestamp("2026-03-18")}], of).lines[0].needed == date(2026, 3, 12)


def test_the_head_asks_for_the_first_day(tmp_path):
    """Needed by is the earliest of the lines; what should have been sent is needed at once."""
    rows = [{}, {"part": "SCREW", "day": NEEDED - pd.Timedelta(days=7)}]
    assert one(rows).first_needed.needed == date(2026, 3, 6)
    path = written(tmp_path, [{"day": SENT}])[0]
    assert words(path).count("at once") == 2


def test_lines_that_were_called_off_are_left_out():
    buys, orders = bought([{}, {"part": "SCREW"}])
    orders = orders.assign(cancelled=pd.Series([SENT, pd.NaT]).astype("datetime64[s]"))
    (order,) = gather(buys, shop(), orders)
    assert [line.part for line in order.lines] == ["SCREW"]


def test_lines_of_one_part_at_two_prices_find_their_own():
    """Price breaks that hold only above themselves give two lines of one part."""
    order = one([{"packs": 10, "price": 500}, {"packs": 10, "price": 450}])
    assert [line.price.cents for line in order.lines] == [500, 450]
    assert order.goods == 9500


def test_an_amount_that_the_price_does_not_give_stands_alone():
    """The order as recorded rules; a price that does not lead to it is not shown."""
    buys, orders = bought([{"packs": 3}])
    (order,) = gather(buys.assign(price=1), shop(), orders)
    assert order.lines[0].price is None
    assert order.lines[0].amount == 5880


def test_the_summary_says_what_to_look_at(tmp_path):
    """Late lines, too small an order, hazards."""
    supplier = {**NORTH, "least_order": 5000}
    rows = [{"in_time": False}, {"part": "SPRAY"}]
    path = written(tmp_path, rows, shop(suppliers=(supplier,)))[-1]
    said = load_workbook(path)["Orders"]["L4"].value
    assert said == (
        "1 of 2 lines come late; below the least order of 50.00 GBP; hazardous lines, ground only"
    )


def test_a_part_that_the_shop_does_not_hold_is_still_ordered():
    """A blank description, and the unit of the order line."""
    order = one([{"part": "UNKNOWN"}], shop(parts=PARTS[:1]))
    assert (order.lines[0].name, order.lines[0].unit.name) == ("", "piece")


def test_the_same_order_stands_beside_its_workbook_as_xml(tmp_path):
    """Under the same name, only when asked for, and placed or left out together."""
    buys, orders = bought(MIXED)
    names = ["K0001 NORTH.xlsx", "summary K0001.xlsx"]
    with staged_orders(buys, shop(), orders, tmp_path / "plain") as staged:
        assert [p.name for p in staged.place()] == names
    folder = tmp_path / "both"
    folder.mkdir()
    (folder / "K0001 NORTH.xml").write_text("sent last week")
    with (
        staged_orders(buys, shop(), orders, folder, ubl=True) as staged,
        pytest.raises(KittingError, match="there already"),
    ):
        staged.place()
    assert [p.name for p in folder.iterdir()] == ["K0001 NORTH.xml"]
    (folder / "K0001 NORTH.xml").unlink()
    with staged_orders(buys, shop(), orders, folder, ubl=True) as staged:
        assert sorted(p.name for p in staged.place()) == [
            "K0001 NORTH.xlsx",
            "K0001 NORTH.xml",
            "summary K0001.xlsx",
        ]


def test_the_number_under_the_bar_code_is_printed(tmp_path):
    """Beside what else the supplier must know, on lines whose offer gives it."""
    offers = [{"offer": 7, "supplier": "NORTH", "part": "GASKET", "gtin": "6291041500213"}]
    lines, _ = table(written(tmp_path, [{"offer": 7, "note": "boxed"}, {}], shop(offers=offers))[0])
    assert [line["Notes"] for line in lines] == ["GTIN 6291041500213; boxed", None]


def test_a_deposit_on_old_parts_is_a_charge_of_its_own(tmp_path):
    """Two packs at 45.00: below the goods and in the totals, with the day on the line."""
    offers = [{"offer": 7, "part": "GASKET", "core_deposit": 4500, "core_days": 30}]
    files = written(tmp_path, [{"offer": 7, "packs": 2}, {}], shop(offers=offers))
    lines, totals = table(files[0])
    assert totals == {
        "Goods": 58.8, "Freight": 8.5, "Deposits on old parts": 90, "Total GBP": 157.3,
    }  # fmt: skip
    said = "deposit 90.00, paid back for the old parts within 30 days, by 2026-04-01"
    assert [line["Notes"] for line in lines] == [said, None]
    sums = load_workbook(files[-1], data_only=True)["Orders"]
    assert [c.value for c in sums[4]][3:8] == [58.8, 8.5, 0, 90, 157.3]


def test_a_deposit_whose_day_nobody_told_names_none():
    """The old part goes back some day; without a deposit nothing is said."""
    asked = {"offer": 7, "part": "GASKET", "core_deposit": 4500}
    (line,) = one([{"offer": 7}], shop(offers=[asked])).lines
    assert line.notes == "deposit 45.00, paid back for the old parts"
    free = {"offer": 7, "part": "GASKET", "core_days": 30}
    (line,) = one([{"offer": 7}], shop(offers=[free])).lines
    assert (line.deposit, line.notes) == (0, "")


def test_an_offers_own_carrier_is_asked_for():
    """The day is promised by that carrier, so the supplier must know; the usual one goes unsaid."""
    of = shop(offers=[{"offer": 7, "carrier": "overnight van"}, {"offer": 8}])
    lines = one([{"offer": 7, "note": "boxed"}, {"part": "SCREW", "offer": 8}], of).lines
    assert [line.notes for line in lines] == ["boxed; send by overnight van", ""]

"""Workbooks: what a spreadsheet turns, drops or hides, and files that are damaged."""

from __future__ import annotations

import csv
import io
import zipfile
from datetime import date, datetime, time, timedelta
from pathlib import Path

import openpyxl
import pandas as pd
import pytest
from openpyxl.utils.datetime import CALENDAR_MAC_1904, from_excel

from kitting.reading import Limits, read_sheets

SERIALS = Path(__file__).parents[1] / "published" / "data" / "spreadsheet_date_serials.csv"


@pytest.fixture
def read_book(tmp_path):
    """Return a function that writes sheets of rows to a workbook and reads it."""

    def run(*, change=None, limits=None, epoch=None, **sheets):
        book = openpyxl.Workbook()
        book.remove(book.active)
        if epoch is not None:
            book.epoch = epoch
        for name, rows in sheets.items():
            tab = book.create_sheet(name)
            for row in rows:
                tab.append(row)
        if change is not None:
            change(book)
        path = tmp_path / "shop.xlsx"
        book.save(path)
        return read_sheets(path, limits=limits)

    return run


def told(reading) -> list[str]:
    return [f"{f.level} {f}" for f in reading.findings]


def test_values_of_every_kind(read_book) -> None:
    """Text, whole numbers, days, times, truth and blank cells are read as they are meant."""
    frames = read_book(
        parts=[["part", "shelf_days", "customer_supplied"], ["0012", 365, True], ["3-4", None, ""]],
        closures=[["calendar", "day"], ["shop", date(2026, 12, 24)]],
        suppliers=[["supplier", "cut_off", "freight"], ["Acre", time(15, 30), 6.5]],
    ).frames
    assert frames["parts"]["part"].tolist() == ["0012", "3-4"]
    assert frames["parts"]["shelf_days"].tolist()[0] == 365
    assert frames["parts"]["customer_supplied"].tolist() == [True, False]
    assert frames["closures"]["day"].dt.date.tolist() == [date(2026, 12, 24)]
    assert frames["suppliers"][["cut_off", "freight"]].to_numpy().tolist() == [["15:30", 650]]


@pytest.mark.parametrize(
    ("cell", "says"),
    [
        (1e5 + 0.5, "100000.5 is a number that a spreadsheet may have turned"),
        (1.23457e15, "is a number that a spreadsheet may have turned or rounded"),
        (date(2026, 4, 3), "2026-04-03 is a date or time that a spreadsheet made of"),
        (datetime(2026, 4, 3, 12), "2026-04-03T12:00:00 is a date or time"),
        (time(3, 4), "03:04:00 is a date or time that a spreadsheet made of something like 3-4"),
        (timedelta(hours=30), "is a length of time"),
    ],
)
def test_part_numbers_that_a_spreadsheet_turned(read_book, cell: object, says: str) -> None:
    """What the number was cannot be told any more; the message says what to do."""
    (finding,) = read_book(parts=[["part"], ["A1"], [cell]]).findings
    assert (finding.level, finding.row, finding.column) == ("stop", 3, "part")
    assert says in finding.message
    assert "text" in finding.message


def test_whole_numbers_are_taken_with_a_warning(read_book) -> None:
    """12345 becomes the text 12345; that zeros may be missing is told once for the column."""
    reading = read_book(parts=[["part", "maker"], [12345, "x"], ["A", "y"], [678, 9]])
    assert reading.ok
    assert reading.frames["parts"]["part"].tolist() == ["12345", "A", "678"]
    assert reading.frames["parts"]["maker"].tolist() == ["x", "y", "9"]
    (finding,) = reading.findings
    assert (finding.level, finding.row) == ("warn", 2)
    assert "leading zeros may be lost" in finding.message
    assert finding.message.endswith("(also row 4)")


@pytest.mark.parametrize(
    ("cell", "says"),
    [
        (1e308, "1e+308 is out of range"),
        (-3, '"-3" is not more than zero'),
        (2.5, "is not a whole number of pieces"),
        (date(2026, 2, 1), "made of something like 1/2"),
        ("1,5", "is not a number"),
        (True, '"TRUE" is not a number'),
    ],
)
def test_quantities_that_are_none(read_book, cell: object, says: str) -> None:
    """The same faults as in a csv file, and those that only a spreadsheet makes."""
    reading = read_book(
        parts=[["part"], ["A"], ["B"]], sets=[["set", "part", "quantity"], ["A", "B", cell]]
    )
    (finding,) = [f for f in reading.findings if f.level == "stop"]
    assert (finding.sheet, finding.row, finding.column) == ("sets", 2, "quantity")
    assert says in finding.message


@pytest.mark.parametrize("value", ["NaN", "inf", "-inf", "1e999"])
def test_numbers_that_only_a_broken_writer_makes(tmp_path, value: str) -> None:
    """NaN and infinity stored as numbers are refused, not carried on."""
    path = tmp_path / "shop.xlsx"
    book = openpyxl.Workbook()
    book.active.title = "sets"
    for row in (["set", "part", "quantity"], ["A", "B", 7]):
        book.active.append(row)
    book.save(path)
    replaced(path, "xl/worksheets/sheet1.xml", b"<v>7</v>", f"<v>{value}</v>".encode())
    reading = read_sheets(path)
    assert any((f.row, f.column) == (2, "quantity") for f in reading.findings if f.level == "stop")


def replaced(path: Path, member: str, old: bytes, new: bytes) -> None:
    """Exchange bytes in a member of a workbook; they must be there."""
    with zipfile.ZipFile(path) as packed:
        members = {n: packed.read(n) for n in packed.namelist()}
    assert old in members[member]
    members[member] = members[member].replace(old, new)
    with zipfile.ZipFile(path, "w") as packed:
        for name, data in members.items():
            packed.writestr(name, data)


def test_prices_as_numbers(read_book) -> None:
    """A computed price counts as the digits that a spreadsheet shows, and no more."""
    reading = read_book(
        suppliers=[["supplier", "freight"], ["A", 0.1 + 0.2], ["B", 12], ["C", 0.105]]
    )
    assert reading.frames["suppliers"]["freight"].tolist() == [30, 1200]
    (finding,) = reading.findings
    assert (finding.row, finding.column) == (4, "freight")
    assert "fraction of a cent" in finding.message


def test_days_that_are_numbers(read_book) -> None:
    """An unformatted day is refused; the message says which day it would be in both systems."""
    reading = read_book(closures=[["calendar", "day"], ["shop", 45658]])
    (finding,) = reading.findings
    assert "2025-01-01 in the 1900 system or 2029-01-02 in the 1904 system" in finding.message


@pytest.mark.parametrize("epoch", [None, CALENDAR_MAC_1904])
def test_both_date_systems(read_book, epoch) -> None:
    """A day is the same day whether the workbook counts from 1900 or 1904."""
    day = date(2026, 3, 9)
    frames = read_book(epoch=epoch, closures=[["calendar", "day"], ["shop", day]]).frames
    assert frames["closures"]["day"].dt.date.tolist() == [day]


def test_serials_of_the_1900_system(tmp_path) -> None:
    """Serial numbers become the published days; those before 1980 are told, not shifted."""
    with SERIALS.open() as file:
        rows = list(csv.DictReader(file))
    book = openpyxl.Workbook()
    book.active.title = "closures"
    book.active.append(["calendar", "day"])
    for row in rows:
        book.active.append(["shop", int(row["serial_1900_date_system"])])
        book.active.cell(book.active.max_row, 2).number_format = "yyyy-mm-dd"
    path = tmp_path / "shop.xlsx"
    book.save(path)
    reading = read_sheets(path)
    late = [row["date"] for row in rows if row["date"] > "1980"]
    assert len(late) >= 4
    days = reading.frames["closures"]["day"].dt.strftime("%Y-%m-%d").tolist()
    assert days == late
    assert all("is before 1980" in f.message for f in reading.findings if f.column == "day")
    assert from_excel(45658).date() == date(2025, 1, 1)


@pytest.mark.parametrize(
    ("sheet", "column", "cell", "says"),
    [
        ("closures", "day", time(9, 30), "is a time of day; write year-month-day"),
        ("closures", "day", timedelta(hours=30), "is a length of time; write a day"),
        ("suppliers", "cut_off", 15.5, '"15.5" is not a time'),
        ("suppliers", "freight", date(2026, 3, 4), "made of something like 1/2"),
        ("stages", "work_days", 2e6, "is out of range; at most 1,000"),
        ("stages", "work_days", -1, "is below 0"),
        ("parts", "shelf_days", 1.5, "is not whole"),
        ("parts", "customer_supplied", 2, '"2" is neither yes nor no'),
    ],
)
def test_cells_of_the_wrong_kind(read_book, sheet, column, cell, says) -> None:
    """Each column tells what it wants instead of what a spreadsheet put there."""
    keys = {"closures": ["shop"], "suppliers": ["A"], "stages": ["E", "s"], "parts": ["A"]}[sheet]
    names = {"closures": ["calendar"], "suppliers": ["supplier"], "parts": ["part"]}
    head = names.get(sheet, ["assembly", "stage"])
    reading = read_book(**{sheet: [[*head, column], [*keys, cell]]})
    (finding,) = [f for f in reading.findings if f.level == "stop"]
    assert (finding.row, finding.column) == (2, column)
    assert says in finding.message


def test_a_day_with_a_time_is_that_day(read_book) -> None:
    """The time of day falls off."""
    frames = read_book(closures=[["calendar", "day"], ["shop", datetime(2026, 3, 9, 14)]]).frames
    assert frames["closures"]["day"].dt.date.tolist() == [date(2026, 3, 9)]


def test_formulas_without_a_stored_result(read_book) -> None:
    """A formula that was never computed is told; it is not read as blank."""
    reading = read_book(parts=[["part", "shelf_days"], ["A", 10], ["B", "=10*2"], ['=A2&"x"', 1]])
    assert [(f.row, f.column) for f in reading.findings] == [(3, "shelf_days"), (4, "part")]
    assert all("result was never stored" in f.message for f in reading.findings)


def test_formula_errors(read_book) -> None:
    """``#N/A`` and its kin are told; they are not read as blank."""

    def put(book) -> None:
        cell = book["parts"]["B3"]
        cell.value, cell.data_type = "#REF!", "e"

    (finding,) = read_book(change=put, parts=[["part", "shelf_days"], ["A", 10], ["B", 1]]).findings
    assert (finding.level, finding.row, finding.column) == ("stop", 3, "shelf_days")
    assert "formula's error" in finding.message


@pytest.mark.parametrize(("area", "row"), [("B1:C1", 1), ("A2:A3", 2)])
def test_merged_cells(read_book, area: str, row: int) -> None:
    """Merged headings and merged cells are told, since only their first cell holds the value."""
    reading = read_book(
        change=lambda book: book["parts"].merge_cells(area),
        parts=[["part", "name", "note"], ["A", "a", "x"], ["B", "b", "y"], ["C", "c", "z"]],
    )
    merged = [f for f in reading.findings if "merged; unmerge them" in f.message]
    assert [f.row for f in merged] == [row]
    assert area in merged[0].message
    assert not reading.ok


def test_a_merged_title_above_the_headings_does_no_harm(read_book) -> None:
    """Only rows from the headings down count."""
    reading = read_book(
        change=lambda book: book["parts"].merge_cells("A1:C1"), parts=[[], ["part"], ["A"]]
    )
    assert reading.ok


def test_tabs(read_book) -> None:
    """Tab names are matched as headings are; an unknown tab is told, an empty one is a fault."""
    reading = read_book(**{"Stand-Ins": [["part", "stand in", "kind"]], "Sheet1": [], "parts": []})
    assert set(reading.frames) == {"stand_ins"}
    assert told(reading) == [
        "stop parts: the sheet is empty; write the headings in its first row",
        'warn Sheet1: "Sheet1" is not a sheet and was left out; nearest: sets',
    ]


def test_a_cell_far_out(read_book) -> None:
    """One stray cell in the last corner does not make the reader take all memory."""
    reading = read_book(
        change=lambda book: book["parts"].cell(1_048_576, 16_384, "x"), parts=[["part"], ["A"]]
    )
    (finding,) = reading.findings
    assert "sheet parts has a cell at XFD1048576, far from the others; delete it" in finding.message
    assert not reading.ok


@pytest.mark.parametrize(
    ("limits", "says"),
    [
        (Limits(file_bytes=100), "at most 0 MB are read"),
        (Limits(unpacked_bytes=1000), "it unpacks from"),
        (Limits(rows=2), "sheet parts has more than 2 rows"),
        (Limits(columns=1), "sheet parts has 3 rows and 2 columns; at most"),
        (Limits(text=3), "the cell has 4 characters; at most 3 are read"),
    ],
)
def test_what_is_too_big_is_refused(read_book, limits: Limits, says: str) -> None:
    """Each limit is a clear stop."""
    reading = read_book(limits=limits, parts=[["part", "note"], ["A", "b"], ["B", "long"]])
    assert not reading.ok
    assert says in " ".join(f.message for f in reading.findings)


def test_a_bomb_is_not_unpacked(tmp_path) -> None:
    """An archive that unpacks to many times its size is refused before it does."""
    path = tmp_path / "shop.xlsx"
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as packed:
        packed.writestr("xl/workbook.xml", b" " * 60_000_000)
    (finding,) = read_sheets(path).findings
    assert "which no sheet of a shop does" in finding.message


@pytest.mark.parametrize(
    ("data", "says"),
    [
        (b"", "the file is damaged"),
        (b"part,name\nA,b\n", "the file is damaged"),
        (b"PK\x03\x04 and no more", "the file is damaged"),
        (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + b"\0" * 600, "old or a password-protected workbook"),
    ],
)
def test_files_that_are_no_workbooks(tmp_path, data: bytes, says: str) -> None:
    """Each is one stop that says what to do."""
    path = tmp_path / "shop.xlsx"
    path.write_bytes(data)
    (finding,) = read_sheets(path).findings
    assert finding.level == "stop"
    assert says in finding.message


def test_an_archive_of_something_else(tmp_path) -> None:
    """A zip file that is no workbook is refused as that."""
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w") as archive:
        archive.writestr("hello.txt", "hello")
    path = tmp_path / "shop.xlsx"
    path.write_bytes(packed.getvalue())
    (finding,) = read_sheets(path).findings
    assert "it is no xlsx or ods workbook" in finding.message


def test_open_document_sheets(tmp_path) -> None:
    """An ods workbook reads as an xlsx one does."""
    path = tmp_path / "shop.ods"
    with pd.ExcelWriter(path, engine="odf") as writer:
        parts = pd.DataFrame({"part": ["0012", "1E5"], "shelf_days": [365, 30]})
        parts.to_excel(writer, sheet_name="Parts", index=False)
        days = pd.DataFrame({"calendar": ["shop"], "day": [date(2026, 12, 24)]})
        days.to_excel(writer, sheet_name="closures", index=False)
    reading = read_sheets(path)
    assert reading.findings == ()
    assert reading.frames["parts"]["part"].tolist() == ["0012", "1E5"]
    assert reading.frames["parts"]["shelf_days"].tolist() == [365, 30]
    assert reading.frames["closures"]["day"].dt.date.tolist() == [date(2026, 12, 24)]


def test_open_document_formula_errors(tmp_path) -> None:
    """A formula's error in an ods workbook stops the reading."""
    path = tmp_path / "shop.ods"
    pd.DataFrame({"part": ["A"], "note": ["MARK"]}).to_excel(
        path, sheet_name="parts", index=False, engine="odf"
    )
    replaced(path, "content.xml", b">MARK<", b">#DIV/0!<")
    reading = read_sheets(path)
    assert not reading.ok
    assert "1 cells hold a formula's error" in reading.findings[0].message


@pytest.mark.parametrize(
    ("old", "new"),
    [
        # the strict form of the standard has other namespaces
        (b"http://schemas.openxmlformats.org/spreadsheetml/2006/main", b"http://purl.oclc.org/m"),
        # a sheet that no name leads to
        (b'name="parts"', b'name="other"'),
    ],
)
def test_a_cell_far_out_of_an_odd_workbook(tmp_path, old: bytes, new: bytes) -> None:
    """The guard does not hang on how the workbook names its sheets."""
    path = tmp_path / "shop.xlsx"
    book = openpyxl.Workbook()
    book.active.title = "parts"
    book.active.append(["part"])
    book.active.cell(1_048_576, 16_384, "x")
    book.save(path)
    replaced(path, "xl/workbook.xml", old, new)
    reading = read_sheets(path)
    assert not reading.ok

"""Text that stays text, formulas that carry values, names that lead nowhere."""

from __future__ import annotations

import io
import zipfile
from datetime import date

import pytest
from hypothesis import assume, example, given, settings
from hypothesis import strategies as st
from openpyxl import Workbook, load_workbook
from openpyxl.cell import Cell
from python_calamine import CalamineWorkbook

from kitting.outputs import cells
from kitting.outputs.folder import safe_name
from kitting.outputs.order_book import _formula
from kitting.outputs.order_lines import Price

RISKY = ["=1+1", "+1", "-1", "@SUM(A1)", "\t=1", "\r=1", "=cmd|' /C calc'!A0", "#N/A", "1E5", "007"]


def written(text: str) -> bytes:
    """Return a workbook with one text cell."""
    book = Workbook()
    cells.put_text(cells.cell_at(book.active, 1, 1), text)
    return cells.saved(book, cells.Values(), None)


def sheet_xml(data: bytes) -> str:
    with zipfile.ZipFile(io.BytesIO(data)) as packed:
        return packed.read("xl/worksheets/sheet1.xml").decode()


@pytest.mark.parametrize("text", RISKY)
def test_text_that_looks_like_something_else_is_stored_as_text(text):
    """No formula, no number, no error; what begins like a formula carries the quote mark."""
    data = written(text)
    cell = load_workbook(io.BytesIO(data)).active["A1"]
    assert isinstance(cell, Cell)
    assert cell.data_type == "s"
    assert "<f>" not in sheet_xml(data)
    assert cell.quotePrefix is text.startswith(("=", "+", "-", "@", "\t", "\r"))
    assert cell.number_format == "@"


@settings(deadline=None, max_examples=80)
@given(st.text(max_size=60))
@example("_x0041_ _x000D_")
@example("a\rb\r\nc\td")
@example(" spaces ")
@example("\x00\x0b\ud800\ufffe")
@example("<&>\"'")
def test_any_text_is_read_back_as_it_was(text):
    """Another reader sees the same characters; those no file can hold are replaced."""
    assume(text.strip())  # blanks alone are read as nothing, which is the same to a person
    (row,) = (
        CalamineWorkbook.from_filelike(io.BytesIO(written(text)))
        .get_sheet_by_index(0)
        .to_python(skip_empty_area=False)
    )
    assert isinstance(row[0], str)
    expected = cells._FORBIDDEN.sub("\ufffd", text)
    # Line ends are read as one mark, whichever way they were written.
    assert row[0].replace("\r\n", "\n").replace("\r", "\n") == expected.replace(
        "\r\n", "\n"
    ).replace("\r", "\n")


def test_a_formula_carries_its_value_and_stays_a_formula():
    """A reader that calculates sees the formula, one that does not sees what it gives."""
    book, values = Workbook(), cells.Values()
    book.active["A1"] = 1.5
    values.cents(cells.cell_at(book.active, 2, 1), "ROUND(A1*2,2)", 300)
    values.cents(cells.cell_at(book.active, 3, 1), 'SUMIF(A1:A2,">1",A1:A2)', 450)
    data = cells.saved(book, values, date(2026, 3, 2))
    formulas = load_workbook(io.BytesIO(data)).active
    given_values = load_workbook(io.BytesIO(data), data_only=True).active
    assert formulas["A2"].value == "=ROUND(A1*2,2)"
    assert [given_values[c].value for c in ("A2", "A3")] == [3.0, 4.5]


def test_a_formula_without_a_value_is_our_fault():
    """Nothing is saved with a formula that shows nothing, or a value that belongs nowhere."""
    book = Workbook()
    book.active["A1"] = "=1+1"
    with pytest.raises(RuntimeError, match="A1 has no value"):
        cells.saved(book, cells.Values(), None)
    stray = cells.Values({("Sheet", "B2"): "1.00"})
    with pytest.raises(RuntimeError, match="no formula is at B2"):
        cells.saved(Workbook(), stray, None)


def test_two_savings_are_the_same_bytes():
    """The clock leaves no trace."""
    assert written("same") == written("same")


def half_up(value: float) -> float:
    """Round as a spreadsheet does: half away from zero."""
    return float(int(value + 0.5))


@settings(deadline=None)
@given(
    packs=st.integers(1, 5_000),
    pack=st.integers(1, 5_000_000),
    cents=st.integers(0, 10_000_000),
    per=st.sampled_from([1, 2, 3, 7, 8, 10, 12, 25, 100, 1000, 25_400, 946_353, 5_000_000]),
)
@example(packs=1, pack=1, cents=5, per=10)
@example(packs=7, pack=1, cents=315, per=10)
@example(packs=3, pack=10, cents=115, per=100)
def test_the_formula_of_a_line_gives_the_exact_cents(packs, pack, cents, per):
    """Worked out in floating point as a spreadsheet would, it rounds half cents up as we do."""
    price = Price(packs, pack, cents, per)
    shown = cents / 100
    formula = _formula(9, price)
    if pack == per:
        assert formula == "ROUND(E9*H9,2)"
        result = half_up(packs * shown * 100)
    else:
        product, over = formula.removesuffix(",0)/100").split("*E9*")[1].split("/")
        assert formula == f"ROUND(ROUND(H9*100,0)*E9*{product}/{over},0)/100"
        result = half_up(half_up(shown * 100) * packs * int(product) / int(over))
    assert result == price.amount


@pytest.mark.parametrize(
    ("text", "name"),
    [
        ("K0001 NORTH", "K0001 NORTH"),
        ("../../etc/passwd", "etc-passwd"),  # leads nowhere
        ("..", "_"),
        ("", "_"),
        ("C:\\orders\\K1", "C-orders-K1"),
        ("K1\x00\n=x", "K1-x"),
        ("CON", "_CON"),  # a device somewhere
        ("com1.old", "_com1.old"),
        ("K1. ", "K1"),  # neither dots nor spaces at the end
        ("Grüße & Söhne", "Grüße - Söhne"),
        ("部品 1", "部品 1"),
    ],
)
def test_names_of_files(text, name):
    assert safe_name(text) == name


@settings(deadline=None)
@given(st.text(max_size=300))
def test_any_name_is_one_plain_file(text):
    """No separator, no hidden file, no control sign, short enough, and stable."""
    name = safe_name(text)
    assert name
    assert not set(name) & set('/\\:*?"<>|\0')
    assert name[0] not in ". "
    assert name[-1] not in ". "
    assert name.isprintable()
    assert len(name.encode()) <= 121
    assert safe_name(name) == name


@pytest.mark.parametrize(
    ("text", "width", "lines"),
    [
        ("", 10, 1),
        ("short", 10, 1),
        ("two words that wrap", 12, 2),
        ("one\ntwo\nthree", 20, 3),
        ("unbreakablelongnumberwithoutspaces", 10, 4),
    ],
)
def test_lines_that_text_takes(text, width, lines):
    """Rows are made high enough for what is in them."""
    assert cells.lines_of(text, width) == lines

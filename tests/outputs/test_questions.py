"""Requests for quotation: what a supplier reads, and that asking is never refused."""

from __future__ import annotations

from datetime import date

import pandas as pd
from openpyxl import load_workbook
from outputs.order_frames import frame, shop

from kitting.outputs.folder import staging
from kitting.outputs.questions import stage_questions
from kitting.tables.sourcing import QUESTIONS

DAY = date(2026, 3, 9)
ROWS = [
    {
        "supplier": "NORTH", "part": "GASKET", "supplier_part": "N1", "name": "rocker cover gasket",
        "maker": "Curlew", "quantity": 2, "unit": "piece", "day": pd.Timestamp("2026-03-16"),
        "ask": "a new price; the old one has ended", "known": "the price of NORTH has ended",
    },
    {"supplier": "NORTH", "part": "=1+1", "quantity": 160_000, "unit": "ml", "ask": "price"},
    {"supplier": "", "part": "ODD", "quantity": 1, "unit": "no such unit", "ask": "price"},
]  # fmt: skip


def asked(folder, rows=ROWS):
    """Write the questions and return their paths."""
    with staging(folder) as staged:
        stage_questions(staged, shop(), frame(QUESTIONS, rows), DAY)
        return staged.place()


def test_each_supplier_has_its_own_sheet(tmp_path):
    """Who asks, whom, what, how much and by when; cells to fill in are blank."""
    north, anyone = asked(tmp_path)
    assert (north.name, anyone.name) == (
        "questions 2026-03-09 NORTH.xlsx",
        "questions 2026-03-09 anyone.xlsx",
    )
    rows = [list(row) for row in load_workbook(north).active.values]
    heads = [row[0] for row in rows if row[1] is None]
    for text in (
        "Request for quotation, 2026-03-09",
        "Saltmarsh Engine Works",
        "To: Northlight Distribution",
        "Our account with you: 70418",
    ):
        assert text in heads
    first, second = rows[-2:]
    assert first[:8] == [
        "1", "N1", "GASKET", "rocker cover gasket", "Curlew", "2 pieces", "2026-03-16",
        "a new price; the old one has ended",
    ]  # fmt: skip
    assert first[8:] == [None] * 4
    assert [text or "" for text in second[:8]] == [
        "2", "", "=1+1", "", "", "160 ml", "", "price",
    ]  # fmt: skip
    assert "To: whoever may know" in [r[0] for r in load_workbook(anyone).active.values]


def test_it_prints_one_page_wide_and_text_stays_text(tmp_path):
    """A number that looks like a formula is never run."""
    sheet = load_workbook(asked(tmp_path)[0]).active
    assert (sheet.page_setup.fitToWidth, sheet.page_setup.fitToHeight) == (1, 0)
    assert sheet.sheet_properties.pageSetUpPr.fitToPage
    assert {cell.data_type for row in sheet.iter_rows() for cell in row if cell.value} == {"s"}


def test_asking_again_is_never_refused(tmp_path):
    """Another sheet of the day stands beside the first; the same one is not written again."""
    first = asked(tmp_path)[0].read_bytes()
    assert asked(tmp_path) == []
    again = asked(tmp_path, ROWS[:1])
    assert [p.name for p in again] == ["questions 2026-03-09 NORTH (2).xlsx"]
    assert (tmp_path / "questions 2026-03-09 NORTH.xlsx").read_bytes() == first

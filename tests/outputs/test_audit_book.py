"""The audit as a workbook."""

from __future__ import annotations

import io
from datetime import date
from pathlib import Path

import openpyxl
import pytest

from kitting import audit
from kitting.errors import KittingError
from kitting.outputs.audit_book import audit_book, write_audit
from kitting.reading import read_sheets
from kitting.shipped import shipped
from kitting.tables.audit import CAUGHT, PROPOSED, SUGGESTIONS
from kitting.tables.shop import Shop, empty_shop

DAY = date(2026, 3, 9)


def tables(shop):
    return audit.tally(shop) | {
        "proposed": PROPOSED.empty(),
        "caught": CAUGHT.empty(),
        "suggestions": SUGGESTIONS.empty(),
    }


@pytest.fixture(scope="module")
def demo():
    reading = read_sheets(Path(shipped("demo")) / "sheets", None)
    return tables(Shop(reading.frames))


def opened(data):
    return openpyxl.load_workbook(io.BytesIO(data))


def test_every_ranking_has_its_rows_and_a_pareto_chart(demo):
    """Rows are those of the tally, shares in per cent, and the running share ends at 100."""
    book = opened(audit_book(demo, "Saltmarsh", "GBP", DAY))
    sheet = book["Parts"]
    rows = [[c.value for c in row] for row in sheet.iter_rows(min_row=3)]
    assert rows[0][:5] == ["name", "label", "assembly", "events", "running %"]
    part = demo["part"]
    assert [r[0] for r in rows[1 : len(part) + 1]] == part["name"].tolist()
    assert rows[len(part)][4] == pytest.approx(100)
    assert [len(book[n]._charts) for n in ("Parts", "Joints", "Causes", "Builds")] == [1] * 4
    assert len(book["Proposals"]._charts) == 0


def test_an_empty_audit_is_a_workbook_of_headings():
    book = opened(audit_book(tables(empty_shop()), "", "EUR", DAY))
    assert all(sheet.max_row == 3 for sheet in book)


def test_the_same_audit_gives_the_same_bytes(demo):
    first, second = (audit_book(demo, "Saltmarsh", "GBP", DAY) for _ in range(2))
    assert first == second


def test_a_name_that_begins_like_a_formula_stays_text(demo):
    frame = demo["part"].copy()
    frame["name"] = "=1+1"
    sheet = opened(audit_book(demo | {"part": frame}, "x", "GBP", DAY))["Parts"]
    assert sheet["A4"].value == "=1+1"
    assert sheet["A4"].data_type != "f"


def test_a_workbook_that_is_there_is_not_overwritten(demo, tmp_path):
    (path,) = write_audit(demo, ("Saltmarsh", "GBP"), tmp_path / "out", DAY)
    assert path.name == "Audit 2026-03-09.xlsx"
    with pytest.raises(KittingError, match="there already"):
        write_audit(demo, ("Saltmarsh", "GBP"), tmp_path / "out", DAY)

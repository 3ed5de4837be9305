"""The empty workbook: what a person finds in it, and that it reads as nothing."""

from __future__ import annotations

from pathlib import Path

import openpyxl
import pytest

from kitting.errors import KittingError
from kitting.reading import read_sheets, write_template
from kitting.reading.doors import DOORS
from kitting.reading.headings import EXAMPLE

KINDS = tuple(f"joint_kind_number_{i}" for i in range(40))


@pytest.fixture(scope="module")
def path(tmp_path_factory):
    path = tmp_path_factory.mktemp("template") / "shop.xlsx"
    write_template(path, KINDS)
    return path


@pytest.fixture(scope="module")
def book(path):
    return openpyxl.load_workbook(path)


def test_it_reads_as_nothing(path) -> None:
    """Every sheet holds its example alone and is left out with a note."""
    reading = read_sheets(path, kinds=frozenset(KINDS))
    assert reading.ok
    assert reading.frames == {}
    assert [(f.level, f.row) for f in reading.findings] == [("note", 2)] * len(DOORS)


@pytest.mark.parametrize("sheet", DOORS)
def test_each_sheet(book, sheet: str) -> None:
    """Bold headings with a note each, a frozen first row, an example marked as one."""
    tab = book[sheet]
    assert [c.value for c in tab[1]] == [d.name for d in DOORS[sheet]]
    assert all(c.font.bold and len(c.comment.text) > 20 for c in tab[1])
    assert tab.freeze_panes == "A2"
    assert tab["A2"].value.startswith(EXAMPLE)
    assert all(c.font.italic and c.font.color.rgb == "FF808080" for c in tab[2])
    assert "never read" in tab["A2"].comment.text


def test_columns_of_names_keep_what_is_typed(book) -> None:
    """Columns of names are formatted as text, so that 0012 and 3-4 stay."""
    for sheet, doors in DOORS.items():
        dimensions = book[sheet].column_dimensions
        for cell, door in zip(book[sheet][1], doors, strict=True):
            if door.kind in ("name", "text", "ratio", "conditions", "word"):
                assert dimensions[cell.column_letter].number_format == "@", (sheet, door.name)


def test_fixed_words_drop_down(book) -> None:
    """Each column of fixed words has a list of exactly those words."""
    for sheet, doors in DOORS.items():
        rules = {
            str(r.sqref).split("2:")[0]: r for r in book[sheet].data_validations.dataValidation
        }
        for cell, door in zip(book[sheet][1], doors, strict=True):
            if door.words:
                rule = rules[cell.column_letter]
                area = rule.formula1.removeprefix("lists!").replace("$", "")
                listed = tuple(c.value for (c,) in book["lists"][area])
                assert listed == door.words
                assert rule.errorStyle == "stop"
            elif door.kind in ("yes or no", "unit"):
                assert cell.column_letter in rules


def test_joint_kinds_drop_down(book) -> None:
    """The kinds that were given are offered, however many."""
    (rule,) = [
        r for r in book["joints"].data_validations.dataValidation if str(r.sqref).startswith("D2")
    ]
    area = rule.formula1.removeprefix("lists!").replace("$", "")
    assert tuple(c.value for (c,) in book["lists"][area]) == KINDS


def test_without_kinds_there_is_no_list_of_them(tmp_path) -> None:
    """No kinds, no drop-down."""
    write_template(tmp_path / "t.xlsx")
    tab = openpyxl.load_workbook(tmp_path / "t.xlsx")["joints"]
    assert not [r for r in tab.data_validations.dataValidation if str(r.sqref).startswith("D2")]


def test_the_lists_are_hidden(book) -> None:
    """The tab of words is out of sight."""
    assert book["lists"].sheet_state == "hidden"


def test_its_examples_read_together(path, tmp_path) -> None:
    """The examples are rows that the sheets accept, once their mark is taken off."""
    book = openpyxl.load_workbook(path)
    for sheet in DOORS:
        cell = book[sheet]["A2"]
        cell.value = cell.value.removeprefix(EXAMPLE).strip()
    filled = tmp_path / "filled.xlsx"
    book.save(filled)
    findings = read_sheets(filled).findings
    assert {f.column for f in findings} <= {"set", "part", "stand_in", "after", "unit"}
    assert not [f for f in findings if "not in the sheet" not in f.message]


def test_filled_in_below_the_example(path, tmp_path) -> None:
    """Rows below the example are read, the example is not."""
    book = openpyxl.load_workbook(path)
    book["parts"]["A3"], book["parts"]["B3"] = "0012", "seal"
    filled = tmp_path / "filled.xlsx"
    book.save(filled)
    frames = read_sheets(filled).frames
    assert set(frames) == {"parts"}
    assert frames["parts"]["part"].tolist() == ["0012"]


def test_whole_or_not_at_all(tmp_path, monkeypatch) -> None:
    """A write that fails leaves the old file and nothing beside it."""
    path = tmp_path / "shop.xlsx"
    path.write_text("old")

    def full(self, data) -> None:
        self.write_text("half")
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(Path, "write_bytes", full)
    with pytest.raises(KittingError, match="no space left on device; nothing was changed"):
        write_template(path)
    assert path.read_text() == "old"
    assert [p.name for p in tmp_path.iterdir()] == ["shop.xlsx"]


def test_a_folder_that_is_not_there(tmp_path) -> None:
    """The error names the place."""
    with pytest.raises(KittingError, match="cannot be written: no such file"):
        write_template(tmp_path / "no" / "shop.xlsx")

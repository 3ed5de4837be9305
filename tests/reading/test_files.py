"""Encodings, delimiters, file names and sizes of csv sheets."""

from __future__ import annotations

import pytest

from kitting.reading import Limits, read_sheets

TEXT = "part,name\nA1,Dichtung für Öl\nA2,joint spi\n"


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-32"])
def test_unicode_with_and_without_mark(read, encoding: str) -> None:
    """UTF-8 with or without its mark, and UTF-16 and UTF-32 with theirs, are read quietly."""
    reading = read(only=True, parts=TEXT.encode(encoding))
    assert reading.findings == ()
    assert reading.frames["parts"]["name"].tolist() == ["Dichtung für Öl", "joint spi"]


def test_western_european_is_read_with_a_warning(read) -> None:
    """Windows' own encoding is told of, with the first line in which it was seen."""
    reading = read(only=True, parts=TEXT.encode("cp1252"))
    assert reading.ok
    assert reading.frames["parts"]["name"].iloc[0] == "Dichtung für Öl"
    (finding,) = reading.findings
    assert "not UTF-8 (first seen in line 2)" in finding.message


@pytest.mark.parametrize(
    ("data", "says"),
    [
        (b"", "is empty"),
        (b"\xef\xbb\xbf \r\n \r\n", "is empty"),
        (TEXT.encode("utf-16-le"), "UTF-16 without a mark"),
        (b"PK\x03\x04\x00", "it is a workbook or an archive"),
        (b"part,name\nA1,\x81\x8d\n", "neither UTF-8 nor Western European"),
        (b"\xff\xfep", "is not a text file"),
        (b'part,name\nA1,"open\nA2,x\n', "a quotation mark is not closed"),
        (b'part,name\nA1,"3/8" bolt\n', "write each quotation mark twice"),
        (b"part,name\nA1," + b"x" * 200_000 + b"\n", "a cell never ends"),
    ],
)
def test_files_that_are_no_sheets(told, data: bytes, says: str) -> None:
    """Each is one stop on its sheet that says what to do."""
    (finding,) = told(only=True, parts=data)
    assert finding.startswith("stop parts")
    assert says in finding


def test_a_faulty_row_is_named(read) -> None:
    """A row that cannot be parsed is told with its number."""
    (finding,) = read(only=True, parts='part,name\nA1,x\nA2,"3/8" bolt\n').findings
    assert finding.row == 3


def test_quotation_marks_inside_a_cell(read) -> None:
    """An inch mark in the middle of a plain cell is a character like any other."""
    parts = read(only=True, parts='part,name\nA1,bolt 3/8" UNF\nA2,"3/8"" bolt"\n').frames["parts"]
    assert parts["name"].tolist() == ['bolt 3/8" UNF', '3/8" bolt']


@pytest.mark.parametrize("delimiter", [",", ";", "\t"])
def test_delimiters_are_found_out(read, delimiter: str) -> None:
    """Comma, semicolon and tab; other marks inside a cell do not mislead."""
    text = f'part{delimiter}name{delimiter}note\nA1{delimiter}"a, b; c"{delimiter}x\n'
    parts = read(only=True, parts=text).frames["parts"]
    assert parts[["part", "name", "note"]].to_numpy().tolist() == [["A1", "a, b; c", "x"]]


def test_one_column_needs_no_delimiter(read) -> None:
    """A single column is read as it is, semicolons in cells too."""
    assert read(only=True, parts="part\nA;1\n").frames["parts"]["part"].tolist() == ["A;1"]


def test_rows_keep_the_numbers_of_the_sheet(read) -> None:
    """Blank rows and line breaks in cells count as a spreadsheet counts them."""
    text = 'part,name,unit\n\nA1,"two\nlines",piece\n,,\nA2,x,furlong\n'
    (finding,) = read(only=True, parts=text).findings
    assert (finding.row, finding.column) == (5, "unit")


@pytest.mark.parametrize("name", ["Stand-Ins.CSV", "stand ins.csv", "STAND_INS.tsv"])
def test_file_names_are_matched_as_headings_are(tmp_path, name: str) -> None:
    """Case, spaces and dashes of a file name do not matter."""
    (tmp_path / name).write_text("part\tstand in\tkind\nA\tB\talternate\n")
    assert "stand_ins" in read_sheets(tmp_path).frames


def test_unknown_files_are_named(tmp_path) -> None:
    """A file that is no sheet is left out, with the sheet that is perhaps meant."""
    (tmp_path / "parts.csv").write_text(TEXT)
    (tmp_path / "suplier.csv").write_text("supplier\nA\n")
    (tmp_path / "notes.txt").write_text("not a sheet")
    reading = read_sheets(tmp_path)
    assert reading.ok
    (finding,) = reading.findings
    assert str(finding) == 'suplier: "suplier" is not a sheet and was left out; nearest: suppliers'


def test_nothing_but_unknown_files_is_a_stop(tmp_path) -> None:
    """When no sheet is known, nothing was read and that is said."""
    (tmp_path / "list.csv").write_text("part\nA\n")
    reading = read_sheets(tmp_path)
    assert not reading.ok
    assert "holds none of the sheets that a shop has" in str(reading.findings[0])


def test_one_sheet_twice(tmp_path) -> None:
    """Two files for one sheet are refused, not merged."""
    (tmp_path / "parts.csv").write_text(TEXT)
    (tmp_path / "Parts.tsv").write_text("part\nZ\n")
    (finding,) = read_sheets(tmp_path).findings
    assert 'the sheet is there twice, as "Parts" and "parts"' in finding.message


@pytest.mark.parametrize(
    ("limits", "says"),
    [
        (Limits(file_bytes=10), "at most 0 MB are read"),
        (Limits(rows=2), "more than 2 rows"),
        (Limits(columns=1), "more than 1 cells"),
        (Limits(text=12), "the cell has 15 characters; at most 12 are read"),
    ],
)
def test_what_is_too_big_is_refused(told, limits: Limits, says: str) -> None:
    """Each limit is a clear stop."""
    (finding,) = told(only=True, parts=TEXT, limits=limits)
    assert finding.startswith("stop parts")
    assert says in finding


def test_a_file_that_may_not_be_read(tmp_path, monkeypatch) -> None:
    """A file that the system refuses is a stop on its sheet; the others are read."""
    (tmp_path / "parts.csv").write_text(TEXT)
    (tmp_path / "closures.csv").write_text("calendar,day\nshop,2026-12-24\n")
    path_type = type(tmp_path)
    plain = path_type.read_bytes

    def refuse(self):
        if self.name == "closures.csv":
            raise PermissionError(13, "Permission denied")
        return plain(self)

    monkeypatch.setattr(path_type, "read_bytes", refuse)
    reading = read_sheets(tmp_path)
    (finding,) = reading.findings
    assert str(finding) == "closures: closures.csv cannot be opened: permission denied"
    assert set(reading.frames) == {"parts"}

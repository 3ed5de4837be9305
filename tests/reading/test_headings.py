"""Headings, columns that are not known, example rows and rows of uneven length."""

from __future__ import annotations

import pytest


@pytest.mark.parametrize("heading", ["single_use", "Single use", "SINGLE-USE", " single  use "])
def test_headings_in_any_form(read, heading: str) -> None:
    """Case, spaces, underscores and dashes do not matter, nor does the order of columns."""
    parts = read(only=True, parts=f"{heading},part\nnever,A1\n").frames["parts"]
    assert parts[["part", "single_use"]].to_numpy().tolist() == [["A1", "never"]]


def test_missing_columns_are_all_told(told) -> None:
    """Each required column is named, with a heading that may be meant for it."""
    assert told(only=True, offers="Supplier,prt,price\nAcre,A,1\n") == [
        "stop offers row 1, lead_days: the column lead_days is missing; add it",
        'stop offers row 1, part: the column part is missing; add it; is "prt" meant for it?',
    ]


def test_a_sheet_that_cannot_be_understood_casts_no_doubt_on_others(told) -> None:
    """Without readable parts no part is called unknown."""
    assert told(parts="name\nseal\n") == [
        "stop parts row 1, part: the column part is missing; add it"
    ]


def test_repeated_headings_are_told(told) -> None:
    """Two columns for one thing are refused and both are named."""
    assert told(only=True, parts="part,Shelf days,shelf_days\nA,1,2\n") == [
        'stop parts row 1: the heading "shelf_days" is in columns B and C; keep one'
    ]


def test_cells_without_a_heading_are_told(told) -> None:
    """A stray delimiter or a merged heading leaves cells without a name."""
    assert told(only=True, parts="part,name\nA,a\nB,b,stray\nC,c,\nD,d,e\n") == [
        "stop parts row 3: column C has cells but no heading (merged headings or a stray "
        "delimiter do this); give it a heading or clear it (also row 5)"
    ]


def test_unknown_columns_become_notes(read) -> None:
    """They are appended as ``heading: value`` and told of once."""
    reading = read(only=True, parts="part,note,Colour,bin size\nA,old,red,\nB,,blue,3\nC,,,\n")
    assert reading.frames["parts"]["note"].tolist() == [
        "old; Colour: red",
        "Colour: blue; bin size: 3",
        "",
    ]
    assert [f.level for f in reading.findings] == ["note", "note"]


def test_unknown_columns_of_sheets_without_notes_are_left_out(told) -> None:
    """The loss is a warning; a heading near a known one is asked about."""
    text = "assembly,stage,work day,who\nEng,strip,2,Ada\nEng,build,2,\nBox,fit,2,\n"
    assert told(stages=text) == [
        'warn stages: the column "work day" is not known and was left out; if "work_days" is '
        "meant, write that",
        'warn stages: the column "who" is not known and was left out',
    ]


def test_example_rows_are_left_out(read) -> None:
    """A row whose first filled cell begins with ``example:`` is no part of the shop."""
    reading = read(only=True, parts="name,part\nExample: seal,0012\n,A1\n")
    assert reading.frames["parts"]["part"].tolist() == ["A1"]
    (finding,) = reading.findings
    assert str(finding) == "parts row 2: the example row was left out"


def test_a_sheet_with_its_example_alone_is_not_there(read) -> None:
    """An untouched sheet of the template changes nothing."""
    assert "parts" not in read(only=True, parts="part,name\nexample: 0012,seal\n").frames


def test_headings_may_stand_lower(read) -> None:
    """Blank rows above the headings do not matter; rows keep their numbers."""
    (finding,) = read(only=True, parts="\n,,\npart,unit\nA,furlong\n").findings
    assert finding.row == 4

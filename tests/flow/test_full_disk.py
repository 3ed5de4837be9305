"""Workbooks on a disk without room for temporary files."""

from __future__ import annotations

from pathlib import Path

import pytest
from openpyxl import load_workbook
from openpyxl.worksheet import _writer

from kitting.commands import run

SHEETS = {
    "parts": "part\nPIPE\n",
    "stages": "assembly,stage\nENGINE,dress\n",
    "lines": "assembly,stage,part,quantity\nENGINE,dress,PIPE,2\n",
    "suppliers": "supplier\nYARD\n",
    "offers": "supplier,part,price,lead_days\nYARD,PIPE,4.00,2\n",
    "builds": "build,assembly,start\nE-1,ENGINE,2026-03-20\n",
    "forgotten": "build,part,cause\nE-1,PIPE,late\n",
}


@pytest.mark.parametrize(
    "words",
    [["sheets", "out/x.xlsx"], ["kit", "E-1"], ["order"], ["audit"]],
    ids=lambda words: words[0],
)
def test_workbooks_need_no_room_for_temporary_files(tmp_path, monkeypatch, words):
    """A full folder for temporary files cuts no sheet short: none is written there."""
    for name, text in SHEETS.items():
        (tmp_path / f"{name}.csv").write_text(text, encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    assert run(["read", str(tmp_path)]) == 0
    there = tmp_path / "not there"
    monkeypatch.setattr(_writer, "create_temporary_file", lambda suffix="": str(there / "sheet"))
    Path("out").mkdir()
    more = [] if words[0] == "sheets" else ["--into", "out", "--on", "2026-03-09"]
    assert run([*words, *more]) in (0, 1)
    books = list(Path("out").glob("*.xlsx"))
    assert books
    assert all(load_workbook(path).sheetnames for path in books)

"""Names that would do harm somewhere stay names: in files, workbooks and the database."""

from __future__ import annotations

import csv
from pathlib import Path

import openpyxl
import pytest

from kitting import records
from kitting.commands import run

DAY = "2026-03-09"
NAMES = [
    "../../etc/x",
    "..\\..\\x",
    "/abs/olute",
    "nul",
    "a\u2044b",
    "'; DROP TABLE moves; --",
    '" OR ""=""',
    "%s :part ? {0}",
    "=1+1",
    "@SUM(A1)",
    "<script>alert(1)</script>",
    "-rf",
]


def write(folder, sheet, rows):
    """Write a sheet of rows."""
    with (folder / f"{sheet}.csv").open("w", newline="", encoding="utf-8") as file:
        writer = csv.DictWriter(file, list(rows[0]))
        writer.writeheader()
        writer.writerows(rows)


@pytest.mark.parametrize(
    "name",
    [n if i % 4 == 0 else pytest.param(n, marks=pytest.mark.slow) for i, n in enumerate(NAMES)],
)
def test_a_hostile_name_everywhere(name, tmp_path, monkeypatch, capsys):
    """As order prefix, supplier, part, build and note: the order is written inside its folder."""
    work, sheets = tmp_path / "inside" / "work", tmp_path / "sheets"
    work.mkdir(parents=True)
    sheets.mkdir()
    monkeypatch.chdir(work)
    write(sheets, "shop", [{"setting": "order_prefix", "value": name}])
    write(sheets, "parts", [{"part": name, "name": name, "unit": "piece", "note": name}])
    write(sheets, "suppliers", [{"supplier": name, "name": name, "calendar": "every weekday"}])
    write(
        sheets,
        "offers",
        [{"supplier": name, "part": name, "pack": 1, "price": "1.50", "lead_days": 3}],
    )
    write(sheets, "stages", [{"assembly": "E", "stage": "s", "work_days": 1}])
    write(sheets, "lines", [{"assembly": "E", "stage": "s", "part": name, "quantity": 4}])
    write(sheets, "builds", [{"build": name, "assembly": "E", "start": "2026-03-20"}])
    assert run(["read", str(sheets), "--on", DAY]) == 0, capsys.readouterr()
    assert run(["order", "--into", "orders", "--on", DAY]) in (0, 1), capsys.readouterr()
    made = [p for p in tmp_path.rglob("*.xlsx")]
    assert made
    assert all((work / "orders").resolve() == p.resolve().parent for p in made)
    assert not [p for p in tmp_path.iterdir() if p.name not in ("inside", "sheets")]
    for path in made:
        for tab in openpyxl.load_workbook(path):
            for cell in (c for row in tab.iter_rows() for c in row if c.value is not None):
                assert cell.data_type != "f" or name not in str(cell.value)
    with records.open_shop("shop.db") as shop:
        (order,) = records.snapshot(shop)["orders"]["order"]
        assert records.prove(shop).faults == ()
    assert run(["receive", "--on", DAY, "--", order, name, "4"]) == 0, capsys.readouterr()
    assert run(["orders", "--on", DAY, "--", order]) == 0
    assert run(["prove"]) == 0
    assert Path("shop.db").exists()

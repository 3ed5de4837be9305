"""Where the real bills are, and shops made from their sheets.

The bills belong to other people and are not part of this project: they are read in place, from the
folder ``shared`` beside the project's own, and a test skips where that is absent.
"""

from __future__ import annotations

import csv
import json
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

import openpyxl
import pytest

from kitting import records
from kitting.commands import run
from kitting.plan import plan
from kitting.reading import Reading, read_sheets
from kitting.reading.catalogs import joint_kinds
from kitting.reading.references import references

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from typing import Any

    from kitting.tables.plan import Plan

DAY = date(2026, 3, 9)
START = date(2026, 5, 4)
BILLS = Path(__file__).resolve().parents[3] / "shared" / "real" / "boms"

Row = dict[str, object]
Sheets = dict[str, list[Row]]


def published(name: str) -> Path:
    """Return the folder of a published bill; skip the test where it is absent."""
    folder = BILLS / name
    if not folder.is_dir():
        pytest.skip(f"the published bill {name} is not beside the project (shared/real/boms)")
    return folder


def write(folder: Path, sheets: Mapping[str, Sequence[Row]]) -> Path:
    """Write each sheet as a csv file with the columns that its rows name; return the folder."""
    folder.mkdir(parents=True, exist_ok=True)
    for name, rows in sheets.items():
        columns = list(dict.fromkeys(c for row in rows for c in row))
        with (folder / f"{name}.csv").open("w", encoding="utf-8", newline="") as file:
            writer = csv.DictWriter(file, columns, restval="")
            writer.writeheader()
            writer.writerows(rows)
    return folder


def read(folder: Path) -> Reading:
    """Read a folder of sheets as a new shop would."""
    return read_sheets(folder, kinds=frozenset(joint_kinds()["kind"]))


def planned(folder: Path) -> Plan:
    """Read sheets, keep them in a shop beside them, and plan what the shop then holds."""
    keep(folder)
    with records.open_shop(folder / "shop.db", read_only=True) as shop:
        return plan(records.snapshot(shop, DAY), DAY, joint_kinds(), references())


def keep(folder: Path) -> Path:
    """Read sheets into a shop beside them; return the folder."""
    reading = read(folder)
    assert reading.ok, [str(f) for f in reading.findings]
    with records.open_shop(folder / "shop.db", create=True) as shop:
        records.apply(shop, reading.frames, DAY)
    return folder


def command(capsys: pytest.CaptureFixture[str], folder: Path, *words: str) -> tuple[int, str]:
    """Run a command on the shop that lies beside the sheets; return exit code and output."""
    capsys.readouterr()
    code = run([*words, "--shop", str(folder / "shop.db"), "--on", DAY.isoformat()])
    out = capsys.readouterr()
    assert code < 2, out.err
    return code, out.out


def checked(capsys: pytest.CaptureFixture[str], folder: Path, build: str) -> tuple[int, Any]:
    """Run the kit check of a build; return exit code and document."""
    code, out = command(capsys, folder, "check", build, "--json")
    return code, json.loads(out)


def ordered(capsys: pytest.CaptureFixture[str], folder: Path) -> tuple[int, Any]:
    """Order what every open build lacks; return exit code and document."""
    code, out = command(capsys, folder, "order", "--into", str(folder / "orders"), "--json")
    return code, json.loads(out)


def sheet_totals(folder: Path) -> dict[str, float]:
    """Return the total that each order workbook holds as its cached value, by order number."""
    totals = {}
    for path in sorted((folder / "orders").glob("K*.xlsx")):
        rows = openpyxl.load_workbook(path, data_only=True)["Order"].iter_rows(values_only=True)
        cells = [[cell for cell in row if cell not in (None, "")] for row in rows]
        # The head repeats the total of the foot, which may fall on a page of its own.
        (total,) = {row[-1] for row in cells if row and str(row[0]).startswith("Total")}
        totals[path.name.split(" ")[0]] = total
    return totals

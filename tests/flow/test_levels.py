"""``kitting levels`` on the demo: proposed, printed, and nothing ordered."""

from __future__ import annotations

import json
from collections import Counter
from pathlib import Path

import pytest
from openpyxl import load_workbook

from kitting.commands import run

SHEETS = Path(__file__).resolve().parents[2] / "demo" / "sheets"
ON = ["--on", "2026-03-09"]


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory) -> Path:
    place = tmp_path_factory.mktemp("levels") / "shop.db"
    assert run(["read", str(SHEETS), "--shop", str(place), *ON]) == 0
    return place


def test_levels_are_proposed_and_nothing_is_ordered(shop, capsys) -> None:
    """Washers, plugs and sealant that most builds used; quantities are whole packs of an offer."""
    before = shop.read_bytes()
    capsys.readouterr()
    assert run(["levels", "--shop", str(shop), *ON, "--json"]) == 1
    document = json.loads(capsys.readouterr().out)
    rows = {row["part"]: row for row in document["levels"]}
    assert {"CW-12X16", "RTV-GREY"} <= set(rows)
    for row in rows.values():
        assert row["quantity"] > 0
        assert row["quantity"] % row["packs"] == 0
        assert row["level"] >= 0
        assert row["low"] == (row["have"] <= row["level"])
        assert 0.9 < row["service"] <= 1
    by_seller = Counter(row["supplier"] for row in rows.values())
    assert any(row["cycle"] for row in rows.values())
    for row in rows.values():
        assert (row["cycle"] > 0) == (by_seller[row["supplier"]] > 1)
        assert (row["turn_packs"] > 0) == (row["cycle"] > 0)
    assert shop.read_bytes() == before


def test_the_text_fits_and_the_sheet_prints_one_page_wide(shop, tmp_path, capsys) -> None:
    """80 columns; the workbook holds a row for each part."""
    words = ["levels", "--shop", str(shop), *ON, "--into", str(tmp_path / "levels")]
    assert run(words) == 1
    text = capsys.readouterr().out
    lines = [line for line in text.splitlines() if not line.startswith("  wrote ")]
    assert all(len(line) <= 80 for line in lines)
    (file,) = (tmp_path / "levels").iterdir()
    sheet = load_workbook(file).active
    assert (sheet.page_setup.fitToWidth, sheet.page_setup.fitToHeight) == (1, 0)
    parts = [row[0] for row in sheet.iter_rows(min_row=4, values_only=True)]
    assert len(parts) >= 5
    assert all(part in text for part in parts)
    covered = [row[9] for row in sheet.iter_rows(min_row=4, values_only=True) if row[9]]
    assert covered
    assert all(0.9 < float(c.removesuffix("%")) / 100 < 1 for c in covered)
    told = text[text.index("Ordered together") :]
    other = load_workbook(file)["Ordered together"]
    assert (other.page_setup.fitToWidth, other.page_setup.fitToHeight) == (1, 0)
    rows = list(other.iter_rows(min_row=4, values_only=True))
    suppliers = [row[0] for row in rows if row[0]]
    assert suppliers
    assert len(suppliers) == len(set(suppliers))
    for supplier, often, cost, *_ in rows:
        assert not supplier or f"  {supplier}: {often}, {cost:.2f} GBP an order" in told
    for _, _, _, part, _, packs, turn in rows:
        line = " ".join(f"{part} {packs} {turn.removeprefix('each order')}".split())
        assert line in [" ".join(x.split()) for x in told.splitlines()]


def test_a_shop_without_past_use_is_told_what_to_do(tmp_path, capsys) -> None:
    """No finished build tells anything."""
    folder = tmp_path / "sheets"
    folder.mkdir()
    (folder / "parts.csv").write_text("part,name\n0012,seal\n")
    shop = str(tmp_path / "shop.db")
    assert run(["read", str(folder), "--shop", shop, *ON]) == 0
    capsys.readouterr()
    assert run(["levels", "--shop", shop, *ON]) == 0
    assert "fill in the sheet used" in " ".join(capsys.readouterr().out.split())

"""A shortage hidden in a published bill: the Walrus Turbine's steps against its parts list."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from real.convert_walrus import read_list, read_uses, sheets
from real.folder import checked, keep, planned, published, read, write

if TYPE_CHECKING:
    from pathlib import Path

    from kitting.tables.plan import Plan

SHORT, LONG = "screw_8_32_1_2", "screw_8_32_5_8"


@pytest.fixture(scope="module")
def folder() -> Path:
    """Return the published files."""
    return published("walrus_turbine")


@pytest.fixture(scope="module")
def plan(folder: Path, tmp_path_factory: pytest.TempPathFactory) -> Plan:
    """Plan one turbine with the parts list on the shelf."""
    return planned(write(tmp_path_factory.mktemp("walrus"), sheets(folder)))


def test_the_sheets_are_read_without_a_remark(folder: Path, tmp_path: Path) -> None:
    """Names with inch marks, fractions and commas survive."""
    reading = read(write(tmp_path, sheets(folder)))
    assert reading.findings == ()
    assert len(reading.frames["parts"]) == len(read_list(folder)) == 27


def test_the_instructions_ask_for_the_known_pieces(folder: Path, plan: Plan) -> None:
    """Four rings of six half-inch screws are 24; inserts, rings, nuts and washers as known."""
    needs = plan.needs.groupby("part")["quantity"].sum()
    known = {
        SHORT: 24,
        LONG: 6,
        "heatset_inserts": 24,
        "M3_8mm_hex_screw": 6,
        "screw_4_40": 6,
        "orings_3": 2,
        "hex_nut": 8,
        "washer": 6,
        "carriage_bolt": 6,
    }
    assert needs[list(known)].to_dict() == known
    in_steps = [u for u in read_uses(folder) if u.part == SHORT]
    assert [u.quantity for u in in_steps] == [6, 6, 6, 6]


def test_the_kit_check_finds_the_twelve_screws(
    folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Twelve half-inch screws are short, in the last two stages, and nothing else is."""
    keep(write(tmp_path, sheets(folder)))
    code, document = checked(capsys, tmp_path, "WT400")
    assert (code, document["whole"]) == (1, False)
    assert [(s["stage"], s["part"], s["short"]) for s in document["shortages"]] == [
        ("Bottom Cone Assembly", SHORT, 6),
        ("Wheel Assembly", SHORT, 6),
    ]
    rings = [p for s in document["stages"] for p in s["parts"] if p["part"] == "orings_3"]
    assert [(p["need"], p["have"], p["short"]) for p in rings] == [(1, 1, 0), (1, 1, 0)]


def test_what_is_listed_and_not_used_stays_on_the_shelf(plan: Plan) -> None:
    """Six longer screws, two nuts and four washers are spare; no step takes the eyebolts."""
    taken = plan.picks.groupby("part")["quantity"].sum()
    stock = plan.supply.groupby("part")["quantity"].sum()
    left = stock.sub(taken, fill_value=0).astype(int)
    assert left[left > 0].to_dict() == {
        LONG: 6,
        "hex_nut": 2,
        "washer": 4,
        "eye_bolt": 2,
        "pla": 4,
    }


def test_twelve_more_screws_make_the_kit_whole(
    folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """With 24 listed in place of 12, the published kit is whole."""
    shop = sheets(folder)
    for row in shop["stock"]:
        if row["part"] == SHORT:
            row["quantity"] = 24
    keep(write(tmp_path, shop))
    code, document = checked(capsys, tmp_path, "WT400")
    assert (code, document["whole"], document["shortages"]) == (0, True, [])

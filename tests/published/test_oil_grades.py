"""Grades of engine oil, gear oil and industrial oil against their published limits.

Sources: SAE J300 (2015), SAE J306 (2019) and ISO 3448 as read in public charts
(``data/sae_j300_2015.csv``, ``data/sae_j306_2019_gear_oil.csv``, ``data/iso_3448_vg.csv``).
"""

from __future__ import annotations

import csv
from pathlib import Path

import pytest

from kitting.bill.grades import ENGINE, GEAR, INDUSTRIAL, Bands, bands, classify, parse_grade
from kitting.reading.references import references

DATA = Path(__file__).parent / "data"


def rows(name: str) -> list[dict[str, str]]:
    with (DATA / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


@pytest.fixture(scope="module")
def known() -> Bands:
    return bands(references())


@pytest.mark.parametrize("name", ["sae_j300_2015.csv", "sae_j306_2019_gear_oil.csv"])
def test_sae_limits(known: Bands, name: str) -> None:
    """Every published limit is in the catalog; the greatest is outside its grade."""
    system = ENGINE if "j300" in name else GEAR
    for row in rows(name):
        band = known[system, row["grade"].split(" ")[0]]
        least, most = row["kv100_min_mm2_s"], row["kv100_max_exclusive_mm2_s"]
        assert band.at == 100
        assert band.least == float(least)
        assert band.holds(float(least))
        assert not band.holds(float(least) - 0.01)
        if most:
            assert not band.holds(float(most))
            assert band.holds(float(most) - 0.01)
        else:
            assert band.holds(1e6)


def test_iso_limits(known: Bands) -> None:
    """Both limits of ISO 3448 belong to the grade, and its midpoint does."""
    published = rows("iso_3448_vg.csv")
    assert len(published) == 18
    for row in published:
        band = known[INDUSTRIAL, row["iso_vg"]]
        assert band.at == 40
        for viscosity in (row["min"], row["midpoint_mm2_s_40C"], row["max"]):
            assert band.holds(float(viscosity)), row
        assert not band.holds(float(row["max"]) * 1.01)
        assert not band.holds(float(row["min"]) * 0.99)


@pytest.mark.parametrize(
    ("viscosity", "grades"),
    [
        (9.3, ("SAE J300 30",)), (12.49, ("SAE J300 30",)), (12.5, ("SAE J300 40",)),
        (14.2, ("SAE J300 40",)), (16.3, ("SAE J300 50",)), (21.9, ("SAE J300 60",)),
        (6.95, ("SAE J300 12", "SAE J300 16", "SAE J300 20")), (26.1, ()), (3.0, ()),
    ],
)  # fmt: skip
def test_which_engine_grade(known: Bands, viscosity: float, grades: tuple[str, ...]) -> None:
    """A viscosity at 100 C names its grade; thin grades overlap; beyond 60 there is none."""
    engine = {k: b for k, b in known.items() if k[0] == ENGINE}
    assert classify(viscosity, 100, engine) == grades


@pytest.mark.parametrize(
    ("text", "kind", "system", "winter", "warm"),
    [
        ("SAE 15W-40", "", ENGINE, "15", "40"), ("10w40", "", ENGINE, "10", "40"),
        ("0W-20 C5", "", ENGINE, "0", "20"), ("SAE 50", "", ENGINE, "", "50"),
        ("30", "engine oil", ENGINE, "", "30"), ("SAE 80W-90", "", GEAR, "80", "90"),
        ("75W-80 GL-4", "", GEAR, "75", "80"), ("SAE 140", "", GEAR, "", "140"),
        ("75W", "", GEAR, "75", ""), ("ISO VG 46", "", INDUSTRIAL, "", "46"),
        ("HLP VG46", "hydraulic oil", INDUSTRIAL, "", "46"),
    ],
)  # fmt: skip
def test_grades_as_on_the_can(text: str, kind: str, system: str, winter: str, warm: str) -> None:
    """What is printed on the can is read, and an engine oil is told from a gear oil."""
    grade = parse_grade(text, kind)
    assert grade is not None
    assert (grade.system, grade.winter, grade.warm) == (system, winter, warm)


@pytest.mark.parametrize("text", ["", "ATF", "as the manual says"])
def test_what_is_no_grade(text: str) -> None:
    """Words without a number are no grade."""
    assert parse_grade(text) is None

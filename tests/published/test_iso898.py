"""Threads, stress areas, proof loads and dry torques.

Sources: ISO 898-1 proof loads and nominal stress areas and ISO 261/262 pitches as reprinted in
public tables (``data/hardware/``);
torques of the trade's general tables, as quoted in the tests.
"""

from __future__ import annotations

import csv
from pathlib import Path

import pytest

from kitting.bill.figures import HIGH, LOW, Figure, Steel, judge, steel
from kitting.bill.ways import ENGAGED, thread_void
from kitting.reading.references import references

DATA = Path(__file__).parent / "data" / "hardware"


def rows(name: str) -> list[dict[str, str]]:
    with (DATA / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


@pytest.fixture(scope="module")
def known() -> Steel:
    return steel(references())


def told(known: Steel, value: float, unit: str, thread: str, grade: str) -> list[str]:
    figure = Figure("A", "j", "torque", thread, grade, value, unit, "a general table", "1")
    return [message for _, message, _ in judge(figure, known)]


def test_proof_loads(known: Steel) -> None:
    """Stress area x proof stress is the published proof load, for every thread and class."""
    published = rows("iso898_1_proof_loads.csv")
    assert len(published) > 130
    for row in published:
        load = known.proof_load(row["thread"], row["property_class"])
        assert load == pytest.approx(float(row["proof_load_N_published"]), rel=0.006), row


def test_stress_areas_and_pitches(known: Steel) -> None:
    """The catalog holds the published areas, and the formula for fine threads agrees with them."""
    for row in rows("iso_metric_threads_stress_area.csv"):
        pitch, area = known.threads[row["thread"]]
        assert pitch == float(row["coarse_pitch_mm"])
        assert area == float(row["stress_area_published_mm2"])
        # The same pitch written out goes by the table; a hair finer goes by the formula.
        coarse = known.proof_load(row["thread"], "8.8")
        assert known.proof_load(f"{row['thread']}x{pitch:g}", "8.8") == coarse
        fine = known.proof_load(f"{row['thread']}x{pitch - 0.01:g}", "8.8")
        assert fine == pytest.approx(coarse, rel=0.02)
        assert fine > coarse * 0.995


@pytest.mark.parametrize(
    ("thread", "grade", "dry"),
    [
        ("M5", "8.8", 6.2), ("M6", "8.8", 10.5), ("M8", "8.8", 25.5), ("M10", "8.8", 50.5),
        ("M12", "8.8", 88), ("M14", "8.8", 140), ("M16", "8.8", 219), ("M6", "10.9", 15.0),
        ("M8", "10.9", 36.5), ("M12", "10.9", 126), ("M10", "12.9", 84.4), ("M16", "12.9", 366),
    ],
)  # fmt: skip
def test_dry_torques(known: Steel, thread: str, grade: str, dry: float) -> None:
    """T = K F d with K 0.20 and F = 0.75 x proof load, computed by hand for the trade."""
    assert known.dry_torque(thread, grade) == pytest.approx(dry, rel=0.01)


@pytest.mark.parametrize(
    ("thread", "low", "high"),
    [
        ("M6", 9.8, 12.0), ("M6", 7.5, 10), ("M6", 9, 11), ("M6", 8, 8), ("M6", 3.6, 3.6),
        ("M8", 26, 26), ("M8", 18, 25), ("M8", 22, 28), ("M8", 18, 18), ("M8", 8.9, 8.9),
        ("M10", 52, 52), ("M10", 37, 49), ("M10", 43, 55), ("M10", 36, 36), ("M10", 18, 18),
        ("M12", 90, 90), ("M12", 64, 85), ("M12", 75, 95), ("M12", 43, 43), ("M12", 31, 31),
    ],
)  # fmt: skip
def test_published_tables_lie_in_the_band(
    known: Steel, thread: str, low: float, high: float
) -> None:
    """General tables of six makers for class 8.8 differ by 3 to 1; none of them is called wrong."""
    assert told(known, low, "N m", thread, "8.8") == []
    assert told(known, high, "N m", thread, "8.8") == []


def test_the_cover_bolt_of_the_trade(known: Steel) -> None:
    """9 lbf ft on an M6 of class 8.8: 12.2 N m, 116 % of the dry figure; fine for a 10.9."""
    (message,) = told(known, 9, "lbf ft", "M6", "8.8")
    assert message == (
        "torque 9 lbf ft = 12.2 N m is high for an M6 of class 8.8: 116 % of the dry figure 10.5 "
        "N m (plausible 3.6 to 12.1 N m); read a general table, page 1 again; the maker's manual "
        "decides, this only warns"
    )
    assert told(known, 9, "lbf ft", "M6", "10.9") == []


@pytest.mark.parametrize(
    ("value", "unit", "meant"),
    [(89, "lbf ft", "89 lbf in = 10.1 N m"), (7, "lbf in", "7 lbf ft = 9.5 N m"),
     (89, "N m", "89 lbf in = 10.1 N m"), (80, "kgf m", "80 kgf cm = 7.8 N m")],
)  # fmt: skip
def test_inches_for_feet(known: Steel, value: float, unit: str, meant: str) -> None:
    """A figure that fits in the unit it is mistaken for is told so; the ratio is twelve."""
    (message,) = told(known, value, unit, "M6", "8.8")
    assert f"{meant} would fit: was the unit mixed up?" in message


def test_no_slip_is_seen_where_there_is_none(known: Steel) -> None:
    """A figure that is wrong in either unit is only wrong."""
    (message,) = told(known, 400, "lbf ft", "M6", "8.8")
    assert "would fit" not in message


def test_the_band_is_narrower_above(known: Steel) -> None:
    """At the edges of the band nothing is said; a hair beyond, something is."""
    dry = known.dry_torque("M8", "8.8")
    assert told(known, LOW * dry, "N m", "M8", "8.8") == []
    assert told(known, HIGH * dry, "N m", "M8", "8.8") == []
    assert "is low" in told(known, LOW * dry * 0.99, "N m", "M8", "8.8")[0]
    assert "is high" in told(known, HIGH * dry * 1.01, "N m", "M8", "8.8")[0]


@pytest.mark.parametrize(
    ("diameter", "pitch", "microlitres"),
    [(6, 1, 17), (8, 1.25, 35), (10, 1.5, 63), (12, 1.75, 100), (16, 2, 200)],
)
def test_thread_voids(diameter: float, pitch: float, microlitres: float) -> None:
    """The void over 1.5 diameters, computed for the trade by other hands, to a tenth."""
    computed = thread_void(diameter, pitch, ENGAGED * diameter)
    assert computed == pytest.approx(microlitres, rel=0.1)

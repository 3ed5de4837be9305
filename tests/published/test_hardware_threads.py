"""ISO 898-1 and ISO 261: stress areas, proof loads and pitches of the shipped tables."""

from __future__ import annotations

import csv
import math
from pathlib import Path

import pytest

from kitting.reading.hardware import look_up, table
from kitting.tables.hardware import NUTS, SCREWS, STRENGTHS, THREADS, WASHERS

DATA = Path(__file__).parent / "data" / "hardware"


def rows(name: str) -> list[dict[str, str]]:
    with (DATA / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


@pytest.mark.parametrize(
    "row", rows("iso_metric_threads_stress_area.csv"), ids=lambda r: r["thread"]
)
def test_stress_area_is_that_of_the_thread(row: dict[str, str]) -> None:
    """As = pi/4 ((d2 + d3)/2)^2 with d2 = d - 0.6495 P, d3 = d - 1.2269 P (ISO 898-1), to 0.5 %."""
    known = table(THREADS).set_index("thread").loc[row["thread"]]
    diameter, pitch = float(row["thread"][1:]), known["pitch_mm"]
    assert pitch == float(row["coarse_pitch_mm"])
    mean = diameter - (0.6495 + 1.2269) / 2 * pitch
    assert known["stress_area_mm2"] == pytest.approx(math.pi / 4 * mean**2, rel=5e-3)
    assert known["stress_area_mm2"] == float(row["stress_area_published_mm2"])


@pytest.mark.parametrize(
    "row",
    rows("iso898_1_proof_loads.csv"),
    ids=lambda r: f"{r['thread']}-{r['property_class']}",
)
def test_proof_load_is_area_times_proof_stress(row: dict[str, str]) -> None:
    """The shipped area and stress give the printed load within 0.6 %."""
    area = table(THREADS).set_index("thread").loc[row["thread"], "stress_area_mm2"]
    grade = table(STRENGTHS).set_index("grade").loc[row["property_class"]]
    over = float(row["thread"][1:]) > 16
    stress = grade["proof_stress_over_m16_mpa" if over else "proof_stress_to_m16_mpa"]
    assert area * stress == pytest.approx(float(row["proof_load_N_published"]), rel=6e-3)


def test_sizes_at_the_bench() -> None:
    """M6 socket key 5, M8 hexagon 13, M8 washer 8.4 x 16 x 1.6, as every bench knows them."""
    screws = table(SCREWS).set_index(["standard", "thread"])["across_flats_mm"]
    assert screws["ISO 4762", "M6"] == 5
    assert screws["ISO 4017", "M8"] == 13
    washer = table(WASHERS).set_index("thread").loc["M8"]
    assert washer[["inside_mm", "outside_mm", "thickness_mm"]].tolist() == [8.4, 16, 1.6]
    assert table(NUTS).set_index("thread").loc["M8", "across_flats_mm"] == 13


def test_pitches_agree_between_tables() -> None:
    """Screws and nuts have the coarse pitch of their thread."""
    coarse = table(THREADS).set_index("thread")["pitch_mm"]
    for contract in (SCREWS, NUTS):
        frame = table(contract)
        known = frame[frame["thread"].isin(coarse.index)]
        assert (known["pitch_mm"] == known["thread"].map(coarse)).all()


def test_a_designation_gives_its_dimensions_with_their_source() -> None:
    """ISO 4762 M8x25-8.8: key 6, pitch 1.25, stress area 36.6, and who says so."""
    screw = look_up("ISO 4762 M8x25-8.8")
    assert screw is not None
    assert dict(screw.dimensions)["across_flats_mm"] == 6
    assert dict(screw.dimensions)["pitch_mm"] == 1.25
    assert dict(screw.dimensions)["stress_area_mm2"] == 36.6
    assert "bd_warehouse" in screw.source
    fine = look_up("ISO 4017 M10x1.25x40-10.9")
    assert fine is not None
    assert "stress_area_mm2" not in dict(fine.dimensions)
    assert look_up("deep groove bearing 6206") is None

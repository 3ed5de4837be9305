"""AS568 and ISO 3601-1: ring sizes, equal rings, and how long rubber may be stored."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest

from kitting.reading.hardware import equal_parts, look_up, storage_years, table
from kitting.tables.hardware import O_RINGS

DATA = Path(__file__).parent / "data" / "hardware"


def test_metric_sizes_are_the_inch_sizes() -> None:
    """Inside diameter = inches x 25.4 to the hundredth, for the rows whose inch size is known."""
    rings = table(O_RINGS).set_index("dash")
    with (DATA / "as568_inch.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    assert len(rows) == 185
    for row in rows:
        inside = rings.loc[row["dash"], "inside_mm"]
        assert inside == pytest.approx(float(row["inside_inch"]) * 25.4, abs=0.0051), row["dash"]


@pytest.mark.parametrize(("series", "section"), [("0", 1.78), ("1", 2.62), ("2", 3.53)])
def test_a_series_has_one_section(series: str, section: float) -> None:
    """-0xx is 1.78, -1xx 2.62, -2xx 3.53 mm thick, but for the smallest three."""
    rings = table(O_RINGS)
    rows = rings[rings["dash"].str.startswith(series) & ~rings["dash"].isin(["001", "002", "003"])]
    assert set(rows["section_mm"]) == {section}
    assert rows["inside_mm"].is_monotonic_increasing


@pytest.mark.parametrize(
    ("text", "inside", "section"),
    [
        ("AS568-010 NBR 70", 6.07, 1.78),
        ("AS568-110 NBR 70", 9.19, 2.62),
        ("AS568-210 FKM", 18.64, 3.53),
        ("o-ring AS 568 A-210", 18.64, 3.53),
        ("o-ring ISO 3601 18.64 x 3.53", 18.64, 3.53),
    ],
)
def test_a_ring_by_its_designation(text: str, inside: float, section: float) -> None:
    """A dash number gives inside diameter and section."""
    ring = look_up(text)
    assert ring is not None
    assert ring.designation.family == "o-ring"
    sizes = dict(ring.dimensions)
    assert (sizes["inside_mm"], sizes["section_mm"]) == (inside, section)


def test_a_size_beyond_the_table_keeps_what_it_says() -> None:
    """A metric ring that AS568 lacks has its own size and no source; an unknown dash has none."""
    odd = look_up("o-ring ISO 3601 31.5 x 2.4 NBR 70")
    assert odd is not None
    assert (dict(odd.dimensions), odd.source) == ({"inside_mm": 31.5, "section_mm": 2.4}, "")
    unknown = look_up("AS568-999 NBR 70")
    assert unknown is not None
    assert unknown.dimensions == ()


def test_equal_rings_have_equal_size_rubber_and_hardness() -> None:
    """An inch ring equals the metric one of its size; other rubber or hardness does not."""
    same, rubber, harder, size = (
        "ring ISO 3601 18.64 x 3.53 FKM 75", "AS568-210 NBR 75", "AS568-210 FKM 90",
        "AS568-211 FKM 75",
    )  # fmt: skip
    assert equal_parts("AS568-210 FKM 75", (same, rubber, harder, size)) == (same,)
    assert equal_parts("AS568-999 FKM 75", ("AS568-998 FKM 75",)) == ()


def test_equal_screws_have_equal_dimensions_and_class() -> None:
    """DIN 912 is ISO 4762; the coarse pitch may be said; another class or head is another part."""
    given = ("DIN 912 M8 x 25 8.8", "ISO 4762 M8x1.25x25-8.8", "ISO 4762 M8x25-12.9")
    assert equal_parts("ISO 4762 M8x25-8.8", (*given, "ISO 4017 M8x25-8.8")) == given[:2]
    # DIN 934 and ISO 4032 differ across flats at M10, from memory
    assert equal_parts("ISO 4032 M10-8", ("DIN 934 M10-8",)) == ()
    assert equal_parts("ISO 4032 M8-8", ("DIN 934 M8-8",)) == ("DIN 934 M8-8",)


def test_storage_life_is_quoted_or_blank() -> None:
    """As suppliers quote SAE AS/ARP5316; where they disagree, blank."""
    assert [storage_years(c) for c in ("NBR", "eu", "FKM")] == ["15", "5", "unlimited"]
    assert storage_years("SBR") == ""
    assert storage_years("XYZ") == ""

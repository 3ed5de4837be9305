"""Standard designations: what they say, and what is none."""

from __future__ import annotations

import pytest

from kitting.terms.designations import parse_designation, same_part


@pytest.mark.parametrize(
    ("text", "standard", "family", "size", "grade"),
    [
        ("ISO 4762 M8x25-8.8", "ISO 4762", "screw", "M8x25", "8.8"),
        ("ISO 4762 - M8 x 25 - 8.8", "ISO 4762", "screw", "M8x25", "8.8"),
        ("EN ISO 4017 M10x40 A2-70", "ISO 4017", "screw", "M10x40", "A2-70"),
        ("hex screw M8 x 25, ISO 4017, 8.8 zinc", "ISO 4017", "screw", "M8x25", "8.8"),
        ("ISO 4017 M10x1.25x40-10.9", "ISO 4017", "screw", "M10x1.25x40", "10.9"),
        ("ISO 4032 M8-8", "ISO 4032", "nut", "M8", "8"),
        ("self-locking nut M10, ISO 7040, class 8", "ISO 7040", "lock nut", "M10", "8"),
        ("ISO 7089 M8", "ISO 7089", "washer", "M8", ""),
        # a thread alone: a number up to 4 is a pitch, above it a length
        ("banjo bolt M12 x 1.5", "", "", "M12x1.5", ""),
        ("case screw M10 x 90, waisted", "", "", "M10x90", ""),
        ("M8-8.8", "", "", "M8", "8.8"),
    ],
)
def test_hardware(text: str, standard: str, family: str, size: str, grade: str) -> None:
    """Standard, family, size and property class."""
    read = parse_designation(text)
    assert read is not None
    assert (read.standard, read.family, read.size, read.grade) == (standard, family, size, grade)


@pytest.mark.parametrize(
    ("text", "size", "compound", "hardness"),
    [
        ("AS568-210 FKM", "-210", "FKM", 0),
        ("AS568-210 FKM 75", "-210", "FKM", 75),
        ("AS568A-013 FPM75", "-013", "FKM", 75),
        ("o-ring ISO 3601 18.64 x 3.53 NBR 70", "18.64x3.53", "NBR", 70),
        ("o-ring 236, 82.14 x 3.53 mm, FKM 75", "82.14x3.53", "FKM", 75),
        ("O-Rings 9,25 x 1,78 NBR70", "9.25x1.78", "NBR", 70),
        ("O ring 20x2", "20x2", "", 0),
    ],
)
def test_rings(text: str, size: str, compound: str, hardness: int) -> None:
    """Size, compound and hardness; FPM is the older sign of FKM."""
    read = parse_designation(text)
    assert read is not None
    assert (read.size, read.compound, read.hardness) == (size, compound, hardness)


@pytest.mark.parametrize(
    "text",
    [
        *("", "bearing 6206", "PM10 filter", "NUT-M", "0012-34", "AS568", "OR-236-V75"),
        *("o-ring 1.5 x 0.139 in", "o-ring 3.234 x 0.139", "o-ring kit 3 x 12", "seal 35 x 52"),
    ],
)
def test_what_is_no_designation(text: str) -> None:
    """Part numbers that only look alike give nothing."""
    assert parse_designation(text) is None


@pytest.mark.parametrize(
    ("text", "same"),
    [("DIN 912 M8x25 8.8", True), ("ISO 4762 M8x30-8.8", False), ("ISO 4762 M8x25-10.9", False)],
)
def test_equal_dimension_and_class(text: str, same: bool) -> None:
    """The older standard names the same screw; another length or class is another."""
    one, other = parse_designation("ISO 4762 M8x25-8.8"), parse_designation(text)
    assert one is not None
    assert other is not None
    assert same_part(one, other) is same

"""Units of torque: exact factors, and the ways people write them."""

from __future__ import annotations

from fractions import Fraction

import pytest

from kitting.terms.torque import NEWTON_METRES, newton_metres, torque_unit


@pytest.mark.parametrize(
    ("unit", "factor"),
    [
        ("lbf ft", Fraction("1.3558179483314004")),
        ("lbf in", Fraction("1.3558179483314004") / 12),
        ("kgf m", Fraction("9.80665")),
        ("kgf cm", Fraction("0.0980665")),
        ("N m", Fraction(1)),
    ],
)
def test_factors_are_exact(unit: str, factor: Fraction) -> None:
    """NIST SP 811: the pound-force foot has seventeen figures and no more."""
    assert NEWTON_METRES[unit] == factor


@pytest.mark.parametrize(
    ("text", "unit"),
    [
        ("Nm", "N m"), ("N·m", "N m"), ("N.m", "N m"), ("n m", "N m"),
        ("ft-lb", "lbf ft"), ("ft.lbs", "lbf ft"), ("lbf.ft", "lbf ft"), ("lb ft", "lbf ft"),
        ("in-lb", "lbf in"), ("LBF IN", "lbf in"), ("in lbs", "lbf in"),
        ("kgm", "kgf m"), ("m-kg", "kgf m"), ("kgf cm", "kgf cm"),
        ("mm", ""), ("deg", ""), ("", ""), ("lb", ""),
    ],
)  # fmt: skip
def test_spellings(text: str, unit: str) -> None:
    """What people write is read; what is no torque is not."""
    assert torque_unit(text) == unit


@pytest.mark.parametrize("unit", NEWTON_METRES)
def test_each_unit_reads_as_itself(unit: str) -> None:
    """The names that we write are names that we read."""
    assert torque_unit(unit) == unit


def test_a_known_conversion() -> None:
    """Nine pound-force feet are 12.2 N m."""
    assert round(newton_metres(9, "lbf ft"), 1) == 12.2
    assert round(newton_metres(89, "lbf in"), 2) == 10.06

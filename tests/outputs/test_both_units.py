"""Figures in both units, against published conversion factors."""

from __future__ import annotations

import pytest

from kitting.outputs.both_units import amount_text, both_units, told_in_both
from kitting.terms.units import unit


@pytest.mark.parametrize(
    ("value", "written", "told"),
    [
        # NIST SP 811 (2008), appendix B.8: 1 lbf ft = 1.355 818 N m.
        (100, "lbf ft", "100 lbf ft (136 N m)"),
        (25, "N m", "25 N m (18.4 lbf ft)"),
        # The same: 1 lbf in = 0.112 984 8 N m, 1 kgf m = 9.806 65 N m.
        (90, "in-lb", "90 in-lb (10.2 N m)"),
        (3.5, "kgf m", "3.5 kgf m (34.3 N m)"),
        # The international inch, 25.4 mm.
        (0.05, "mm", "0.05 mm (0.00197 in)"),
        (0.002, "in", "0.002 in (0.0508 mm)"),
        # Nothing to convert, and a unit that nobody knows.
        (90, "deg", "90 deg"),
        (12, "", "12"),
    ],
)
def test_the_unit_as_written_comes_first(value: float, written: str, told: str) -> None:
    assert both_units(value, written) == told


@pytest.mark.parametrize(
    ("quantity", "of", "told"),
    [
        (12, "piece", "12"),
        (2, "pair", "1 pair"),
        (20_000, "l", "20 ml"),
        (1_086, "ml", "1.09 ml"),
        (3_082_000, "l", "3.08 l"),
        (1_250_000, "m", "1.25 m"),
        (80_000, "m", "80 mm"),
    ],
)
def test_small_amounts_can_be_read(quantity: int, of: str, told: str) -> None:
    """A beaker is marked in millilitres, and nobody pours 1.086 of them."""
    assert amount_text(quantity, unit(of)) == told


@pytest.mark.parametrize(
    ("text", "told"),
    [
        # Factors of NIST SP 811 (2008), appendix B.8, as above.
        ("25-32 lb-ft", "25-32 lb-ft (33.9-43.4 N m)"),
        ("first 20 ft.lb, then 90 deg", "first 20 ft.lb (27.1 N m), then 90 deg"),
        ("8 to 10 N m", "8 to 10 N m (5.9-7.38 lbf ft)"),
        ("12 in-lb dry", "12 in-lb (1.36 N m) dry"),
        # The maker gives both, or no torque at all.
        ("34 N m (25 lbf ft)", "34 N m (25 lbf ft)"),
        ("see manual, page 3-4", "see manual, page 3-4"),
        ("M10 x 45 mm, class 8.8", "M10 x 45 mm, class 8.8"),
        ("2 in from the end", "2 in from the end"),
    ],
)
def test_a_torque_in_words_is_told_in_both_units(text: str, told: str) -> None:
    """The maker's words stay; what is added stands behind them."""
    assert told_in_both(text) == told

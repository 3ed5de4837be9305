"""Money in whole cents."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kitting.terms.money import amount, parse_cents, show_cents


@pytest.mark.parametrize(
    ("text", "cents"),
    [("12", 1200), ("12.5", 1250), (" 12.50 ", 1250), ("0", 0), ("-1.25", -125), ("0.10", 10)],
)
def test_prices_are_exact(text: str, cents: int) -> None:
    """Plain decimals become cents without a float in between."""
    assert parse_cents(text) == cents


@pytest.mark.parametrize("text", ["", "1,50", "1e2", "EUR 5", "nan", "1_0", ".5", "5."])
def test_other_prices_are_refused(text: str) -> None:
    """Nothing that could be read in two ways is a price."""
    with pytest.raises(ValueError, match="is not a price"):
        parse_cents(text)


def test_fractions_of_a_cent_are_refused() -> None:
    """Screws at 0.0315 are priced per hundred instead."""
    with pytest.raises(ValueError, match="per column"):
        parse_cents("0.0315")


@pytest.mark.parametrize(
    ("quantity", "price", "per", "cents"),
    [
        (7, 315, 100, 22),  # 22.05
        (10, 315, 100, 32),  # 31.5 goes up
        (1, 1, 3, 0),
        (3, 420, 1, 1260),
        (0, 999, 7, 0),
        (-10, 315, 100, -32),  # a credit is the mirror image
    ],
)
def test_a_line_is_rounded_once(quantity: int, price: int, per: int, cents: int) -> None:
    """The whole line is rounded, half away from zero."""
    assert amount(quantity, price, per) == cents


@given(st.integers(0, 10**15), st.integers(0, 10**15), st.integers(1, 10**15))
def test_amounts_are_exact_however_large(quantity: int, price: int, per: int) -> None:
    """The amount is within half a cent of the true one, at any size."""
    off = amount(quantity, price, per) - Fraction(quantity * price, per)
    assert Fraction(-1, 2) < off <= Fraction(1, 2)


@given(st.integers(-(10**12), 10**12))
def test_shown_cents_read_back(cents: int) -> None:
    """What is shown reads as the same cents."""
    assert parse_cents(show_cents(cents)) == cents


def test_currency_follows() -> None:
    """The currency stands after the amount."""
    assert show_cents(1250, "EUR") == "12.50 EUR"

"""Units at the doors: spellings, dimensions, rounding."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kitting.errors import UnitError
from kitting.terms.units import UNITS, convert, counted, parse_number, show, to_base, unit


def test_spellings_are_unique() -> None:
    """No spelling stands for two units."""
    spellings = {(s.casefold(), u.name) for u in UNITS for s in (u.name, *u.also)}
    assert len(spellings) == len({spelling for spelling, _ in spellings})


@pytest.mark.parametrize(
    ("written", "name"),
    [("", "piece"), (" ML ", "ml"), ("US  fl  OZ", "US fl oz"), ("tubes", "piece"), ("µl", "ul")],
)
def test_spellings(written: str, name: str) -> None:
    """Case and spaces do not matter; blank is pieces; a package is a piece."""
    assert unit(written).name == name


@pytest.mark.parametrize("written", ["fl oz", "qt", "Gallon", "pint"])
def test_ambiguous_units_are_refused(written: str) -> None:
    """A quart without its country is refused, and both are offered."""
    with pytest.raises(UnitError, match=r'write "US .*" or "imp'):
        unit(written)


def test_unknown_units_offer_the_list() -> None:
    """The message lists what may be written."""
    with pytest.raises(UnitError, match="piece, pair, dozen"):
        unit("furlong")


def test_other_dimensions_do_not_convert() -> None:
    """Millilitres are no grams."""
    with pytest.raises(UnitError, match="does not convert"):
        convert(Fraction(1), unit("ml"), unit("g"))


@pytest.mark.parametrize(
    ("text", "value"),
    [("3", 3), ("-2", -2), ("+4.50", Fraction(9, 2)), ("1/2", Fraction(1, 2)), (" 7 / 12 ", 7)],
)
def test_numbers(text: str, value: Fraction) -> None:
    """Whole numbers, decimals with a point and fractions are read exactly."""
    expected = Fraction(7, 12) if "7" in text else value
    assert parse_number(text) == expected


@pytest.mark.parametrize(
    "text", ["", "1,5", "1e3", "nan", "inf", "1/0", "0x1", "1_000", "1.", ".5", "-1/2", "²"]
)
def test_other_numbers_are_refused(text: str) -> None:
    """Nothing that could be read in two ways is a number."""
    with pytest.raises(ValueError, match="is not a number"):
        parse_number(text)


def test_pieces_must_be_whole() -> None:
    """Half a piece is refused, half a pair is one piece."""
    with pytest.raises(UnitError, match=r"2\.5 piece is not a whole number"):
        to_base(Fraction(5, 2), unit("piece"))
    assert to_base(Fraction(1, 2), unit("pair")) == 1


def test_measures_round_half_to_even() -> None:
    """Half a micrometre goes to the even one, so that sums do not drift."""
    assert [to_base(Fraction(n, 2), unit("um")) for n in (1, 3, 5)] == [0, 2, 2]


@given(st.sampled_from(UNITS), st.sampled_from(UNITS), st.fractions(min_value=0, max_value=10**6))
def test_there_and_back_is_the_same(one, other, number) -> None:
    """Converting to another unit of the dimension and back loses nothing."""
    if one.dimension is other.dimension:
        assert convert(convert(number, one, other), other, one) == number


@given(st.sampled_from(UNITS), st.integers(0, 10**9))
def test_shown_numbers_are_near(of, quantity) -> None:
    """What is shown, to three decimals, is the quantity within half a thousandth of the unit."""
    shown = Fraction(show(quantity, of))
    assert abs(shown - quantity / of.factor) <= Fraction(5, 10**4) + Fraction(1, 10**9)


@pytest.mark.parametrize(
    ("quantity", "of", "said"),
    [
        (1, "piece", "1 piece"),
        (4, "piece", "4 pieces"),
        (0, "piece", "0 pieces"),
        (-1, "piece", "-1 piece"),
        (-2, "piece", "-2 pieces"),
        (2, "pair", "1 pair"),
        (3, "pair", "1.5 pairs"),
        (80_000, "ml", "80 ml"),
    ],
)
def test_quantities_are_written_as_they_are_said(quantity, of, said):
    """Several pieces and pairs, but no plural of other units."""
    assert counted(quantity, unit(of)) == said

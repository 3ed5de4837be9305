"""Units at the doors and base units inside, converted exactly.

Inside, a quantity is a whole number of pieces, micrometres, square millimetres, microlitres or
milligrams. Factors are exact fractions: the international inch and pound of 1959, the US gallon of
231 cubic inches and the imperial gallon of 4.54609 litres (NIST SP 811, appendix B). Codes are
those of UNECE Recommendation 20.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction

from kitting.errors import UnitError


class Dimension(StrEnum):
    """What a unit measures; the value is the base unit."""

    COUNT = "piece"
    LENGTH = "um"
    AREA = "mm2"
    VOLUME = "ul"
    MASS = "mg"


@dataclass(frozen=True, slots=True)
class Unit:
    """A unit of the trade.

    Parameters
    ----------
    name
        How it is written in the sheets.
    dimension
        What it measures.
    factor
        Base units in one of it, exact.
    code
        UNECE Recommendation 20 code.
    also
        Other spellings that are read as this unit.
    """

    name: str
    dimension: Dimension
    factor: Fraction
    code: str
    also: tuple[str, ...] = ()


_INCH = Fraction(25_400)
_POUND = Fraction(453_592_37, 100)
_US_GALLON = 231 * Fraction(16_387_064, 1000)  # cubic inch in microlitres
_UK_GALLON = Fraction(4_546_090)

_C, _L, _A = Dimension.COUNT, Dimension.LENGTH, Dimension.AREA
_V, _M = Dimension.VOLUME, Dimension.MASS

# Packages are counted as pieces: what is inside them is told by the offer's pack.
_PIECES = (
    *("pieces", "pc", "pcs", "each", "ea", "one", "off", "no"),
    *("tube", "tubes", "bottle", "bottles", "can", "cans", "tin", "cartridge", "sachet", "sachets"),
    *("roll", "rolls", "sheet", "sheets", "bag", "bags", "box", "boxes", "pack", "packs"),
)

UNITS: tuple[Unit, ...] = (
    Unit("piece", _C, Fraction(1), "H87", _PIECES),
    Unit("pair", _C, Fraction(2), "PR", ("pairs", "pr")),
    Unit("dozen", _C, Fraction(12), "DZN", ("doz",)),
    Unit("hundred", _C, Fraction(100), "CEN", ("c",)),
    Unit("thousand", _C, Fraction(1000), "MIL", ()),
    Unit("set", _C, Fraction(1), "SET", ("sets", "kit", "kits")),
    Unit("um", _L, Fraction(1), "4H", ("µm", "μm", "micrometre", "micrometer")),
    Unit("mm", _L, Fraction(1000), "MMT", ("millimetre", "millimeter")),
    Unit("cm", _L, Fraction(10_000), "CMT", ("centimetre", "centimeter")),
    Unit("m", _L, Fraction(1_000_000), "MTR", ("metre", "meter", "metres", "meters")),
    Unit("in", _L, _INCH, "INH", ("inch", "inches", '"')),
    Unit("ft", _L, 12 * _INCH, "FOT", ("foot", "feet")),
    Unit("yd", _L, 36 * _INCH, "YRD", ("yard", "yards")),
    Unit("mm2", _A, Fraction(1), "MMK", ("mm²",)),
    Unit("cm2", _A, Fraction(100), "CMK", ("cm²",)),
    Unit("m2", _A, Fraction(1_000_000), "MTK", ("m²",)),
    Unit("ul", _V, Fraction(1), "4G", ("µl", "μl", "microlitre")),
    Unit("ml", _V, Fraction(1000), "MLT", ("cc", "cm3", "cm³", "millilitre", "milliliter")),
    Unit("cl", _V, Fraction(10_000), "CLT", ("centilitre",)),
    Unit("l", _V, Fraction(1_000_000), "LTR", ("litre", "liter", "litres", "liters", "dm3", "dm³")),
    Unit("US fl oz", _V, _US_GALLON / 128, "OZA", ("us floz", "fl oz (us)", "fl oz us")),
    Unit("US pt", _V, _US_GALLON / 8, "PTL", ("us pint", "us pints")),
    Unit("US qt", _V, _US_GALLON / 4, "QTL", ("us quart", "us quarts")),
    Unit("US gal", _V, _US_GALLON, "GLL", ("us gallon", "us gallons")),
    Unit("imp fl oz", _V, _UK_GALLON / 160, "OZI", ("uk fl oz", "imperial fl oz")),
    Unit("imp pt", _V, _UK_GALLON / 8, "PTI", ("uk pt", "imperial pint", "imp pint")),
    Unit("imp qt", _V, _UK_GALLON / 4, "QTI", ("uk qt", "imperial quart", "imp quart")),
    Unit("imp gal", _V, _UK_GALLON, "GLI", ("uk gal", "imperial gallon", "imp gallon")),
    Unit("mg", _M, Fraction(1), "MGM", ("milligram",)),
    Unit("g", _M, Fraction(1000), "GRM", ("gram", "grams", "gr", "gm")),
    Unit("kg", _M, Fraction(1_000_000), "KGM", ("kilogram", "kilograms")),
    Unit("oz", _M, _POUND / 16, "ONZ", ("ounce", "ounces", "oz av")),
    Unit("lb", _M, _POUND, "LBR", ("pound", "pounds", "lbs")),
)

_BY_NAME = {spelling.casefold(): unit for unit in UNITS for spelling in (unit.name, *unit.also)}
_AMBIGUOUS = {
    "fl oz": ("US fl oz", "imp fl oz"),
    "floz": ("US fl oz", "imp fl oz"),
    "pt": ("US pt", "imp pt"),
    "pint": ("US pt", "imp pt"),
    "qt": ("US qt", "imp qt"),
    "quart": ("US qt", "imp qt"),
    "gal": ("US gal", "imp gal"),
    "gallon": ("US gal", "imp gal"),
}
_NUMBER = re.compile(r"^[+-]?\d+(\.\d+)?$|^\d+\s*/\s*[1-9]\d*$")


def unit(name: str) -> Unit:
    """Look a unit up by name or spelling; blank is ``piece``.

    Raises
    ------
    UnitError
        When it is unknown, or stands for two units (``qt``, ``fl oz``: say US or imp).
    """
    text = " ".join(name.split()).casefold() or "piece"
    found = _BY_NAME.get(text)
    if found is not None:
        return found
    if text in _AMBIGUOUS:
        first, second = _AMBIGUOUS[text]
        raise UnitError(f'"{name}" may be two units; write "{first}" or "{second}"')
    raise UnitError(f'unit "{name}" is not known; write one of ' + ", ".join(u.name for u in UNITS))


def parse_number(text: str) -> Fraction:
    """Read ``3``, ``4.5`` or ``1/2`` exactly.

    Raises
    ------
    ValueError
        When it is not such a number (``1,5``, ``1e3`` and ``nan`` are not).
    """
    cleaned = text.strip()
    if not _NUMBER.match(cleaned):
        raise ValueError(f'"{text}" is not a number; write digits with a point, such as 1.5')
    return Fraction(cleaned.replace(" ", ""))


def to_base(number: Fraction, of: Unit) -> int:
    """Convert to whole base units.

    Lengths, areas, volumes and masses are rounded to the nearest base unit, half to even; pieces
    must come out whole.

    Raises
    ------
    UnitError
        When a count is not a whole number of pieces.
    """
    exact = number * of.factor
    if of.dimension is Dimension.COUNT and exact.denominator != 1:
        raise UnitError(f"{float(number):g} {of.name} is not a whole number of pieces")
    return round(exact)


def convert(number: Fraction, of: Unit, to: Unit) -> Fraction:
    """Convert between two units of one dimension, exactly.

    Raises
    ------
    UnitError
        When they measure different things.
    """
    if of.dimension is not to.dimension:
        raise UnitError(f"{of.name} does not convert to {to.name}")
    return number * of.factor / to.factor


def show(quantity: int, of: Unit) -> str:
    """Write base units as a number of the unit, at most three decimals, without the unit."""
    value = Fraction(quantity) / of.factor
    if value.denominator == 1:
        return str(value.numerator)
    return f"{float(value):.3f}".rstrip("0").rstrip(".")


def counted(quantity: int, of: Unit) -> str:
    """Write base units with their unit, such as ``10 pieces``, ``1 pair`` or ``80 ml``."""
    number = show(quantity, of)
    one = number in {"1", "-1"} or of.name not in {"piece", "pair"}
    return f"{number} {of.name}{'' if one else 's'}"

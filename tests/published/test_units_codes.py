"""Unit codes against UNECE Recommendations 20 and 21.

From the code lists of the OASIS UBL 2.1 release (Recommendation 20 revision 8e, 2012) and the
active list of UBL 2.4, under the OASIS notice; the lists themselves are UNECE's.
"""

from __future__ import annotations

import csv
import re
from fractions import Fraction
from pathlib import Path

import pytest

from kitting.terms.units import UNITS, Dimension, Unit, unit

DATA = Path(__file__).parent / "data"
REC20 = {
    row["code"]: row
    for row in csv.DictReader(
        (DATA / "unece_rec20_selected.csv").read_text(encoding="utf-8").splitlines()
    )
}
REC21 = list(
    csv.DictReader(
        (DATA / "unece_rec21_packages_selected.csv").read_text(encoding="utf-8").splitlines()
    )
)
# Base units in one SI unit that the list's factors are printed in; pieces have none.
SI = {"m³": 10**9, "m²": 10**6, "kg": 10**6, "m": 10**6, "": 1}
LISTED = [u for u in UNITS if u.code in REC20]
# Not in the selection that was read.
UNLISTED = {"4G", "4H", "MMK", "MGM"}


def printed(text: str) -> Fraction:
    """Return base units from a printed factor: ``9,463 529 x 10⁻⁴ m³``, ``m²``, ``12`` or blank."""
    pattern = r"([0-9,]*)x?(?:10([⁻⁰¹²³⁴⁵⁶⁷⁸⁹]+))?(m³|m²|kg|m|)"
    match = re.fullmatch(pattern, text.replace(" ", ""))
    assert match is not None, text
    number = Fraction(match[1].replace(",", ".") or 1)
    power = int((match[2] or "⁰").translate(str.maketrans("⁻⁰¹²³⁴⁵⁶⁷⁸⁹", "-0123456789")))
    return number * Fraction(10) ** power * SI[match[3]]


def test_every_unit_is_in_the_list() -> None:
    """Each unit's code is in the selection or is one of the few that it leaves out."""
    assert {u.code for u in UNITS} - set(REC20) == UNLISTED


@pytest.mark.parametrize("of", LISTED, ids=lambda of: of.name)
def test_codes_are_active(of: Unit) -> None:
    """No unit goes out under a code that was deleted or deprecated."""
    assert REC20[of.code]["status_in_rev_8e_2012"] == "active"
    assert REC20[of.code]["in_ubl_2_4_active_list"] == "yes"


@pytest.mark.parametrize("of", LISTED, ids=lambda of: of.name)
def test_factors_agree_with_the_printed_ones(of: Unit) -> None:
    """The exact factor equals the printed one to the digits that the list prints (it rounds)."""
    factor = printed(REC20[of.code]["rec20_conversion_factor"])
    assert abs(of.factor / factor - 1) < Fraction(1, 10**6)


@pytest.mark.parametrize("code", ["TU", "CA", "BX", "CS", "CT", "DR", "PCE", "QT", "PT"])
def test_deleted_codes_are_no_units(code: str) -> None:
    """Codes that were deleted, or never were units, are not given to anything."""
    assert code not in {u.code for u in UNITS}


PACKAGES = ("bag", "bottle", "box", "can", "sheet", "tin", "tube")


def test_the_packages_are_in_the_list() -> None:
    """The packages that sheets may count in are packages of Recommendation 21."""
    assert {row["name"].split(",")[0].casefold() for row in REC21} >= set(PACKAGES)


@pytest.mark.parametrize("word", PACKAGES)
def test_packages_are_counted_as_pieces(word: str) -> None:
    """A package counts as one piece and never as a measure."""
    assert unit(word).dimension is Dimension.COUNT
    assert unit(word).factor == 1

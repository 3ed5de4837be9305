"""Exact unit conversions and worked cases of a workshop.

Factors: NIST Special Publication 811, appendix B, and NIST Handbook 44, appendix C (public
domain), each equal to the definition file of the library pint 0.25.3 (BSD). Worked cases: computed
from those factors.
"""

from __future__ import annotations

import csv
import json
import math
from fractions import Fraction
from pathlib import Path

import pytest

from kitting.terms.units import convert, parse_number, to_base, unit

DATA = Path(__file__).parent / "data"
FACTORS = list(csv.DictReader((DATA / "exact_conversions.csv").read_text().splitlines()))
CASES = json.loads((DATA / "unit_worked_cases.json").read_text())["cases"]
# The list's names and ours; force, torque and pressure are no quantities of parts.
OURS = {
    "lb (avoirdupois)": "lb",
    "oz (avoirdupois)": "oz",
    "US gallon": "US gal",
    "US liquid quart": "US qt",
    "US liquid pint": "US pt",
    "US fluid ounce": "US fl oz",
    "imperial gallon": "imp gal",
    "imperial quart": "imp qt",
    "imperial pint": "imp pt",
    "imperial fluid ounce": "imp fl oz",
    "in": "in",
    "ft": "ft",
    "yd": "yd",
}
MEASURES = [row for row in FACTORS if row["unit"] in OURS]


def test_every_measure_of_the_list_is_checked() -> None:
    """All lengths, volumes and masses of the list have a unit here."""
    assert len(MEASURES) == len(OURS)


@pytest.mark.parametrize("row", MEASURES, ids=lambda row: row["unit"])
def test_factors_are_exact(row: dict[str, str]) -> None:
    """One of the unit is exactly the printed factor, to the last digit."""
    one = convert(Fraction(1), unit(OURS[row["unit"]]), unit(row["target"]))
    assert one == Fraction(row["factor"])


def worked(start: str) -> dict[str, float]:
    """Return the case whose question starts so."""
    (case,) = [c for c in CASES if c["q"].startswith(start)]
    return case


@pytest.mark.parametrize(
    ("question", "amount", "written_in"),
    [
        ("sump takes 4.5 US quarts", "4.5", "US qt"),
        ("sump takes 5 US quarts", "5", "US qt"),
        ("sump takes 4.25 imperial quarts", "4.25", "imp qt"),
        ("gearbox takes 2 imperial pints", "2", "imp pt"),
        ("sump takes 4.2 US quarts", "4.2", "US qt"),  # a quart is no litre
        ("sump takes 3.6 imperial quarts", "3.6", "imp qt"),
    ],
)
def test_bottles_of_a_litre(question: str, amount: str, written_in: str) -> None:
    """Fluid in the manual's unit comes to the printed litres and to whole bottles, rounded up."""
    case = worked(question)
    number = parse_number(amount)
    litres = float(convert(number, unit(written_in), unit("l")))
    assert litres == pytest.approx(case["litres"], rel=1e-9)  # printed to nine decimals
    bottle = to_base(Fraction(1), unit("l"))
    assert math.ceil(to_base(number, unit(written_in)) / bottle) == case["bottles"]


def test_whole_builds_in_a_tube() -> None:
    """A tube of 4 US fluid ounces does eleven builds of 10 ml."""
    case = worked("assembly lube 4 US fl oz tube")
    tube = convert(Fraction(4), unit("US fl oz"), unit("ml"))
    assert float(tube) == case["millilitres"]
    assert tube // 10 == case["builds"]

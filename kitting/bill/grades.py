"""Grades of oil: what a grade on the can means, and which grade a viscosity is."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping

    from kitting.tables.references import References

ENGINE, GEAR, INDUSTRIAL = "SAE J300", "SAE J306", "ISO 3448"
_MULTI = re.compile(r"\b(\d{1,3})\s*W(?:\s*-?\s*(\d{1,3}))?\b", re.IGNORECASE)
_VG = re.compile(r"\bVG\s*-?\s*(\d{1,4})\b", re.IGNORECASE)
_SINGLE = re.compile(r"(?<![\d.])(\d{1,3})(?![\d.])")
# Winter grades from 70W and summer grades from 65 are those of gear oils.
_GEAR_WINTER, _GEAR_SUMMER = 70, 65


@dataclass(frozen=True, slots=True)
class Grade:
    """What a grade says.

    Parameters
    ----------
    system
        SAE J300, SAE J306 or ISO 3448.
    winter
        Number before the W; blank = none.
    warm
        Number of the grade at running temperature; blank = none.
    """

    system: str
    winter: str = ""
    warm: str = ""

    @property
    def name(self) -> str:
        """The grade as on the can."""
        if self.system == INDUSTRIAL:
            return f"ISO VG {self.warm}"
        return "SAE " + "-".join(p for p in (self.winter and f"{self.winter}W", self.warm) if p)


def parse_grade(text: str, kind: str = "") -> Grade | None:
    """Read a grade: ``SAE 15W-40``, ``10w40``, ``SAE 30``, ``80W-90``, ``ISO VG 46``.

    A bare number is an engine oil's grade, or a gear oil's where the kind says so or no engine
    oil is so thick.
    """
    if found := _VG.search(text):
        return Grade(INDUSTRIAL, warm=found[1])
    if found := _MULTI.search(text):
        gear = int(found[1]) >= _GEAR_WINTER or int(found[2] or 0) >= _GEAR_SUMMER
        return Grade(GEAR if gear else ENGINE, found[1], found[2] or "")
    if found := _SINGLE.search(text):
        gear = int(found[1]) >= _GEAR_SUMMER or "gear" in kind.casefold()
        return Grade(GEAR if gear else ENGINE, warm=found[1])
    return None


@dataclass(frozen=True, slots=True)
class Band:
    """Limits of a grade's kinematic viscosity [mm2/s] at a temperature [C]; most may be missing."""

    at: int
    least: float
    most: float
    most_counts: bool

    def holds(self, viscosity: float) -> bool:
        """Tell whether a viscosity is within the grade."""
        if viscosity < self.least:
            return False
        if self.most != self.most or viscosity < self.most:
            return True
        return self.most_counts and viscosity == self.most

    @property
    def told(self) -> str:
        """The limits in words."""
        if self.most != self.most:
            return f"{self.least:g} mm2/s or more at {self.at} C"
        below = "to" if self.most_counts else "to below"
        return f"{self.least:g} {below} {self.most:g} mm2/s at {self.at} C"


Bands = dict[tuple[str, str], Band]
"""Limits by system and grade, such as ``("SAE J300", "15W")``."""


def bands(references: References) -> Bands:
    """Return table ``viscosity``, laid out to look grades up."""
    frame = references["viscosity"]
    names = ("system", "grade", "at", "least", "most", "most_counts")
    return {
        (system, grade): Band(at, least, most, counts)
        for system, grade, at, least, most, counts in zip(
            *(frame[n].tolist() for n in names), strict=True
        )
    }


def classify(viscosity: float, at: int, known: Mapping[tuple[str, str], Band]) -> tuple[str, ...]:
    """Return the grades at running temperature that a viscosity belongs to.

    Parameters
    ----------
    viscosity
        [mm2/s]
    at
        Temperature [C].
    known
        Limits by system and grade.

    Returns
    -------
    tuple
        Names such as ``SAE J300 40``, thinnest first; grades overlap below 20.
    """
    return tuple(
        f"{system} {grade}"
        for (system, grade), band in known.items()
        if band.at == at and not grade.endswith("W") and band.holds(viscosity)
    )

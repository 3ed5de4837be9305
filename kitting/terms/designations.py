"""Standard designations of hardware and rings: ``ISO 4762 M8x25-8.8``, ``AS568-210 FKM``.

Only what a designation itself says is read here; dimensions are in the catalogs. Which older
national standards describe the same part is from memory.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, replace

SCREW, NUT, LOCK_NUT, WASHER, O_RING = "screw", "nut", "lock nut", "washer", "o-ring"

# Standard -> family of the part. DIN numbers beside the ISO number that replaced them: from
# memory; some across-flats and washer sizes differ between the two, see ``EQUAL``.
FAMILIES: dict[str, str] = {
    **dict.fromkeys(("ISO 4762", "DIN 912", "ISO 4017", "DIN 933", "ISO 4014", "DIN 931"), SCREW),
    **dict.fromkeys(("ISO 7380", "ISO 10642", "ISO 4026"), SCREW),
    **dict.fromkeys(("ISO 4032", "DIN 934"), NUT),
    **dict.fromkeys(("ISO 7040", "ISO 10511", "DIN 985"), LOCK_NUT),
    **dict.fromkeys(("ISO 7089", "ISO 7090", "DIN 125"), WASHER),
    **dict.fromkeys(("AS568", "ISO 3601"), O_RING),
}
EQUAL: dict[str, str] = {"DIN 912": "ISO 4762", "DIN 933": "ISO 4017", "DIN 931": "ISO 4014"}
EQUAL |= {"DIN 934": "ISO 4032", "DIN 125": "ISO 7089", "DIN 985": "ISO 10511"}
# DIN 934 and DIN 933 nuts and heads have other widths across flats in these threads: from memory.
OTHER_WIDTH = frozenset({"M10", "M12", "M14", "M22"})

_STANDARD = re.compile(r"\b(ISO|DIN|EN ISO)\s*(\d{3,5})\b", re.IGNORECASE)
_THREAD = re.compile(
    r"\bM\s?(?P<size>\d{1,2}(?:\.\d)?)(?![\d.])"
    r"(?:\s*[x\u00d7]\s*(?P<first>\d{1,3}(?:\.\d{1,2})?))?"
    r"(?:\s*[x\u00d7-]\s*(?P<second>\d{1,3}(?:\.\d{1,2})?)(?!\.\d|\d))?",
    re.IGNORECASE,
)
_CLASS = re.compile(r"(?<![\d.])(4\.6|4\.8|5\.6|5\.8|6\.8|8\.8|9\.8|10\.9|12\.9|A[24]-[578]0)\b")
_NUT_CLASS = re.compile(r"\bclass\s*(5|6|8|9|10|12)\b|-(8|10|12)\b", re.IGNORECASE)
_DASH = re.compile(r"\bAS\s?568[\s-]*[A-Z]?-?(\d{3})\b", re.IGNORECASE)
_RING = re.compile(
    r"\bISO\s*3601\D{0,12}?(\d{1,3}(?:\.\d{1,2})?)\s*[x\u00d7]\s*(\d{1,2}(?:\.\d{1,2})?)",
    re.IGNORECASE,
)
# An O-ring by plain words: "o-ring 236, 82.14 x 3.53 mm"; inside first, in millimetres.
_PLAIN_RING = re.compile(
    r"\bo[\s-]?rings?\b.*?(?<![\d.,])(\d{1,3}(?:[.,]\d{1,2})?)\s*[x\u00d7]\s*"
    r"(\d{1,2}(?:[.,]\d{1,2})?)(?!\d|[.,]\d)(?!\s*(?:\"|in\b|inch))",
    re.IGNORECASE,
)
_COMPOUND = re.compile(
    r"\b(FFKM|HNBR|NBR|FKM|FPM|FVMQ|VMQ|EPDM|EPM|IIR|ACM|AEM|AU|EU|CR|SBR|PTFE)"
    r"(?:[\s-]?(\d{2}))?\b",
    re.IGNORECASE,
)
# No coarse or fine thread up to M39 has a coarser pitch than this, and no screw is shorter.
_COARSEST = 4.0


@dataclass(frozen=True, slots=True)
class Designation:
    """What a standard designation says.

    Parameters
    ----------
    standard
        Such as ``ISO 4762``; blank when only a thread is given.
    family
        screw, nut, lock nut, washer or o-ring; blank when not known.
    thread
        Nominal thread, such as ``M8``.
    pitch
        Pitch as written [mm]; 0 = the coarse one.
    length
        Length [mm]; 0 = none given.
    grade
        Property class, such as ``8.8`` or ``A2-70``.
    dash
        Number of an AS568 ring, three digits.
    inside, section
        Inside diameter and section of a ring by ISO 3601 [mm]; 0 = not given.
    compound, hardness
        Elastomer and its hardness [IRHD or Shore A]; 0 = not given.
    """

    standard: str = ""
    family: str = ""
    thread: str = ""
    pitch: float = 0.0
    length: float = 0.0
    grade: str = ""
    dash: str = ""
    inside: float = 0.0
    section: float = 0.0
    compound: str = ""
    hardness: int = 0

    @property
    def size(self) -> str:
        """The size in words: ``M8x25``, ``M12x1.5x30`` or ``-210``."""
        if self.dash:
            return f"-{self.dash}"
        if self.inside:
            return f"{self.inside:g}x{self.section:g}"
        parts = [self.thread, *(f"{n:g}" for n in (self.pitch, self.length) if n)]
        return "x".join(parts)


def parse_designation(text: str) -> Designation | None:
    """Read a designation out of a part number or name; ``None`` when there is none.

    ``M12 x 1.5`` is a thread with its pitch, ``M12 x 30`` one with its length: a number up to 4 is
    a pitch.
    """
    ring = _ring(text)
    if ring is not None:
        return ring
    standard = _STANDARD.search(text)
    name = f"{standard[1].upper().replace('EN ', '')} {standard[2]}" if standard else ""
    rest = text[: standard.start()] + " " + text[standard.end() :] if standard else text
    thread = _THREAD.search(rest)
    if thread is None:
        return Designation(standard=name, family=FAMILIES[name]) if name in FAMILIES else None
    found = _CLASS.search(rest)
    grade = found[1].upper() if found else ""
    family = FAMILIES.get(name, "")
    if not grade and family in {NUT, LOCK_NUT} and (nut := _NUT_CLASS.search(rest)):
        grade = nut[1] or nut[2]
    numbers = [float(n) for n in (thread["first"], thread["second"]) if n and n != grade]
    pitch = numbers.pop(0) if numbers and _is_pitch(numbers[0]) else 0.0
    length = numbers[0] if numbers else 0.0
    return Designation(name, family, f"M{float(thread['size']):g}", pitch, length, grade)


def _is_pitch(number: float) -> bool:
    return number <= _COARSEST


def _ring(text: str) -> Designation | None:
    compound = _COMPOUND.search(text)
    name = compound[1].upper() if compound else ""
    name = {"FPM": "FKM"}.get(name, name)
    hardness = int(compound[2]) if compound and compound[2] else 0
    if not hardness and name and (alone := re.search(r"(?<!\d)([5-9][05])(?!\d)\s*$", text)):
        hardness = int(alone[1])
    dash = _DASH.search(text)
    if dash:
        return Designation("AS568", O_RING, dash=dash[1], compound=name, hardness=hardness)
    metric = _RING.search(text) or _PLAIN_RING.search(text)
    if metric is None:
        return None
    inside, section = (float(n.replace(",", ".")) for n in metric.groups())
    if section > 2 * inside:
        return None
    return Designation(
        "ISO 3601", O_RING, inside=inside, section=section, compound=name, hardness=hardness
    )


def same_part(one: Designation, other: Designation) -> bool:
    """Tell whether two designations name parts of equal dimension, class and compound.

    A DIN number counts as the ISO number that replaced it, except where the width across flats
    differs. What one of the two leaves open (class, compound) is not equal to what the other says.
    """
    return _normal(one) == _normal(other)


def _normal(of: Designation) -> Designation:
    keep = of.thread in OTHER_WIDTH and of.standard in {"DIN 933", "DIN 931", "DIN 934"}
    standard = of.standard if keep else EQUAL.get(of.standard, of.standard)
    return replace(of, standard=standard)

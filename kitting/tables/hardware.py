"""Contracts of the shipped tables of standard hardware and seals."""

from __future__ import annotations

from kitting.tables.contract import Column, Kind, Table


# fmt: off
def _c(name: str, kind: Kind, meaning: str, unit: str = "") -> Column:
    return Column(name, kind, meaning, unit)


_SOURCE = _c("source", "text", "who says so")

O_RINGS = Table("o_rings", "o-ring sizes of AS568 and ISO 3601-1", "reading", (
    _c("dash", "text", "AS568 number, three digits"),
    _c("inside_mm", "real", "inside diameter", "mm"),
    _c("section_mm", "real", "section", "mm"),
    _c("inside_tolerance_mm", "real", "tolerance of the inside diameter", "mm"),
    _c("section_tolerance_mm", "real", "tolerance of the section", "mm"),
    _SOURCE,
), ("dash",))

SCREWS = Table("screws", "heads of ISO 4762 and ISO 4017 screws", "reading", (
    _c("standard", "text", "ISO 4762 or ISO 4017"),
    _c("thread", "text", "nominal thread"),
    _c("pitch_mm", "real", "coarse pitch", "mm"),
    _c("across_flats_mm", "real", "size of the key or spanner", "mm"),
    _c("driven_by", "text", "hexagon key or spanner"),
    _c("head_height_mm", "real", "height of the head", "mm"),
    _c("head_diameter_mm", "real", "greatest diameter of a plain head; missing = hexagon", "mm"),
    _SOURCE,
), ("standard", "thread"))

NUTS = Table("nuts", "ISO 4032 nuts", "reading", (
    _c("standard", "text", "ISO 4032"),
    _c("thread", "text", "nominal thread"),
    _c("pitch_mm", "real", "coarse pitch", "mm"),
    _c("across_flats_mm", "real", "size of the spanner", "mm"),
    _c("height_mm", "real", "greatest height", "mm"),
    _SOURCE,
), ("standard", "thread"))

WASHERS = Table("washers", "ISO 7089 washers", "reading", (
    _c("standard", "text", "ISO 7089"),
    _c("thread", "text", "thread that it is for"),
    _c("inside_mm", "real", "least inside diameter", "mm"),
    _c("outside_mm", "real", "greatest outside diameter", "mm"),
    _c("thickness_mm", "real", "nominal thickness", "mm"),
    _SOURCE,
), ("standard", "thread"))

THREADS = Table("threads", "metric threads", "reading", (
    _c("thread", "text", "nominal thread"),
    _c("pitch_mm", "real", "coarse pitch", "mm"),
    _c("fine_pitches_mm", "text", "fine pitches, ; between", "mm"),
    _c("stress_area_mm2", "real", "nominal stress area of the coarse thread", "mm2"),
    _SOURCE,
), ("thread",))

STRENGTHS = Table("strengths", "property classes of screws", "reading", (
    _c("grade", "text", "property class, such as 8.8"),
    _c("proof_stress_to_m16_mpa", "real", "proof stress up to M16", "MPa"),
    _c("proof_stress_over_m16_mpa", "real", "proof stress above M16", "MPa"),
    _c("tensile_to_m16_mpa", "real", "least tensile strength up to M16", "MPa"),
    _c("tensile_over_m16_mpa", "real", "least tensile strength above M16", "MPa"),
    _SOURCE,
), ("grade",))

ELASTOMERS = Table("elastomers", "how long seals may be stored", "reading", (
    _c("compound", "text", "short sign of the rubber"),
    _c("name", "text", "its name"),
    _c("storage_years", "text", "years unopened; unlimited; blank = not known", "years"),
    _c("conditions", "text", "under which conditions"),
    _c("note", "text", "what to know beside it"),
    _SOURCE,
), ("compound",))

HARDWARE: tuple[Table, ...] = (
    O_RINGS, SCREWS, NUTS, WASHERS, THREADS, STRENGTHS, ELASTOMERS,
)

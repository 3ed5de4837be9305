"""R10: figures have a source, and tools that can measure them."""

from __future__ import annotations

import re
from collections import defaultdict
from typing import TYPE_CHECKING

from kitting.bill.openings import extra
from kitting.bill.survey import listed
from kitting.tables.extra_sheets import FIGURES
from kitting.terms.torque import newton_metres, torque_unit
from kitting.terms.words import Level, Role

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from kitting.bill.survey import Filler, Gap, Place, Survey

_ANGLE = re.compile(r"\b(angle|degrees?|deg|tty|torque[- ]to[- ]yield|stretch)\b|\u00b0", re.I)
# "torque wrench 20-100 N m", "5 to 25 Nm", "10 - 150 ft-lb"
_RANGE = re.compile(
    r"(\d+(?:\.\d+)?)\s*(?:-|\u2013|to)\s*(\d+(?:\.\d+)?)\s*([a-z]+[\s.\-*\u00b7]*[a-z]*)", re.I
)


def figures(seen: Survey) -> Iterator[Gap]:
    """Find figures without a source, angles without a gauge, torques outside every wrench.

    Ranges are read from the wrenches' names; a wrench that names none may hold any torque.
    """
    sheet = _figures(seen)
    for place in seen.places:
        told = place.having(Role.FIGURE)
        if any(not figure.source and not figure.note for figure in told):
            message = "the figure has neither value nor source; write manual and page"
            yield place.gap(Role.FIGURE, message, Level.NOTE)
        rows = sheet.get((place.assembly, place.joint), ())
        spoken = [f"{f.note} {f.name}" for f in (*told, *place.having(Role.CLAMP))]
        angled = any(_ANGLE.search(text) for text in (*spoken, *(what for what, _, _ in rows)))
        if angled and not _tools(seen, place, "angle gauge"):
            yield place.gap(
                Role.TOOL,
                "tightened by angle and no angle gauge is listed; add one to the joint or stage",
            )
        yield from _ranges(seen, place, rows)


_Row = tuple[str, float, str]


def _figures(seen: Survey) -> Mapping[tuple[str, str], list[_Row]]:
    """Return what each figure of a joint is, its value and unit."""
    frame = extra(seen, FIGURES)
    found: dict[tuple[str, str], list[_Row]] = defaultdict(list)
    columns = ("assembly", "joint", "what", "value", "unit")
    for assembly, joint, *row in zip(*(frame[c].tolist() for c in columns), strict=True):
        found[assembly, joint].append((row[0], row[1], row[2]))
    return found


def _tools(seen: Survey, place: Place, family: str) -> list[Filler]:
    """Return the tools of a family at the joint or for a stage of the assembly."""
    loose = seen.loose.get((place.build, place.assembly), ())
    return [
        f
        for f in (*place.fillers, *loose)
        if any(
            seen.families.is_a(m, (family,)) for m in (f.family, *seen.families.mentioned(f.name))
        )
    ]


def _ranges(seen: Survey, place: Place, rows: list[_Row] | tuple[()]) -> Iterator[Gap]:
    torques = [
        (newton_metres(value, named), f"{value:g} {named}")
        for what, value, unit in rows
        if value == value and "torque" in what.casefold() and (named := torque_unit(unit))
    ]
    if not torques:
        return
    wrenches = [(f.called, _range(f.name)) for f in _tools(seen, place, "torque wrench")]
    ranges = [span for _, span in wrenches if span is not None]
    if not wrenches or len(ranges) < len(wrenches):
        return
    for torque, written in torques:
        if not any(low <= torque <= high for low, high in ranges):
            yield place.gap(
                Role.TOOL,
                f"{written} lies outside {listed(name for name, _ in wrenches)}; add a wrench "
                "that holds it",
            )


def _range(name: str) -> tuple[float, float] | None:
    """Return the least and the greatest torque that a wrench's name gives [N m]."""
    match = _RANGE.search(name)
    unit = torque_unit(match[3]) if match else ""
    if match is None or not unit:
        return None
    return newton_metres(float(match[1]), unit), newton_metres(float(match[2]), unit)

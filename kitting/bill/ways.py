"""How the amount of a consumable is computed: one formula for each way.

Volumes are in microlitres, which are cubic millimetres. What the factors are, and what they are
worth, is in the catalog ``ways``.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from kitting.errors import UnitError
from kitting.terms.designations import parse_designation
from kitting.terms.units import Dimension, Unit, counted, unit
from kitting.terms.words import WAY_NEEDS, Way

if TYPE_CHECKING:
    from collections.abc import Mapping

    import pandas as pd

ENGAGED = 1.5
"""Length of engaged thread that a locked screw is reckoned with, in diameters."""


@dataclass(frozen=True, slots=True)
class Factor:
    """One row of table ``ways``."""

    way: str
    factor: float
    waste: float
    density: float
    tolerance: float
    mark: str
    source: str


@dataclass(frozen=True, slots=True)
class Row:
    """One row of table ``amounts``, blanks as nothing."""

    way: str
    count: int
    length: float
    diameter: float
    thread: str
    quantity: int
    share: float


def factors(ways: pd.DataFrame) -> dict[str, Factor]:
    """Return the rows of table ``ways`` by way."""
    names = ("way", "factor", "waste", "density", "tolerance", "mark", "source")
    return {row[0]: Factor(*row) for row in zip(*(ways[n].tolist() for n in names), strict=True)}


def bead(diameter: float, length: float) -> float:
    """Return the volume of a round bead, pi/4 d2 L.

    Parameters
    ----------
    diameter, length
        [mm]

    Returns
    -------
    float
        [ul]
    """
    return math.pi / 4 * diameter**2 * length


def thread_void(diameter: float, pitch: float, engaged: float) -> float:
    """Return the void between screw and hole over some length of thread.

    Profile by ISO 68-1 with roots taken sharp; both threads at the middle of their tolerance, 6g
    in 6H, by the formulas of ISO 965-1 (from memory). Per pitch the void is the offset of the two
    profiles, and the triangles that the crests lack:
    ``P (D2 - d2) / 2 + sqrt(3)/4 (w_screw2 + w_hole2)``, w the width of a crest.

    Parameters
    ----------
    diameter, pitch, engaged
        Nominal diameter, pitch and length of engagement [mm].

    Returns
    -------
    float
        [ul]
    """
    flank = math.tan(math.radians(30))
    middle = diameter - 0.75 * math.sqrt(3) / 2 * pitch
    minor = diameter - 1.25 * math.sqrt(3) / 2 * pitch
    on_screw = 0.090 * pitch**0.4 * diameter**0.1
    allowance = 0.015 + 0.011 * pitch
    on_crest = 0.180 * pitch ** (2 / 3) - 0.00315 / math.sqrt(pitch)
    on_minor = 0.433 * pitch - 0.190 * pitch**1.22 if pitch < 1 else 0.230 * pitch**0.7
    screw, crest = middle - allowance - on_screw / 2, diameter - allowance - on_crest / 2
    hole, tip = middle + 1.32 * on_screw / 2, minor + on_minor / 2
    of_screw = pitch / 2 - (crest - screw) * flank
    of_hole = pitch / 2 - (hole - tip) * flank
    area: float = pitch * (hole - screw) / 2 + math.sqrt(3) / 4 * (of_screw**2 + of_hole**2)
    return math.pi * middle * engaged / pitch * area


def lacking(row: Row) -> str:
    """Return the column that a row needs and lacks; blank when it is whole."""
    for column in WAY_NEEDS[Way(row.way)]:
        value = getattr(row, column)
        if not value or value != value:
            return column
    return ""


def amount(row: Row, by_way: Mapping[str, Factor], pitches: Mapping[str, float], of: Unit) -> float:
    """Compute one row, for one alike place of its joint.

    Parameters
    ----------
    row
        What is there.
    by_way
        Rows of table ``ways``.
    pitches
        Coarse pitch by thread [mm].
    of
        Unit of the part.

    Returns
    -------
    float
        Base units of the part, not yet rounded.

    Raises
    ------
    ValueError
        When something is lacking; the message says what to write.
    """
    factor = by_way.get(row.way)
    if factor is None:
        raise ValueError(f'"{row.way}" is not a way; write one of {", ".join(Way)}')
    if column := lacking(row):
        raise ValueError(f"{row.way} needs the {column} in the sheet amounts")
    if of.dimension not in (Dimension.VOLUME, Dimension.MASS):
        raise ValueError(f"the part is counted in {of.name}; count it in ml or g")
    if row.way == Way.FILL:
        return float(row.quantity * row.count)
    if row.way == Way.MIX:
        return row.quantity * row.count * row.share
    volume = row.count * factor.factor * (1 + factor.waste) * _geometry(row, pitches)
    return volume * factor.density if of.dimension is Dimension.MASS else volume


def _geometry(row: Row, pitches: Mapping[str, float]) -> float:
    """Return what the factor multiplies."""
    match row.way:
        case Way.BEAD:
            return bead(row.diameter, row.length)
        case Way.LIP:
            return math.pi * row.diameter
        case Way.FILM:
            return math.pi * row.diameter * row.length
        case Way.CLEAN:
            return row.length
    found = parse_designation(row.thread)
    pitch = (found.pitch or pitches.get(found.thread, 0.0)) if found else 0.0
    if found is None or not pitch:
        raise ValueError(
            f'thread "{row.thread}" has no pitch in the catalog; write it with its pitch, as in '
            "M12x1.5"
        )
    diameter = float(found.thread[1:])
    return thread_void(diameter, pitch, ENGAGED * diameter)


def told(row: Row, of: Unit) -> str:
    """Say in words what a row is: ``bead 3 mm x 1600 mm``."""
    times = f"{row.count} x " if row.count > 1 else ""
    match row.way:
        case Way.BEAD:
            return f"{times}bead {row.diameter:g} mm x {row.length:g} mm"
        case Way.THREAD:
            return f"{row.count} x {row.thread}"
        case Way.LIP:
            return f"{times}lip on {row.diameter:g} mm"
        case Way.FILM:
            return f"{times}film {row.diameter:g} mm x {row.length:g} mm"
        case Way.CLEAN:
            return f"{times}{row.length:g} mm cleaned"
        case Way.MIX:
            return f"{times}{counted(row.quantity, of)} at {100 * row.share:g} %"
    return f"{times}{counted(row.quantity, of)}"


def unit_of(name: str) -> Unit:
    """Return a unit by name; one that is unknown counts pieces.

    Units are checked at the door, so an unknown one can only come from a frame made by hand.
    """
    try:
        return unit(name)
    except UnitError:
        return unit("piece")

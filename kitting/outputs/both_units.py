"""A figure in both units, the one it was written in first."""

from __future__ import annotations

import re
from fractions import Fraction

from kitting.errors import UnitError
from kitting.terms.torque import NEWTON_METRES, torque_unit
from kitting.terms.units import Dimension, Unit, convert, counted, show, unit

# What a figure is also told in; a unit that is not here is told alone.
_TORQUES = {
    "N m": "lbf ft",
    "N cm": "lbf in",
    "lbf ft": "N m",
    "lbf in": "N m",
    "ozf in": "N m",
    "kgf m": "N m",
    "kgf cm": "N m",
}
# A number or two, and a unit of torque after them.
_WRITTEN = re.compile(
    r"(?P<low>\d+(?:\.\d+)?)(?:\s*(?:-|\u2013|to)\s*(?P<high>\d+(?:\.\d+)?))?\s*"
    r"(?P<unit>N[ .\u00b7-]?c?m|m?kgf?[ .-]?c?m|kp[ .-]?m"
    r"|(?:foot|inch|ft|in|ozf?|lbf?|lbs)[ .-]+(?:pounds|ft|in|lbf?|lbs|ozf?))\b",
    re.IGNORECASE,
)
_OTHERS = {"mm": "in", "in": "mm", "ft": "m", "um": "in"}
_LITTLE = {Dimension.VOLUME: "ml", Dimension.MASS: "g", Dimension.LENGTH: "mm"}


def both_units(value: float, written: str) -> str:
    """Write a figure as it stands, and converted: ``25 N m (18.4 lbf ft)``.

    The converted one has three digits that count, as many as a torque wrench or a micrometer can
    be set or read to; the first one decides.

    Parameters
    ----------
    value
        The figure.
    written
        Its unit, as the maker writes it.

    Returns
    -------
    str
        The figure alone where its unit has no other.
    """
    own = f"{value:.10g} {written}".strip()
    torque = torque_unit(written)
    if torque:
        other = _TORQUES[torque]
        factor = NEWTON_METRES[torque] / NEWTON_METRES[other]
        return f"{own} ({_three(Fraction(repr(float(value))) * factor)} {other})"
    try:
        of = unit(written) if written else None
    except UnitError:
        return own
    if of is None or of.name not in _OTHERS:
        return own
    other_unit = unit(_OTHERS[of.name])
    converted = convert(Fraction(repr(float(value))), of, other_unit)
    return f"{own} ({_three(converted)} {other_unit.name})"


def told_in_both(text: str) -> str:
    """Add the other unit to a torque within a text: ``25-32 lb-ft (33.9-43.4 N m), in turn``.

    A text that gives more than one torque unit, or none, is returned as it is.
    """
    found = list(_WRITTEN.finditer(text))
    units = {torque_unit(match["unit"]) for match in found}
    if len(units) != 1 or "" in units:
        return text
    (own,) = units
    factor = NEWTON_METRES[own] / NEWTON_METRES[_TORQUES[own]]

    def both(match: re.Match[str]) -> str:
        ends = [_three(Fraction(n) * factor) for n in (match["low"], match["high"]) if n]
        return f"{match[0]} ({'-'.join(ends)} {_TORQUES[own]})"

    return _WRITTEN.sub(both, text)


def _three(number: Fraction) -> str:
    """Write three digits that count, without an exponent."""
    text = f"{float(f'{float(number):.3g}'):.10f}"
    return text.rstrip("0").rstrip(".")


def amount_text(quantity: int, of: Unit) -> str:
    """Write base units of a part so that a small amount can be told: ``20 ml``, not ``0.02 l``.

    Pieces have no unit. Volumes and masses have three digits that count.
    """
    if of.dimension is Dimension.COUNT and of.factor == 1:
        return show(quantity, of)
    little = _LITTLE.get(of.dimension)
    if little and quantity < of.factor:
        of = unit(little)
    if of.dimension in (Dimension.VOLUME, Dimension.MASS):
        return f"{_three(Fraction(quantity) / of.factor)} {of.name}"
    return counted(quantity, of)

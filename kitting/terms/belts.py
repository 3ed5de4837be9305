"""How long a belt is that runs around pulleys."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import combinations
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

_Point = tuple[float, float]
_Span = tuple[_Point, _Point]
_TURN = 2 * math.pi
_CLOSE = 1e-9


@dataclass(frozen=True, slots=True)
class Pulley:
    """One pulley, seen along its shaft.

    Parameters
    ----------
    name
        What it is called.
    x, y
        Its centre [mm].
    diameter
        Effective diameter: at the line along which the belt's length is stated [mm].
    back
        The belt runs over it with its back.
    """

    name: str
    x: float
    y: float
    diameter: float
    back: bool = False


def belt_length(pulleys: Sequence[Pulley]) -> float:
    """Return the length of the belt around pulleys that stand in the order of its run [mm].

    Between pulleys ``i`` and ``j``, at distance ``c``, the span is ``sqrt(c^2 - k^2)`` and its
    direction is that of the centres less ``asin(k / c)``, with ``k = t_j r_j - t_i r_i``; ``t`` is
    1 where the belt turns to the left around the pulley and -1 where it turns to the right, which
    differs between inside and back. The arc on a pulley is its radius times the turn between the
    directions of its two spans. A belt that closes turns once in all; of the two ways round, that
    one is taken. Source: derived geometry (common tangents of circles), exact for a belt without
    thickness at the effective diameters.

    Raises
    ------
    ValueError
        When there are fewer than two pulleys, when two overlap, when a diameter is not above
        zero, or when no belt runs around them in this order and with these turns: it would cross
        itself, or a pulley that it passes.
    """
    if len(pulleys) < 2:
        raise ValueError("a belt needs two pulleys")
    _check(pulleys)
    found = []
    for way in (1, -1):
        length, turned, spans = _round(pulleys, way)
        if math.isclose(turned, way * _TURN, abs_tol=1e-6) and _free(spans, pulleys):
            found.append(length)
    if not found:
        raise ValueError("no belt runs around them in this order and with these turns")
    return min(found)


def _check(pulleys: Sequence[Pulley]) -> None:
    for one in pulleys:
        if not one.diameter > 0:
            raise ValueError(f"{one.name} has no diameter above zero")
    for one, other in combinations(pulleys, 2):
        centres = math.hypot(other.x - one.x, other.y - one.y)
        if not centres > (one.diameter + other.diameter) / 2:
            raise ValueError(f"{one.name} and {other.name} overlap")


def _round(pulleys: Sequence[Pulley], way: int) -> tuple[float, float, list[_Span]]:
    """Return length, whole turn and spans of a belt that turns left (1) or right (-1) inside."""
    turns = [-way if p.back else way for p in pulleys]
    length, headings, spans = 0.0, [], []
    for at, (one, turn) in enumerate(zip(pulleys, turns, strict=True)):
        after = (at + 1) % len(pulleys)
        other = pulleys[after]
        dx, dy = other.x - one.x, other.y - one.y
        centres = math.hypot(dx, dy)
        shift = (turns[after] * other.diameter - turn * one.diameter) / 2
        length += math.sqrt(centres**2 - shift**2)
        heading = math.atan2(dy, dx) - math.asin(shift / centres)
        headings.append(heading)
        spans.append((_touch(one, turn, heading), _touch(other, turns[after], heading)))
    turned = 0.0
    for at, (one, turn) in enumerate(zip(pulleys, turns, strict=True)):
        arc = turn * (headings[at] - headings[at - 1]) % _TURN
        if _TURN - arc < _CLOSE:
            arc = 0.0
        length += arc * one.diameter / 2
        turned += turn * arc
    return length, turned, spans


def _touch(pulley: Pulley, turn: int, heading: float) -> _Point:
    """Return where a span of this heading touches a pulley."""
    out = turn * pulley.diameter / 2
    return pulley.x + out * math.sin(heading), pulley.y - out * math.cos(heading)


def _free(spans: Sequence[_Span], pulleys: Sequence[Pulley]) -> bool:
    """Tell whether no span crosses another or runs through a pulley that it passes."""
    if any(_cross(one, other) for one, other in combinations(spans, 2)):
        return False
    return not any(
        _distance(span, (pulley.x, pulley.y)) < pulley.diameter / 2 * (1 - _CLOSE)
        for span in spans
        for pulley in pulleys
    )


def _side(span: _Span, point: _Point) -> float:
    (ax, ay), (bx, by) = span
    return (bx - ax) * (point[1] - ay) - (by - ay) * (point[0] - ax)


def _cross(one: _Span, other: _Span) -> bool:
    """Tell whether two spans cross in their insides."""
    return (
        _side(one, other[0]) * _side(one, other[1]) < 0
        and _side(other, one[0]) * _side(other, one[1]) < 0
    )


def _distance(span: _Span, point: _Point) -> float:
    """Return how far a point is from a span."""
    (ax, ay), (bx, by) = span
    dx, dy = bx - ax, by - ay
    along = ((point[0] - ax) * dx + (point[1] - ay) * dy) / (dx * dx + dy * dy)
    along = min(1.0, max(0.0, along))
    return math.dist(point, (ax + along * dx, ay + along * dy))

"""Belts around pulleys: known figures, other ways to the same length, and what cannot be."""

from __future__ import annotations

import math

import pytest
from terms.plain_belt import open_belt_length

from kitting.terms.belts import Pulley, belt_length

INCH = 25.4


def hull(pulleys) -> float:
    """Return the length of a string pulled tight around circles, by points on their rims."""
    step = 2 * math.pi / 4000
    rims = [
        (p.x + p.diameter / 2 * math.cos(n * step), p.y + p.diameter / 2 * math.sin(n * step))
        for p in pulleys
        for n in range(4000)
    ]
    rims.sort()
    edge: list = []
    for points in (rims, rims[::-1]):
        half: list = []
        for x, y in points:
            while len(half) > 1:
                (ax, ay), (bx, by) = half[-2:]
                if (bx - ax) * (y - ay) - (by - ay) * (x - ax) > 0:
                    break
                half.pop()
            half.append((x, y))
        edge += half[:-1]
    return sum(math.dist(a, b) for a, b in zip(edge, edge[1:] + edge[:1], strict=True))


@pytest.mark.parametrize(
    ("large", "small", "centres"), [(136, 114, 300), (200, 60, 250), (80, 80, 100), (50, 180, 400)]
)
def test_two_pulleys_agree_with_the_approximation(large, small, centres) -> None:
    """2C + pi/2 (D + d) + (D - d)^2 / 4C is within its next term; equal pulleys are exact."""
    exact = open_belt_length(large, small, centres)
    rough = 2 * centres + math.pi / 2 * (large + small) + (large - small) ** 2 / (4 * centres)
    assert abs(exact - rough) <= (large - small) ** 4 / (64 * centres**3)
    pair = [Pulley("a", 0, 0, large), Pulley("b", 0, centres, small)]
    assert belt_length(pair) == pytest.approx(exact, rel=1e-12)
    assert exact == pytest.approx(hull(pair), rel=1e-6)


def test_the_worked_figure_of_the_trade() -> None:
    """A pulley of 5.35 in that becomes 4.50 in, at half wrap, takes about 1.34 in off the belt."""
    far = 1000.0
    pair = open_belt_length(5.35, 5.35, far) - open_belt_length(5.35, 4.50, far)
    assert pair == pytest.approx(1.34, abs=0.006)
    assert pair == pytest.approx(math.pi / 2 * 0.85, abs=0.001)
    drive = [
        Pulley("pump", 0, 0, 5.35 * INCH),
        Pulley("left", -4000, -40000, 60),
        Pulley("right", 4000, -40000, 60),
    ]
    smaller = [Pulley("pump", 0, 0, 4.50 * INCH), *drive[1:]]
    assert (belt_length(drive) - belt_length(smaller)) / INCH == pytest.approx(1.34, abs=0.1)


def test_inside_pulleys_are_a_string_pulled_tight() -> None:
    """Around four pulleys the belt is as long as the outline of their rims."""
    drive = [
        Pulley("crank", 0, 0, 136),
        Pulley("pump", 20, 210, 114),
        Pulley("alternator", -180, 260, 60),
        Pulley("idler", -230, 60, 76),
    ]
    assert belt_length(drive) == pytest.approx(hull(drive), rel=1e-6)


def test_an_idler_on_the_back() -> None:
    """Two equal pulleys and an idler pressed on from outside, reckoned by its symmetry."""
    a, r, c, q = 200.0, 60.0, 80.0, 35.0
    drive = [
        Pulley("left", -a, 0, 2 * r),
        Pulley("right", a, 0, 2 * r),
        Pulley("idler", 0, c, 2 * q, back=True),
    ]
    away = math.hypot(a, c)
    lean = math.asin((r + q) / away) - math.atan2(c, a)
    spans = 2 * a + 2 * math.sqrt(away**2 - (r + q) ** 2)
    arcs = 2 * r * (math.pi + lean) + 2 * q * lean
    assert lean > 0
    assert belt_length(drive) == pytest.approx(spans + arcs, rel=1e-12)
    assert belt_length(drive) > open_belt_length(2 * r, 2 * r, 2 * a)


@pytest.mark.parametrize("turned", [0.0, 0.7, math.pi / 2, 2.5])
def test_where_one_stands_and_starts_does_not_matter(turned: float) -> None:
    """Moved, turned, mirrored, begun elsewhere or told backwards, the belt is the same."""
    drive = [
        Pulley("crank", 0, 0, 136),
        Pulley("pump", 250, 30, 114),
        Pulley("idler", 130, 110, 50, back=True),
        Pulley("alternator", 60, 280, 60),
    ]
    length = belt_length(drive)
    cos, sin = math.cos(turned), math.sin(turned)
    moved = [
        Pulley(p.name, 9 + cos * p.x - sin * p.y, sin * p.x + cos * p.y - 7, p.diameter, p.back)
        for p in drive
    ]
    mirrored = [Pulley(p.name, -p.x, p.y, p.diameter, p.back) for p in drive]
    for other in (moved, mirrored, drive[::-1], drive[2:] + drive[:2]):
        assert belt_length(other) == pytest.approx(length, rel=1e-12)


@pytest.mark.parametrize(
    ("pulleys", "says"),
    [
        ([Pulley("a", 0, 0, 50)], "two pulleys"),
        ([Pulley("a", 0, 0, 50), Pulley("b", 40, 0, 50)], "a and b overlap"),
        ([Pulley("a", 0, 0, 50), Pulley("b", 90, 0, 0)], "b has no diameter above zero"),
        ([Pulley("a", 0, 0, 50), Pulley("b", 90, 0, 50, back=True)], "no belt runs around"),
        # The idler stands beyond the belt: its back never touches it.
        (
            [Pulley("a", 0, 0, 50), Pulley("b", 300, 0, 50), Pulley("c", 150, 200, 50, back=True)],
            "no belt runs around",
        ),
        # The belt would run straight through the middle one.
        (
            [Pulley("a", 0, 0, 50), Pulley("b", 150, 0, 60, back=True), Pulley("c", 300, 0, 50)],
            "no belt runs around",
        ),
        # Four corners told crosswise.
        (
            [Pulley("a", 0, 0, 50), Pulley("b", 300, 300, 50), Pulley("c", 300, 0, 50),
             Pulley("d", 0, 300, 50)],
            "no belt runs around",
        ),
    ],
)  # fmt: skip
def test_what_cannot_be(pulleys, says: str) -> None:
    """Overlaps, crossed belts and idlers that the belt does not touch are told."""
    with pytest.raises(ValueError, match=says):
        belt_length(pulleys)

"""The length of a belt around two pulleys by its closed formula, held against the general one."""

from __future__ import annotations

import math


def open_belt_length(large: float, small: float, centres: float) -> float:
    """Return ``L = 2 C cos(a) + pi/2 (D + d) + a (D - d)`` with ``sin(a) = (D - d) / 2C``.

    Two straight spans and two wrapped arcs of ``pi + 2a`` and ``pi - 2a``; derived geometry, exact.
    """
    lean = math.asin((large - small) / (2 * centres))
    spans = 2 * centres * math.cos(lean)
    return spans + math.pi / 2 * (large + small) + lean * (large - small)

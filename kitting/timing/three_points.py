"""How long a stage takes, told by three points: when all goes well, most likely, badly.

The formulas are those of D. G. Malcolm, J. H. Roseboom, C. E. Clark, W. Fazar, Application of a
technique for research and development program evaluation, Operations Research 7:646-669, 1959
(from memory).
"""

from __future__ import annotations

from math import erf, sqrt


def expected(least: float, likely: float, most: float) -> float:
    """Return the mean, (least + 4 likely + most) / 6 [working days]."""
    return (least + 4 * likely + most) / 6


def variance(least: float, most: float) -> float:
    """Return the variance, ((most - least) / 6) squared [working days squared]."""
    return ((most - least) / 6) ** 2


def told(least: float, likely: float, most: float) -> bool:
    """Tell whether three points are given and in order; NaN is blank."""
    return least <= likely <= most and most > 0


def chance_by(mean: float, variance: float, days: float) -> float:
    """Return the chance of being finished within some days, as if the sum were normal.

    Parameters
    ----------
    mean
        Expected length of the critical path [working days].
    variance
        Sum of the variances along it [working days squared].
    days
        The days there are [working days].
    """
    if variance <= 0:
        return 1.0 if days >= mean else 0.0
    return (1 + erf((days - mean) / sqrt(2 * variance))) / 2

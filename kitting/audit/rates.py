"""Shares of small numbers, told honestly."""

from __future__ import annotations

from statistics import NormalDist
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray


def wilson(
    successes: ArrayLike, trials: ArrayLike, level: float = 0.95
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return the Wilson score interval of a share.

    With share p = x / n and z the normal quantile of the level, the ends are
    ``(p + z^2/2n -+ z sqrt(p (1 - p)/n + z^2/4n^2)) / (1 + z^2/n)`` (Wilson 1927; method 3 of
    Newcombe, Statistics in Medicine 17:857, 1998). It keeps its width at 0 and at n, where the
    textbook interval shrinks to nothing. Without trials it is 0 to 1.

    Parameters
    ----------
    successes, trials
        Whole numbers of one shape, 0 <= successes <= trials.
    level
        Share of intervals that hold the true value, between 0 and 1.

    Returns
    -------
    low, high
        Ends of the interval [share].
    """
    x = np.asarray(successes, dtype="float64")
    n = np.asarray(trials, dtype="float64")
    z = NormalDist().inv_cdf((1 + level) / 2)
    some = np.where(n > 0, n, 1.0)
    p = x / some
    middle = p + z**2 / (2 * some)
    reach = z * np.sqrt(p * (1 - p) / some + z**2 / (4 * some**2))
    scale = 1 + z**2 / some
    low = np.where(x > 0, np.clip((middle - reach) / scale, 0.0, 1.0), 0.0)
    high = np.where(x < n, np.clip((middle + reach) / scale, 0.0, 1.0), 1.0)
    return low, high

"""Is it getting better: the trend of forgotten parts over builds, with an interval."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from kitting.tables.audit import PROGRESS

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from numpy.typing import NDArray

    Reals = NDArray[np.float64]

BETTER, WORSE, UNKNOWN = "better", "worse", "cannot be told yet"
_LARGEST = 20_000  # possible sums up to which the distribution is worked out exactly
_STEEPEST = 60.0  # logarithm of the factor from first to last build beyond which nothing is sought


def progress(trend: pd.DataFrame) -> pd.DataFrame:
    """Tell whether builds forget fewer parts than they did.

    Forgotten parts are taken to come at a rate of their assembly's own that changes by the same
    factor from build to build. Given how many each assembly forgot in all, where they fell no
    longer depends on those rates, and the sum of the builds' positions tells of the factor alone.
    The interval holds every factor under which that sum is neither in the lowest nor in the
    highest 2.5 %, half of its own weight counted (mid-p; conditional inference for Poisson rates,
    Cox and Lewis, The Statistical Analysis of Series of Events, 1966, chapter 3). With very many
    parts the sum is taken as normal.

    Parameters
    ----------
    trend
        Table ``trend``.

    Returns
    -------
    DataFrame
        Table ``progress``, one row: the factor from the first build to the last. Without builds
        it is empty.
    """
    if trend.empty:
        return PROGRESS.empty()
    builds, events = len(trend), int(trend["events"].sum())
    factor, low, high = np.nan, 0.0, np.inf
    if builds > 1 and events:
        strata = [
            (g["position"].to_numpy("int64") - 1, int(g["events"].sum()))
            for _, g in trend.groupby("assembly", sort=False)
        ]
        strata = [(at, n) for at, n in strata if n and len(at) > 1]
        seen = sum(
            int(((g["position"] - 1) * g["events"]).sum())
            for _, g in trend.groupby("assembly", sort=False)
            if len(g) > 1
        )
        if strata:
            factor, low, high = _interval(strata, seen, builds - 1)
    verdict = BETTER if high < 1 else WORSE if low > 1 else UNKNOWN
    row = {
        "builds": builds,
        "events": events,
        "each": events / builds,
        "factor": factor,
        "low": low,
        "high": high,
        "verdict": verdict,
    }
    return PROGRESS.check(PROGRESS.conform(pd.DataFrame([row])))


def _interval(
    strata: Sequence[tuple[NDArray[np.int64], int]], seen: int, span: int
) -> tuple[float, float, float]:
    """Return the likeliest factor from first to last, and the ends of its interval."""
    most = sum(int(at.max()) * n for at, n in strata)
    least = sum(int(at.min()) * n for at, n in strata)

    def mean(slope: float) -> float:
        return sum(n * float(_tilted(at, slope / span) @ at) for at, n in strata)

    best = _root(lambda s: mean(s) - seen)
    if most - least <= _LARGEST:
        weights = _sums(strata)
        sums = np.arange(len(weights)) + least

        def below(slope: float) -> float:
            tilted = weights + (sums - seen) * slope / span
            share = np.exp(tilted - tilted.max())
            at = seen - least
            return float((share[:at].sum() + share[at] / 2) / share.sum())

        # A falling share below: the greater the slope, the greater the sums.
        low = _root(lambda s: 0.975 - below(s)) if seen > least else -np.inf
        high = _root(lambda s: 0.025 - below(s)) if seen < most else np.inf
    else:
        variance = sum(
            n * float(_tilted(at, best / span) @ at.astype(float) ** 2)
            - n * float(_tilted(at, best / span) @ at) ** 2
            for at, n in strata
        )
        reach = 1.959964 * span / np.sqrt(variance)
        low, high = best - reach, best + reach
    return float(np.exp(best)), float(np.exp(low)), float(np.exp(high))


def _tilted(at: NDArray[np.int64], slope: float) -> Reals:
    """Return the shares of builds at some positions when the rate grows by a slope."""
    share = np.exp(slope * (at - (at.max() if slope > 0 else at.min())))
    return np.asarray(share / share.sum())


def _sums(strata: Sequence[tuple[NDArray[np.int64], int]]) -> Reals:
    """Return the logarithm of how many ways lead to each sum of positions, from the least up."""
    ways = np.ones(1)
    for at, n in strata:
        one = np.zeros(int(at.max() - at.min()) + 1)
        one[at - at.min()] = 1 / len(at)
        for _ in range(n):
            ways = np.convolve(ways, one)
    with np.errstate(divide="ignore"):
        return np.asarray(np.log(ways))


def _root(rises: Callable[[float], float]) -> float:
    """Return where a rising function is zero, by halving; its ends when it is nowhere."""
    low, high = -_STEEPEST, _STEEPEST
    if rises(low) >= 0:
        return -np.inf
    if rises(high) <= 0:
        return np.inf
    for _ in range(80):
        middle = (low + high) / 2
        low, high = (middle, high) if rises(middle) < 0 else (low, middle)
    return (low + high) / 2

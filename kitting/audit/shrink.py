"""Rates of small numbers, drawn towards the rate of their like as far as the numbers ask for it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    Reals = NDArray[np.float64]

# Strengths of a prior that are looked at [trials]; beyond the last all rates count as one.
_WEAKEST, _STRONGEST = 0.1, 10_000.0


def beta_by_moments(rates: ArrayLike) -> tuple[float, float]:
    """Return the beta distribution with mean and variance of some raw rates.

    With mean m and variance v of the rates, ``a + b = m (1 - m) / v - 1`` and ``a = m (a + b)``
    (Gelman et al., Bayesian Data Analysis, 3rd ed., section 5.1). It takes the binomial spread of
    small samples for spread of the true rates: with few trials each, use ``fit_beta``.

    Raises
    ------
    ValueError
        When the rates do not differ, or differ more than any beta distribution.
    """
    values = np.asarray(rates, dtype="float64")
    mean, variance = float(values.mean()), float(values.var(ddof=1))
    together = mean * (1 - mean) / variance - 1 if variance > 0 else -1.0
    if together <= 0:
        raise ValueError("no beta distribution has the mean and the variance of these rates")
    return mean * together, (1 - mean) * together


def fit_beta(successes: ArrayLike, trials: ArrayLike) -> tuple[float, float]:
    """Return the beta distribution of true rates under which the counts are most likely.

    Marginal maximum likelihood of the beta-binomial: the sum over things of
    ``log B(a + x, b + n - x) - log B(a, b)`` is greatest. Counts without spread beyond the
    binomial give a strong prior (a + b up to 10,000): all things then count as one.

    Parameters
    ----------
    successes, trials
        Whole numbers of one shape, 0 <= successes <= trials; things without trials tell nothing.

    Returns
    -------
    float, float
        a and b; of nothing, or of none or all of the trials, the even prior of one trial that a
        single rate has by Jeffreys, moved to the mean of the counts.
    """
    from scipy.optimize import minimize
    from scipy.special import betaln

    x, n = np.asarray(successes, dtype="float64"), np.asarray(trials, dtype="float64")
    x, n = x[n > 0], n[n > 0]
    total = float(n.sum())
    mean = (float(x.sum()) + 0.5) / (total + 1)
    if len(x) < 2 or not 0 < x.sum() < total:
        return mean, 1 - mean
    pairs, times = np.unique(np.stack([x, n]), axis=1, return_counts=True)
    x, n = pairs

    def worse(at: Reals) -> float:
        share, strength = 1 / (1 + np.exp(-at[0])), np.exp(at[1])
        a, b = share * strength, (1 - share) * strength
        return -float(times @ (betaln(a + x, b + n - x) - betaln(a, b)))

    low, high = np.log(_WEAKEST), np.log(_STRONGEST)
    logit = np.log(mean / (1 - mean))
    # Without derivatives: two unknowns and few distinct counts do not repay linear algebra.
    found = minimize(
        worse,
        [logit, np.log(10.0)],
        method="Nelder-Mead",
        bounds=[(logit - 5, logit + 5), (low, high)],
        options={
            "xatol": 1e-6,
            "fatol": 1e-9,
            "initial_simplex": [
                [logit, np.log(10.0)],
                [logit + 0.3, np.log(10.0)],
                [logit, np.log(40.0)],
            ],
        },
    )
    share, strength = 1 / (1 + float(np.exp(-found.x[0]))), float(np.exp(found.x[1]))
    return share * strength, (1 - share) * strength


def shrunk(
    successes: ArrayLike, trials: ArrayLike, a: ArrayLike, b: ArrayLike, level: float = 0.95
) -> tuple[Reals, Reals, Reals]:
    """Return the rate that the counts and the prior together make likely, with its interval.

    The posterior is Beta(a + x, b + n - x): its mean, and the middle ``level`` of it.

    Parameters
    ----------
    successes, trials
        Whole numbers of one shape, 0 <= successes <= trials.
    a, b
        The prior, one for all or one for each.

    Returns
    -------
    mean, low, high
        Rate and ends of its interval [share].
    """
    from scipy.special import betaincinv

    x, n = np.asarray(successes, dtype="float64"), np.asarray(trials, dtype="float64")
    yes, no = np.asarray(a, dtype="float64") + x, np.asarray(b, dtype="float64") + n - x
    tail = (1 - level) / 2
    return yes / (yes + no), betaincinv(yes, no, tail), betaincinv(yes, no, 1 - tail)


def james_stein(values: ArrayLike, variance: float) -> tuple[Reals, float]:
    """Draw values that are each known with the same variance towards their mean.

    ``z = m + c (y - m)`` with ``c = 1 - (k - 3) variance / sum (y - m)^2``, not below zero
    (Efron and Morris, JASA 70:311, 1975). Of fewer than four values nothing can be said, and they
    stay as they are.

    Returns
    -------
    array, float
        The drawn values and c.
    """
    y = np.asarray(values, dtype="float64")
    mean = y.mean() if len(y) else 0.0
    spread = float(((y - mean) ** 2).sum())
    if len(y) < 4:
        return y.copy(), 1.0
    c = max(1 - (len(y) - 3) * variance / spread, 0.0) if spread > 0 else 0.0
    return mean + c * (y - mean), c

"""Shrinkage of small samples against published answers.

``efron_morris_1975.csv``: B. Efron and C. Morris, JASA 70:311, 1975, and Scientific American
236(5):119, 1977. ``rat_tumours_bda.csv``: R. E. Tarone's data in A. Gelman et al., Bayesian Data
Analysis, 3rd ed., table 5.1. ``empirical_bayes.json`` holds the printed answers and those computed
from the data again.
"""

from __future__ import annotations

import csv
import json
from pathlib import Path

import numpy as np
import pytest

from kitting.audit import beta_by_moments, fit_beta, james_stein, shrunk

DATA = Path(__file__).parent / "data"
ANSWERS = json.loads((DATA / "empirical_bayes.json").read_text())


def column(file: str, name: str) -> np.ndarray:
    rows = csv.DictReader((DATA / file).read_text().splitlines())
    return np.array([float(row[name]) for row in rows])


def test_batting_averages():
    """The constant, the drawn averages and how much nearer the rest of the season they lie."""
    hits = column("efron_morris_1975.csv", "hits")
    rest = column("efron_morris_1975.csv", "average_remainder_of_season")
    early = hits / 45
    mean = early.mean()
    drawn, c = james_stein(early, mean * (1 - mean) / 45)
    known = ANSWERS["james_stein"]
    assert round(mean, 3) == known["published"]["grand_mean"]
    assert round(c, 3) == known["published"]["c"]
    assert round(float(drawn[0]), 3) == known["published"]["clemente"]
    assert c == pytest.approx(known["recomputed"]["c"], abs=1e-6)
    again = column("efron_morris_1975.csv", "james_stein_recomputed")
    assert np.abs(drawn - again).max() < 5e-5
    ratio = ((early - rest) ** 2).sum() / ((drawn - rest) ** 2).sum()
    assert ratio == pytest.approx(known["recomputed"]["improvement"], abs=0.01)
    assert ratio == pytest.approx(known["published"]["improvement_about"], abs=0.1)


def test_batting_averages_on_the_arcsine_scale():
    """The 1975 paper's own scale: shrink and error sums."""
    early = np.round(column("efron_morris_1975.csv", "hits") / 45, 3)  # as printed
    rest = column("efron_morris_1975.csv", "average_remainder_of_season")
    known = ANSWERS["james_stein"]["arcsine_scale"]
    y, aim = (np.sqrt(45) * np.arcsin(2 * p - 1) for p in (early, rest))
    drawn, c = james_stein(y, 1.0)
    assert 1 - c == pytest.approx(1 - known["recomputed"]["shrink"], abs=1e-4)
    assert ((y - aim) ** 2).sum() == pytest.approx(known["recomputed"]["total_error_raw"], abs=1e-3)
    assert ((drawn - aim) ** 2).sum() == pytest.approx(
        known["recomputed"]["total_error_james_stein"], abs=1e-3
    )


def test_rat_tumours_by_moments():
    """Moments of 70 earlier rates, and what they make of 4 rats in 14."""
    x, n = column("rat_tumours_bda.csv", "tumours"), column("rat_tumours_bda.csv", "rats")
    a, b = beta_by_moments(x[:70] / n[:70])
    known = ANSWERS["beta_binomial"]
    assert (round(a, 1), round(b, 1)) == (
        known["published"]["alpha_moments"],
        known["published"]["beta_moments"],
    )
    assert (a, b) == pytest.approx(
        (known["recomputed"]["alpha"], known["recomputed"]["beta"]), abs=1e-5
    )
    mean, low, high = shrunk(x[70], n[70], a, b)
    assert round(float(mean), 3) == known["published"]["posterior_mean_experiment_71"]
    assert float(mean) == pytest.approx(known["recomputed"]["posterior_mean"], abs=1e-6)
    sd = known["recomputed"]["posterior_sd"]
    assert low < mean < high
    assert float(high - low) == pytest.approx(3.92 * sd, rel=0.05)


def test_rat_tumours_by_marginal_likelihood():
    """The likeliest prior of all 71, as computed independently."""
    x, n = column("rat_tumours_bda.csv", "tumours"), column("rat_tumours_bda.csv", "rats")
    known = ANSWERS["beta_binomial"]["marginal_maximum_likelihood_all_71"]
    a, b = fit_beta(x, n)
    assert (a, b) == pytest.approx((known["alpha"], known["beta"]), rel=1e-3)
    mean, _, _ = shrunk(x[70], n[70], a, b)
    assert float(mean) == pytest.approx(known["posterior_mean_experiment_71"], abs=1e-4)

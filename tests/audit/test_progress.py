"""Is it getting better, with an interval."""

from __future__ import annotations

import sys

import numpy as np
import pandas as pd
import pytest

from kitting.audit import progress
from kitting.tables.audit import TREND


def trend(events, assemblies=None):
    n = len(events)
    frame = pd.DataFrame({"events": events, "position": range(1, n + 1)}).assign(
        build=[f"B{i}" for i in range(n)],
        assembly=assemblies or "engine",
        finished=pd.Timestamp("2026-01-05"),
        hours_lost=0.0,
        money_lost=0,
        so_far=0.0,
        recent=0.0,
    )
    return TREND.conform(frame)


def only(frame):
    assert len(frame) == 1
    return frame.iloc[0]


def test_two_builds_are_a_binomial():
    """With two builds the factor is the odds of the second, and its interval the mid-p one."""
    row = only(progress(trend([10, 5])))
    assert row["factor"] == pytest.approx(0.5)
    from scipy.stats import binom

    for end, tail in (("low", 0.975), ("high", 0.025)):
        share = row[end] / (1 + row[end])
        below = binom.cdf(4, 15, share) + binom.pmf(5, 15, share) / 2
        assert below == pytest.approx(tail, abs=1e-6)


@pytest.mark.parametrize(
    ("events", "verdict"),
    [
        ([3, 3, 3, 2, 2, 2, 1, 1, 0, 0, 0, 0], "better"),
        ([0, 0, 0, 0, 1, 1, 2, 2, 2, 3, 3, 3], "worse"),
        ([2, 1, 2, 2, 1, 2, 1, 1, 2, 1], "cannot be told yet"),
        ([4], "cannot be told yet"),
        ([0, 0, 0], "cannot be told yet"),
    ],
)
def test_verdict(events, verdict):
    assert only(progress(trend(events)))["verdict"] == verdict


def test_all_at_the_end_has_no_upper_end():
    row = only(progress(trend([0, 0, 0, 4])))
    assert row["high"] == np.inf
    assert row["low"] > 1


def test_another_mix_of_assemblies_is_no_trend():
    """Engines forget four and gearboxes none; first engines, then gearboxes: no change."""
    kinds = ["engine"] * 5 + ["gearbox"] * 5
    row = only(progress(trend([4] * 5 + [0] * 5, kinds)))
    assert row["factor"] == pytest.approx(1.0, abs=1e-6)
    assert row["low"] < 1 < row["high"]


def test_reversed_order_gives_the_reciprocal():
    events = [0, 2, 1, 3, 1, 4]
    one, other = only(progress(trend(events))), only(progress(trend(events[::-1])))
    assert one["factor"] * other["factor"] == pytest.approx(1.0)
    assert one["low"] * other["high"] == pytest.approx(1.0)


def test_large_and_exact_agree(monkeypatch):
    """Where the exact distribution is just small enough the normal interval is near it."""
    rng = np.random.default_rng(3)
    events = rng.poisson(1.5 * np.exp(-0.5 * np.arange(110) / 109)).tolist()
    exact = only(progress(trend(events)))
    monkeypatch.setattr(sys.modules[progress.__module__], "_LARGEST", 0)
    normal = only(progress(trend(events)))
    assert normal["factor"] == pytest.approx(exact["factor"])
    assert normal["low"] != exact["low"]
    assert normal["low"] == pytest.approx(exact["low"], rel=0.1)
    assert normal["high"] == pytest.approx(exact["high"], rel=0.1)


def test_the_interval_holds_the_truth():
    """On drawn shops of twelve builds whose rate halves, 95 % or more of intervals hold it."""
    rng = np.random.default_rng(5)
    hits = 0
    for _ in range(200):
        events = rng.poisson(1.2 * np.exp(np.log(0.5) * np.arange(12) / 11)).tolist()
        row = only(progress(trend(events)))
        hits += row["low"] <= 0.5 <= row["high"]
    assert hits >= 183

"""What holds for the interval of any share."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kitting.audit import wilson

TRIALS = st.integers(1, 10_000)


@given(st.data(), TRIALS)
def test_the_interval_holds_the_share_and_mirrors(data, n):
    """Ends lie within 0 and 1 and around x / n; failures give the mirrored interval."""
    x = data.draw(st.integers(0, n))
    low, high = (float(e) for e in wilson(x, n))
    assert 0 <= low <= x / n + 1e-12
    assert x / n - 1e-12 <= high <= 1
    other_low, other_high = (float(e) for e in wilson(n - x, n))
    assert low == pytest.approx(1 - other_high, abs=1e-12)
    assert high == pytest.approx(1 - other_low, abs=1e-12)


@given(st.data(), TRIALS)
def test_more_trials_of_the_same_share_narrow_it(data, n):
    x = data.draw(st.integers(0, n))
    low, high = wilson(x, n)
    low_4, high_4 = wilson(4 * x, 4 * n)
    assert high_4 - low_4 < high - low


def test_without_trials_nothing_is_known():
    assert [float(e) for e in wilson(0, 0)] == [0.0, 1.0]

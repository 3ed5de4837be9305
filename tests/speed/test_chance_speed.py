"""The exact chance against sampling; how fast it is tells ``bench_chance.py``."""

from __future__ import annotations

import pytest
from speed.bench_chance import measure


@pytest.mark.parametrize("seed", [1, 2])
def test_exact_and_sampled_agree_and_exact_is_the_faster(seed: int) -> None:
    """60 deliveries, 40 stages: at most 0.01 from 20,000 samples; the aim is 50 times faster."""
    found = measure(seed)
    assert found["apart"] <= 0.01
    assert found["late apart"] <= 0.1
    assert found["sampled"] >= 5 * found["exact"]

"""Wilson intervals against R. G. Newcombe, Statistics in Medicine 17:857-872, 1998, table I."""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
import pytest

from kitting.audit import wilson

FILE = Path(__file__).parent / "data" / "wilson_intervals.csv"
CASES = list(csv.DictReader(FILE.read_text().splitlines()))


@pytest.mark.parametrize("case", CASES, ids=lambda c: f"{c['successes']} of {c['trials']}")
def test_published_intervals(case):
    """Equal to the printed four decimals, and to eight recomputed."""
    x, n, level = int(case["successes"]), int(case["trials"]), float(case["level"])
    low, high = wilson(x, n, level)
    assert round(float(low), 4) == float(case["wilson_low_published"])
    assert round(float(high), 4) == float(case["wilson_high_published"])
    assert float(low) == pytest.approx(float(case["wilson_low_recomputed"]), abs=1e-8)
    assert float(high) == pytest.approx(float(case["wilson_high_recomputed"]), abs=1e-8)


def test_all_cases_at_once():
    """Arrays give what single numbers give."""
    x, n = (np.array([int(c[k]) for c in CASES]) for k in ("successes", "trials"))
    both = np.array(wilson(x, n)).T.tolist()
    one = [[float(e) for e in wilson(a, b)] for a, b in zip(x, n, strict=True)]
    assert both == one

"""Product-limit estimates against Freireich et al., Blood 21:699-716, 1963 (6-MP and placebo).

Event = what was awaited came; censored = still awaited.
"""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest

from kitting.timing.survival import CELLS, EARLIEST, learned, quantile

FILE = Path(__file__).parent / "data" / "kaplan_meier_6mp.json"
TRIAL = json.loads(FILE.read_text(encoding="utf-8"))
TIME, CAME = np.array(TRIAL["time"]), np.array(TRIAL["event"], dtype=bool)


def awaited(time, came):
    """Return the share still awaited after each day, by what lead times are learned with."""
    slip, seen = np.array(time, dtype="int64"), np.array(came, dtype=bool)
    share = learned(slip, seen, np.ones(len(slip)), np.zeros(CELLS), 0.0)
    return 1.0 - share[-EARLIEST:]


def half(time, came):
    """Return the first day by which half has come."""
    return quantile(np.append(np.zeros(-EARLIEST), 1.0 - awaited(time, came)), 0.5)


def test_the_treated_arm():
    """The share awaited after each time, as printed and as recomputed, and on the days between."""
    left = awaited(TIME, CAME)
    rows = TRIAL["expected"]
    assert [left[r["time"]] for r in rows] == pytest.approx([r["survival"] for r in rows], abs=1e-6)
    assert [round(float(left[r["time"]]), 3) for r in rows] == [
        r["published_survival"] for r in rows
    ]
    steps = {r["time"]: r["survival"] for r in rows}
    for day in range(1, 36):
        before = max((t for t in steps if t <= day), default=None)
        assert left[day] == pytest.approx(1.0 if before is None else steps[before], abs=1e-6)
    assert half(TIME, CAME) == TRIAL["median"]


def test_the_placebo_arm():
    """Without censoring it is the share itself."""
    arm = TRIAL["placebo"]
    left = awaited(arm["time"], arm["event"])
    expected = {int(t): s for t, s in arm["survival"].items()}
    assert [left[t] for t in expected] == pytest.approx(list(expected.values()), abs=1e-6)
    assert half(arm["time"], arm["event"]) == arm["median"]
    assert round(float(left[10]), 3) == arm["published_check"]["share_beyond_10"]

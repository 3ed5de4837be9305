"""Product-limit estimates against Freireich et al., Blood 21:699-716, 1963 (6-MP and placebo).

Event = what was awaited came; censored = still awaited.
"""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest

from kitting.timing.survival import CELLS, EARLIEST, learned, product_limit

FILE = Path(__file__).parent / "data" / "kaplan_meier_6mp.json"
TRIAL = json.loads(FILE.read_text(encoding="utf-8"))
TIME, CAME = np.array(TRIAL["time"]), np.array(TRIAL["event"], dtype=bool)


def test_the_treated_arm():
    """Times, numbers at risk, share awaited and Greenwood's error, as printed and as recomputed."""
    found = product_limit(TIME, CAME)
    rows = TRIAL["expected"]
    assert found.time.tolist() == [r["time"] for r in rows]
    assert found.at_risk.tolist() == [r["at_risk"] for r in rows]
    assert found.events.tolist() == [r["events"] for r in rows]
    assert found.awaited == pytest.approx([r["survival"] for r in rows], abs=1e-6)
    assert found.error == pytest.approx([r["greenwood_se"] for r in rows], abs=1e-6)
    assert np.round(found.awaited, 3).tolist() == [r["published_survival"] for r in rows]
    assert found.error == pytest.approx([r["published_se"] for r in rows], abs=1e-4)
    assert found.time[np.argmax(found.awaited <= 0.5)] == TRIAL["median"]


def test_the_placebo_arm():
    """Without censoring the estimate is the share itself; the error of a share at ten weeks."""
    arm = TRIAL["placebo"]
    found = product_limit(arm["time"], arm["event"])
    expected = {int(t): s for t, s in arm["survival"].items()}
    assert found.time.tolist() == list(expected)
    assert found.awaited == pytest.approx(list(expected.values()), abs=1e-6)
    assert found.time[np.argmax(found.awaited <= 0.5)] == arm["median"]
    at = np.searchsorted(found.time, 10, side="right") - 1
    assert round(float(found.awaited[at]), 3) == arm["published_check"]["share_beyond_10"]
    assert round(float(found.error[at]), 3) == arm["published_check"]["se"]


def test_without_a_prior_what_is_learned_is_the_product_limit():
    """At strength 0 the learned share is 1 minus the published one, on every day."""
    share = learned(TIME, CAME, np.ones(len(TIME)), np.zeros(CELLS), 0.0)
    found = product_limit(TIME, CAME)
    for day in range(40):
        at = np.searchsorted(found.time, day, side="right") - 1
        awaited = found.awaited[at] if at >= 0 else 1.0
        assert share[day - EARLIEST] == pytest.approx(1.0 - awaited, abs=1e-12)

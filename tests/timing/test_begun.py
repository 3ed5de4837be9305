"""What a schedule takes for granted of builds that have begun and of parts without a day."""

from __future__ import annotations

from datetime import date

import pandas as pd

from kitting.timing.begun import begun, from_today, unknown_days

DAY = date(2026, 3, 9)
KEY = {"build": "B1", "assembly": "engine"}


def test_builds_start_today_at_the_earliest(frame_of):
    """Past starts move to today, later ones and blanks stay."""
    starts = ["2026-03-02", "2026-03-09", "2026-03-16", None]
    builds = frame_of("builds", *({"build": f"B{n}", "start": s} for n, s in enumerate(starts)))
    moved = from_today(builds, DAY)["start"]
    expected = ["2026-03-09", "2026-03-09", "2026-03-16", None]
    assert moved.tolist() == [pd.Timestamp(d) if d else pd.NaT for d in expected]
    assert str(moved.dtype) == "datetime64[s]"
    assert [f.about for f in begun(builds, DAY)] == ["B0"]


def test_parts_without_a_source_are_named_once_for_each_build(frame_of):
    """Three by name and how many more; what is bought, comes later or is deferred is not told."""
    ready = [
        {**KEY, "stage": "head", "state": "late", "ready": None},
        {**KEY, "stage": "run", "state": "short", "ready": "2026-03-12"},
        {**KEY, "stage": "fit", "state": "deferred", "ready": None},
        {"build": "B2", "assembly": "engine", "stage": "head", "state": "late", "ready": None},
    ]
    short = [
        {**KEY, "need": n, "stage": "head", "part": p, "quantity": 2}
        for n, p in enumerate(("ring", "pin", "pin", "nut", "key", "cap"), 1)
    ]
    short.append({**KEY, "need": 9, "stage": "fit", "part": "plug", "deferred": True})
    bought = frame_of("buy_needs", {"buy": 1, "need": 6, "quantity": 2})
    one, other = unknown_days(frame_of("readiness", *ready), frame_of("shortages", *short), bought)
    assert one.message.startswith("build B1: nobody is known to bring ring, pin, nut and 1 more")
    assert (one.about, one.level) == ("B1", "warn")
    assert "build B2: nobody knows when all that stage head waits for" in other.message
    assert not list(unknown_days(frame_of("readiness", ready[1]), frame_of("shortages"), bought))

"""The audit of many builds; how fast it is tells ``bench_audit.py``, here only a slip is caught."""

from __future__ import annotations

from speed.bench_audit import measure


def test_two_thousand_builds_of_300_lines_take_seconds_not_minutes() -> None:
    """The aim is 5 s for 10,000 builds; a fifth of them on a busy machine is given far longer."""
    _, seconds, found = measure(2_000)
    assert seconds < 30
    assert len(found.proposed)
    assert len(found.suggestions) == 10

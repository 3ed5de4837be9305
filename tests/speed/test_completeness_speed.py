"""The checks of a large bill cost a few times what reading its rows costs."""

from __future__ import annotations

from speed.bench_completeness import measure


def test_checks_stay_within_a_multiple_of_a_plain_pass() -> None:
    """At 1,000 joints within 40 times one pass over the rows, however busy the machine is."""
    spent, floor, found = measure(1_000, rounds=3)
    assert found > 1_000
    assert spent <= 40 * floor

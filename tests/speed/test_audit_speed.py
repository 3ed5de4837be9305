"""The figure of the audit, held with room for a busy machine."""

from __future__ import annotations

from speed.bench_audit import measure


def test_two_thousand_builds_of_300_lines_take_a_few_seconds() -> None:
    """The aim is 5 s for 10,000 builds; a fifth of them on a busy machine is given as long."""
    _, seconds, found = measure(2_000)
    assert seconds < 5
    assert len(found.proposed)
    assert len(found.suggestions) == 10

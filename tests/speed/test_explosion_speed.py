"""The explosion against a sparse product; how fast it is tells ``bench_explosion.py``."""

from __future__ import annotations

from speed.bench_explosion import measure


def test_explosion_costs_a_few_sparse_products() -> None:
    """2,000 nodes, 8,000 edges, 1,000 builds; the aim is 2, a busy machine is given 8."""
    ours, floor = measure()
    assert ours <= 8 * floor

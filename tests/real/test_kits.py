"""Parts taken out of real kits, found again; skipped where the kits are absent."""

from __future__ import annotations

import pytest
from speed import bench_together

KITS = pytest.mark.skipif(
    not bench_together.KITS.is_dir(),
    reason="the published part sets are not beside the project (shared/real/kits)",
)


@KITS
@pytest.mark.slow
def test_the_missing_part_is_found_more_often_than_by_simple_ways():
    """Ahead of every floor, and level with the plain closed form within the noise of the cases."""
    found = bench_together.measure()
    for what in ("any part", "hardware"):
        by = {way: share for w, way, _, share, *_ in found if w == what}
        floor = max(by["most frequent"], by["item-item cosine"], by["30 nearest kits"])
        assert by["ours"] >= 1.08 * floor
        assert by["ours"] >= 0.98 * by["plain closed form"]

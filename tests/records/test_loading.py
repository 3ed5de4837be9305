"""What a fresh process loads: the quick commands must not pay for libraries they do not use."""

from __future__ import annotations

import shutil
import subprocess
import sys

import pytest

_AFTER = "import sys; print([m for m in ('pandas', 'sqlalchemy', 'numpy') if m in sys.modules])"


@pytest.mark.parametrize(
    ("work", "loaded"),
    [
        ("pass", []),
        ("records.receive(shop, records.Arrival('K0001', 1, 'A1', day, line=1))", []),
        ("records.count(shop, records.Count('0012', 'A1', 1, day))", []),
        ("records.forgot(shop, records.Forgotten('E-1', '0012', day))", []),
        ("records.snapshot(shop)", ["pandas", "numpy"]),
    ],
)
def test_loads_no_more_than_it_uses(pattern, tmp_path, work, loaded):
    """On a file, no work at the bench loads SQLAlchemy; only frames load pandas."""
    file = shutil.copy(pattern, tmp_path / "shop.db")
    code = (
        "from datetime import date; from kitting import records; day = date(2026, 3, 9)\n"
        f"with records.open_shop({str(file)!r}) as shop: {work}\n{_AFTER}"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True, timeout=60
    )
    assert done.stdout.strip() == str(loaded)
    assert done.stderr == ""

"""The wheel carries catalogs and demo, and finds them far from the checkout."""

from __future__ import annotations

import os
import subprocess
import sys
import zipfile
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]


def test_shipped_data_is_found_from_a_wheel_outside_the_checkout(tmp_path: Path) -> None:
    """Built, unpacked elsewhere and run there, the demo works from the wheel's own files."""
    subprocess.run(
        [sys.executable, "-m", "hatchling", "build", "-t", "wheel", "-d", str(tmp_path)],
        cwd=ROOT,
        check=True,
        capture_output=True,
    )
    (wheel,) = tmp_path.glob("*.whl")
    site = tmp_path / "site"
    zipfile.ZipFile(wheel).extractall(site)
    away = tmp_path / "away"
    away.mkdir()
    script = (
        "import kitting, kitting.shipped as s; print(kitting.__file__);"
        "print(s.shipped('demo'), s.shipped('catalogs'));"
        "from kitting.commands import run; raise SystemExit(run(['demo']))"
    )
    done = subprocess.run(
        [sys.executable, "-c", script],
        cwd=away,
        env={**os.environ, "PYTHONPATH": str(site)},
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    places = done.stdout.split("\n\n")[0]
    assert places.count(str(site)) == 3
    assert str(ROOT) not in places
    orders = away / "saltmarsh" / "orders"
    assert len(list(orders.glob("SEW*.xlsx"))) == 4
    assert len(list(orders.glob("summary *.xlsx"))) == 1

"""What a fresh process loads: the quick commands must not pay for libraries they do not use."""

from __future__ import annotations

import shutil
import subprocess
import sys
from datetime import date
from pathlib import Path

import pytest

from kitting import records
from kitting.records.picking import Pick, pick
from kitting.records.places import Kit

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


@pytest.mark.parametrize(
    "words",
    [
        ["receive", "K0001", "0012", "1"],
        ["pick", "E-1", "bottom", "0012", "1", "--by", "jo"],
        ["count", "0012", "2", "--place", "A1"],
        ["return", "E-2", "0012", "1", "--place", "A1"],
        ["carry", "0012", "1", "--from", "A1", "--to", "B2"],
        ["moves", "0012"],
        ["prove"],
    ],
    ids=lambda words: words[0],
)
def test_a_line_at_the_bench_loads_no_frames(pattern, tmp_path, words):
    """The whole command, from its words to what it prints."""
    file = shutil.copy(pattern, tmp_path / "shop.db")
    with records.open_shop(file) as shop:
        pick(shop, Pick(Kit("E-2", "engine", "bottom"), "0012", 1, date(2026, 3, 9)))
    on = [] if words[0] in ("moves", "prove") else ["--on", "2026-03-09"]
    code = (
        f"from kitting.commands import run; code = run({[*words, '--shop', str(file), *on]!r})\n"
        f"{_AFTER}; print(code)"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True, timeout=60
    )
    assert done.stdout.splitlines()[-2:] == ["[]", "0"], done.stdout + done.stderr


def test_no_file_of_the_room_hides_a_name_of_it():
    """A file that is loaded becomes a name of its package: no function may be called so too."""
    from kitting import records

    files = {path.stem for path in Path(records.__file__).parent.glob("*.py")}
    assert not files & set(records.__all__)

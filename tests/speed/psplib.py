"""Reading of published project instances, in the format of their authors (R. Kolisch et al.)."""

from __future__ import annotations

import re
from pathlib import Path

from kitting.timing.serial import Jobs

FOLDER = Path(__file__).resolve().parents[3] / "shared" / "checks" / "scheduling"


def read_instance(path: Path) -> Jobs:
    """Return the jobs of an ``.sm`` file as one group without dates; dummies are kept."""
    text = path.read_text(encoding="latin-1")
    blocks = re.split(r"^\*+$", text, flags=re.MULTILINE)
    by_title = {b.strip().split("\n", 1)[0].split(":")[0].strip(): b for b in blocks if b.strip()}
    follow = _rows(by_title["PRECEDENCE RELATIONS"])
    takes = _rows(by_title["REQUESTS/DURATIONS"])
    capacity = _rows(by_title["RESOURCEAVAILABILITIES"])[0]
    before: list[list[int]] = [[] for _ in follow]
    for job, _modes, _count, *after in follow:
        for other in after:
            before[other - 1].append(job - 1)
    n = len(follow)
    return Jobs(
        ticks=tuple(row[2] for row in takes),
        before=tuple(tuple(b) for b in before),
        demands=tuple(tuple((k, u) for k, u in enumerate(row[3:]) if u) for row in takes),
        release=(0,) * n,
        group=(0,) * n,
        due=(None,) * n,
        capacity=tuple(capacity),
        weight=(1,),
        holder=tuple(range(n)),
        shared=(False,) * len(capacity),
    )


def _rows(block: str) -> list[list[int]]:
    rows = [line.split() for line in block.splitlines()]
    return [[int(c) for c in row] for row in rows if row and all(c.isdigit() for c in row)]

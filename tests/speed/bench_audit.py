"""How long the audit of 10,000 builds of 300 lines takes.

Run as a script: ``python tests/speed/bench_audit.py``. One engine of 300 lines with an option that
a third of the lines asks for; on each build one part was forgotten on average, one in three
damaged, late or not picked. The floor is one reading of the used parts, three million rows, to
count them by part. Timed from the exploded bills on: whether today's bill would have caught each,
rates, proposals, the test on builds held back, and suggestions for one open build.
"""

from __future__ import annotations

import sys
from time import perf_counter

import numpy as np
import pandas as pd

from kitting.audit import audited, caught
from kitting.tables.audit import PROPOSALS
from kitting.tables.catalogs import JOINT_KINDS
from kitting.tables.flow import BUILD_JOINTS, GAPS, REQUIRED
from kitting.tables.shop import (
    BUILDS,
    FORGOTTEN,
    JOINTS,
    LINES,
    OPTIONS,
    PARTS,
    STAGES,
    USED,
    empty_shop,
)  # fmt: skip

CAUSES = np.array(
    ["not in the bill"] * 3 + ["wrong count", "damaged on fitting", "late", "measured size",
     "in the bill but not picked", "wrong part"],
    object,
)  # fmt: skip
BLANK = {"text": "", "whole": 0, "whole or blank": pd.NA, "real": 0.0, "yes or no": False,
         "day": pd.NaT}  # fmt: skip


def frame(table, **columns):
    """Return a frame of a contract; columns that are not given are blank."""
    n = len(next(iter(columns.values())))
    made = {c.name: columns.get(c.name, [BLANK[c.kind]] * n) for c in table.columns}
    return table.conform(pd.DataFrame(made))


def shop(builds=10_000, lines=300, seed=8):
    """Draw a shop with finished builds, what they used and what they forgot."""
    rng = np.random.default_rng(seed)
    parts = np.array([f"P{i:04d}" for i in range(lines)], object)
    stages = np.array([f"stage {i // 30}" for i in range(lines)], object)
    joints = np.array([f"joint {i // 3}" for i in range(lines)], object)
    when = np.where(np.arange(lines) % 3 == 0, "induction=turbo", "")
    names = np.array([f"B{i:05d}" for i in range(builds)], object)
    first = np.datetime64("2006-01-02", "s")
    start = first + np.arange(builds).astype("timedelta64[h]") * 12
    start = start.astype("datetime64[D]").astype("datetime64[s]")
    hit = rng.integers(0, lines, builds)
    on = np.arange(lines * builds) % lines
    frames = {
        "parts": frame(PARTS, part=parts, family=[f"family {i % 20}" for i in range(lines)]),
        "stages": frame(STAGES, assembly=["engine"] * (lines // 30), stage=stages[::30]),
        "joints": frame(JOINTS, assembly=["engine"] * (lines // 3), stage=stages[::3],
                        joint=joints[::3], count=[1] * (lines // 3)),
        "lines": frame(LINES, line=range(1, lines + 1), assembly=["engine"] * lines, stage=stages,
                       joint=joints, part=parts, quantity=[1] * lines, when=when),
        "options": frame(OPTIONS, assembly=["engine"], option=["induction"], default=["natural"]),
        "builds": frame(BUILDS, build=names, assembly=["engine"] * builds, start=start,
                        finished=start + np.timedelta64(10, "D"),
                        options=np.where(rng.random(builds) < 0.4, "induction=turbo", "")),
        "forgotten": frame(FORGOTTEN, entry=range(1, builds + 1),
                           build=names[rng.integers(0, builds, builds)], stage=stages[hit],
                           joint=joints[hit], part=parts[hit], quantity=[1] * builds,
                           unit=["piece"] * builds, cause=CAUSES[rng.integers(0, 9, builds)],
                           noted=start, hours_lost=rng.random(builds),
                           money_lost=rng.integers(0, 2000, builds)),
        "used": frame(USED, entry=range(lines * builds), build=np.repeat(names, lines),
                      stage=stages[on], joint=joints[on], part=parts[on]),
    }  # fmt: skip
    return empty_shop().replaced(**frames)


def measure(builds=10_000, lines=300):
    """Return seconds of the floor and of the audit."""
    made = shop(builds, lines)
    opened = made["lines"].iloc[10:].assign(required=range(lines - 10), build="NEW")
    required = frame(REQUIRED, **{c: opened[c].tolist() for c in ("required", "build", "part")})
    places = made["joints"].assign(build="NEW")[["build", "assembly", "stage", "joint"]]
    joints = frame(BUILD_JOINTS, **{c: places[c].tolist() for c in places})
    began = perf_counter()
    made["used"].groupby("part")["entry"].size()
    floor = perf_counter() - began
    asked = made["used"]
    every = REQUIRED.conform(
        asked.assign(
            required=asked["entry"], assembly="engine", quantity=1, line=0, from_set="",
            deferred=False, source="",
        )[REQUIRED.names]
    )  # fmt: skip
    began = perf_counter()
    again = caught(made, every, GAPS.empty(), JOINT_KINDS.empty())
    found = audited(made, again, (required, joints), PROPOSALS.empty())
    return floor, perf_counter() - began, found


def main():
    """Print how long it takes."""
    for builds in (1_000, 10_000):
        floor, ours, found = measure(builds)
        print(
            f"{builds:6} builds x 300 lines: audit {ours:.2f} s, counting used parts once "
            f"{floor:.2f} s; {len(found.proposed)} proposals, {len(found.suggestions)} suggestions"
        )
    return 0


if __name__ == "__main__":
    sys.exit(main())

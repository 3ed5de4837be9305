"""Remove the lines of a bill one at a time and tell how many of the omissions are found.

    python tests/flow/omissions.py SHEETS_FOLDER [--each]

A line counts as found when, without it, some build that needs it gets a new gap at the line's own
joint and role: a row that the untouched bill does not give. Past builds' records (sheets ``used``
and ``forgotten``) are left out unless ``--history`` is given, so that what is found is found with
no history at all.
"""

from __future__ import annotations

import argparse
import time
from collections import Counter, defaultdict
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from kitting.bill import explode, gaps, open_builds
from kitting.reading import read_sheets
from kitting.reading.catalogs import catalogs
from kitting.tables.shop import BY_NAME, Shop, empty_shop
from kitting.terms.words import Level

if TYPE_CHECKING:
    import pandas as pd

    from kitting.tables.catalogs import Catalogs


@dataclass(frozen=True)
class Omission:
    """One line that was taken out, and what the check then said."""

    line: int
    assembly: str
    joint: str
    role: str
    part: str
    asked: bool
    alone: bool
    found: bool
    by: str


def load(folder: Path) -> Shop:
    """Read a folder of sheets, or a workbook; faults are told and their rows left out."""
    reading = read_sheets(folder)
    for fault in reading.findings:
        if fault.level is Level.STOP:
            print(f"left out: {fault}")
    return empty_shop().replaced(**{n: f for n, f in reading.frames.items() if n in BY_NAME})


def rows_of(frame: pd.DataFrame) -> set[tuple[str, ...]]:
    """Return gaps as plain rows, to compare."""
    return {tuple(row) for row in frame.to_numpy().tolist()}


def omissions(shop: Shop, reference: Catalogs) -> tuple[list[Omission], pd.DataFrame, int]:
    """Take out each line of a joint and role, one at a time.

    Returns
    -------
    list of Omission
        One for each line that some open build needs at a joint.
    DataFrame
        Table ``gaps`` of the untouched bills.
    int
        How many joints the builds close.
    """
    builds = open_builds(shop)
    bills = explode(shop, builds)
    untouched = gaps(shop, bills, reference)
    before = rows_of(untouched)
    kinds = reference.kinds
    asks = set(zip(kinds["kind"], kinds["role"], strict=True))
    kind_of = {(j.assembly, j.joint): j.kind for j in bills.joints.itertuples()}
    active = set(bills.required["line"])
    lines = shop["lines"]
    at = [row for row in lines.itertuples() if row.joint and row.role and row.line in active]
    shared = Counter((row.assembly, row.joint, row.role) for row in at)
    out = []
    for row in at:
        without = shop.replaced(lines=lines[lines["line"] != row.line].reset_index(drop=True))
        after = gaps(without, explode(without, builds), reference)
        new = [
            gap
            for gap in rows_of(after) - before
            if (gap[1], gap[3], gap[4]) == (row.assembly, row.joint, row.role)
        ]
        key = (row.assembly, row.joint, row.role)
        out.append(
            Omission(
                row.line, *key, row.part,
                asked=(kind_of.get(key[:2], ""), row.role) in asks,
                alone=shared[key] == 1,
                found=bool(new),
                by="; ".join(sorted({gap[7] for gap in new})),
            )
        )  # fmt: skip
    return out, untouched, len(bills.joints)


def report(out: list[Omission], untouched: pd.DataFrame, joints: int) -> str:
    """Write the table per role, and the false stops of the untouched bill."""
    asked = [o for o in out if o.asked]
    table: dict[str, list[Omission]] = defaultdict(list)
    for omission in asked:
        table[omission.role].append(omission)
    lines = [f"{'role':<10} {'removed':>8} {'found':>6} {'share':>7}   one of several: found"]
    for role, rows in (*sorted(table.items()), ("all", asked)):
        found = sum(o.found for o in rows)
        several = [o for o in rows if not o.alone]
        lines.append(
            f"{role:<10} {len(rows):>8} {found:>6} {found / max(len(rows), 1):>7.1%}   "
            f"{sum(o.found for o in several)} of {len(several)}"
        )
    stops = untouched[untouched["level"] == "stop"]
    places = set(zip(stops["build"], stops["assembly"], stops["joint"], strict=True))
    lines.append(
        f"untouched: {len(places)} of {joints} joints with a stop "
        f"({len(places) / max(joints, 1):.1%}); gaps by level "
        f"{untouched['level'].value_counts().to_dict()}"
    )
    lines.append(
        f"lines in roles that the kind does not ask for: {len(out) - len(asked)}, "
        f"of them found {sum(o.found for o in out if not o.asked)}"
    )
    return "\n".join(lines)


def main() -> None:
    """Run on one folder of sheets."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("folder", type=Path, help="folder of sheets, one csv file each")
    parser.add_argument("--each", action="store_true", help="list the omissions not found")
    parser.add_argument("--history", action="store_true", help="let past builds' records count")
    given = parser.parse_args()
    shop = load(given.folder)
    if not given.history:
        shop = shop.replaced(**{n: BY_NAME[n].empty() for n in ("used", "forgotten")})
    begun = time.perf_counter()
    out, untouched, joints = omissions(shop, catalogs())
    spent = time.perf_counter() - begun
    print(report(out, untouched, joints))
    print(f"{len(out)} omissions in {spent:.1f} s")
    if given.each:
        for o in out:
            if not o.found:
                print(f"  {o.assembly} | {o.joint} | {o.role} | {o.part}")
        print(untouched[untouched["level"] == "stop"].to_string())


if __name__ == "__main__":
    main()

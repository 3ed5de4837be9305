"""Remove the lines of a bill one at a time and tell how many of the omissions are found.

    python tests/flow/omissions.py SHEETS [--each] [--every N] [--history]

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
    silent: bool
    by: str


def load(folder: Path) -> Shop:
    """Read a folder of sheets, or a workbook; faults are told and their rows left out."""
    reading = read_sheets(folder)
    for fault in reading.findings:
        if fault.level is Level.STOP:
            print(f"left out: {fault}")
    return empty_shop().replaced(**{n: f for n, f in reading.frames.items() if n in BY_NAME})


def without_history(shop: Shop) -> Shop:
    """Return the shop as one that has never noted what a build used or missed."""
    return shop.replaced(**{n: BY_NAME[n].empty() for n in ("used", "forgotten")})


def omissions(
    shop: Shop, reference: Catalogs, every: int = 1
) -> tuple[list[Omission], pd.DataFrame, int]:
    """Take out each line of a joint and role, one at a time; or every n-th.

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
    kinds = reference.kinds
    asks = set(zip(kinds["kind"], kinds["role"], strict=True))
    kind_of = {(j.assembly, j.joint): j.kind for j in bills.joints.itertuples()}
    silent = {(g.assembly, g.joint, g.role) for g in untouched.itertuples()}
    lines, required = shop["lines"], bills.required
    needing = required.drop_duplicates("line").set_index("line")["build"].to_dict()
    at = [row for row in lines.itertuples() if row.joint and row.role and row.line in needing]
    shared = Counter((row.assembly, row.joint, row.role) for row in at)
    # most are found in the first build that needs the line; only the others need all builds
    trials = {b: _Trial(shop, builds[builds["build"] == b], reference) for b in needing.values()}
    whole = _Trial(shop, builds, reference)
    out = []
    for row in at[::every]:
        without = shop.replaced(lines=lines[lines["line"] != row.line].reset_index(drop=True))
        key = (row.assembly, row.joint, row.role)
        new = trials[needing[row.line]].new(without, key) or whole.new(without, key)
        out.append(
            Omission(
                row.line, *key, row.part,
                asked=(kind_of.get(key[:2], ""), row.role) in asks,
                alone=shared[key] == 1,
                found=bool(new),
                silent=key not in silent,
                by="; ".join(sorted({gap[7] for gap in new})),
            )
        )  # fmt: skip
    return out, untouched, len(bills.joints)


class _Trial:
    """Some builds of a shop, and what is said of them before anything is taken out."""

    def __init__(self, shop: Shop, builds: pd.DataFrame, reference: Catalogs) -> None:
        self._builds, self._reference = builds.reset_index(drop=True), reference
        self._before = self._rows(shop)

    def _rows(self, shop: Shop) -> set[tuple[str, ...]]:
        frame = gaps(shop, explode(shop, self._builds), self._reference)
        return {tuple(row) for row in frame.to_numpy().tolist()}

    def new(self, shop: Shop, key: tuple[str, str, str]) -> list[tuple[str, ...]]:
        """Return the gaps at an assembly, joint and role that were not told before."""
        rows = self._rows(shop) - self._before
        return [row for row in rows if (row[1], row[3], row[4]) == key]


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
    silent = [o for o in asked if o.silent]
    lines.append(
        f"where the untouched bill said nothing at joint and role: "
        f"{sum(o.found for o in silent)} of {len(silent)} found"
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
    parser.add_argument("--every", type=int, default=1, help="take out every n-th line only")
    parser.add_argument("--history", action="store_true", help="let past builds' records count")
    given = parser.parse_args()
    shop = load(given.folder)
    if not given.history:
        shop = without_history(shop)
    begun = time.perf_counter()
    out, untouched, joints = omissions(shop, catalogs(), given.every)
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

"""How long the checks of a bill of 5,000 joints take.

Run as a script: ``python tests/speed/bench_completeness.py``. Every kind of the catalog in turn,
a line for each role that it asks for but the last, four thousand parts with names of the trade.
The floor lays the same required rows in a dictionary by joint and splits their names into words:
what any check of names must do at least.
"""

from __future__ import annotations

from time import perf_counter
from types import SimpleNamespace

import pandas as pd

from kitting.bill import gaps
from kitting.reading.catalogs import catalogs
from kitting.tables.flow import BUILD_JOINTS, CHOICES, LEFT_OVERS, REQUIRED
from kitting.tables.shop import BUILDS, LINES, PARTS, STAGES, Shop, empty_shop

REFERENCE = catalogs()
PARTS_HELD = 4_000


def frame(table, rows: list[dict]) -> pd.DataFrame:
    """Return a frame of the contract; what a row does not name is blank."""
    blank = {c.name: {"text": "", "yes or no": False}.get(c.kind) for c in table.columns}
    return table.conform(pd.DataFrame([blank | row for row in rows], columns=table.names))


def bill(joints: int) -> tuple[Shop, SimpleNamespace]:
    """Return a shop and one exploded build that closes so many joints."""
    kinds, families = REFERENCE.kinds, REFERENCE.families
    by_kind = {k: g["role"].tolist()[:-1] for k, g in kinds.groupby("kind", sort=False)}
    names = list(by_kind)
    spelled = [w.split(";")[0] for w in families["words"]]
    by_role: dict[str, list[str]] = {}
    for roles, word in zip(families["roles"], spelled, strict=True):
        by_role.setdefault(roles.split(";")[0], []).append(word)
    places, rows, parts = [], [], {}
    for n in range(joints):
        kind = names[n % len(names)]
        joint = {"joint": f"joint {n}", "kind": kind, "joins": f"cover {n} to oil gallery"}
        places.append({"build": "B", "assembly": "A", "stage": "s", **joint, "count": 1,
                       "disturbances": 1})  # fmt: skip
        for role in by_kind[kind]:
            words = by_role.get(role, ["record"])
            number = (n * 7 + len(rows)) % PARTS_HELD
            part = f"{role[:2]}{number}"
            name = f"{words[number % len(words)]} M{6 + number % 5 * 2} x {20 + number % 9 * 5}"
            parts[part] = {"part": part, "name": name, "unit": "piece", "single_use": "never"}
            rows.append({"required": len(rows), "line": len(rows) + 1, "build": "B",
                         "assembly": "A", "stage": "s", "joint": f"joint {n}", "role": role,
                         "part": part, "quantity": 2})  # fmt: skip
    shop = empty_shop().replaced(
        parts=frame(PARTS, list(parts.values())),
        stages=frame(STAGES, [{"assembly": "A", "stage": "s", "work_days": 1.0}]),
        lines=frame(LINES, [{k: v for k, v in row.items() if k in LINES.names} for row in rows]),
        builds=frame(BUILDS, [{"build": "B", "assembly": "A", "priority": 1}]),
    )
    bills = SimpleNamespace(
        required=frame(REQUIRED, rows),
        joints=frame(BUILD_JOINTS, places),
        left_overs=LEFT_OVERS.empty(),
        choices=CHOICES.empty(),
    )
    return shop, bills


def floor(shop: Shop, bills: SimpleNamespace) -> float:
    """Return the seconds of laying rows by joint and splitting names into words."""
    begun = perf_counter()
    names = dict(zip(shop["parts"]["part"].tolist(), shop["parts"]["name"].tolist(), strict=True))
    at: dict[tuple[str, str, str], list] = {}
    columns = [bills.required[c].tolist() for c in REQUIRED.names]
    for row in zip(*columns, strict=True):
        at.setdefault((row[1], row[2], row[4]), []).append((row, names[row[6]].casefold().split()))
    return perf_counter() - begun


def measure(joints: int = 5_000, rounds: int = 3) -> tuple[float, float, int]:
    """Return the best seconds of the checks and of the floor, and how many gaps were found."""
    shop, bills = bill(joints)
    spent, least, found = [], [], 0
    for _ in range(rounds):
        least.append(floor(shop, bills))
        begun = perf_counter()
        found = len(gaps(shop, bills, REFERENCE))
        spent.append(perf_counter() - begun)
    return min(spent), min(least), found


def main() -> None:
    """Print the figures."""
    spent, least, found = measure()
    print(f"5,000 joints: {spent:.2f} s, {found} gaps; floor {least:.3f} s, {spent / least:.0f} x")


if __name__ == "__main__":
    main()

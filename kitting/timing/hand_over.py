"""What is still owed when a build leaves the bench, and what is on it that must come off."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pandas as pd

from kitting.tables.times import HAND_OVER
from kitting.terms.words import LENT_ROLES

if TYPE_CHECKING:
    from collections.abc import Iterator

    from kitting.tables.shop import Shop

STAGE, PART, OFF = "stage to do", "part to fit", "comes off"
_KEY = ("build", "assembly", "stage")
_TEMPORARY = ("assembly", "part", "stage", "joint", "removed_in", "note")
_Key = tuple[str, str, str]


def hand_over(
    shop: Shop, required: pd.DataFrame, build_joints: pd.DataFrame, stage_days: pd.DataFrame
) -> pd.DataFrame:
    """Return what happens to each build after it left the bench.

    Deferred stages with their days, the parts that they fit (what is lent to them left out), and
    the plugs, caps and pins that are on: those that go in at a bench stage or later and come out
    in a deferred stage, or in none that anybody named. What the build's options leave out is left
    out.

    Parameters
    ----------
    shop
        Reads ``temporary``, ``joints``, ``stages`` and ``parts``.
    required, build_joints, stage_days
        The tables of those names.

    Returns
    -------
    DataFrame
        Table ``hand_over``: by build, what comes off first, then the stages by day, each followed
        by its parts.
    """
    if stage_days.empty:
        return HAND_OVER.empty()
    columns = (stage_days[c].tolist() for c in (*_KEY, "name", "start", "deferred"))
    days: dict[_Key, tuple[str, Any, bool]] = {}
    for build, assembly, stage, name, start, deferred in zip(*columns, strict=True):
        days[build, assembly, stage] = name, start, deferred
    names = dict(zip(shop["parts"]["part"].tolist(), shop["parts"]["name"].tolist(), strict=True))
    turn = {build: n for n, build in enumerate(dict.fromkeys(key[0] for key in days))}
    rows = [
        *_off(shop, build_joints, days),
        *({"what": STAGE, "name": d[0]} | _where(k, d) for k, d in days.items() if d[2]),
        *_parts(required, days),
    ]
    if not rows:
        return HAND_OVER.empty()
    blank = {"joint": "", "part": "", "quantity": pd.NA, "required": 0, "note": ""}
    rows = [blank | row for row in rows]
    for row in rows:
        row.setdefault("name", names.get(row["part"], ""))

    def place(row: dict[str, Any]) -> tuple[Any, ...]:
        unknown = pd.isna(row["day"])
        day = "" if unknown else row["day"].isoformat()
        later = row["what"] != OFF
        return turn[row["build"]], later, unknown, day, row["assembly"], row["stage"]

    # Rows of one stage keep their order: the stage first, then its parts.
    return HAND_OVER.conform(pd.DataFrame(sorted(rows, key=place)))


def _where(key: _Key, day: tuple[str, Any, bool]) -> dict[str, Any]:
    return dict(zip(_KEY, key, strict=True)) | {"day": day[1]}


def _parts(
    required: pd.DataFrame, days: dict[_Key, tuple[str, Any, bool]]
) -> Iterator[dict[str, Any]]:
    """Yield the parts that deferred stages fit."""
    lent = required["role"].isin([str(r) for r in LENT_ROLES])
    owed = required[required["deferred"] & ~lent & (required["quantity"] > 0)]
    names = (*_KEY, "joint", "part", "quantity", "required", "from_set", "note")
    for *key, joint, part, quantity, number, from_set, note in zip(
        *(owed[c].tolist() for c in names), strict=True
    ):
        build, assembly, stage = key
        day = days.get((build, assembly, stage), ("", pd.NaT, True))
        yield _where((build, assembly, stage), day) | {
            "what": PART,
            "joint": joint,
            "part": part,
            "quantity": quantity,
            "required": number,
            "note": f"out of the set {from_set}" if from_set else note,
        }


def _off(
    shop: Shop, build_joints: pd.DataFrame, days: dict[_Key, tuple[str, Any, bool]]
) -> Iterator[dict[str, Any]]:
    """Yield the things that are on a build when it leaves the bench and must come off."""
    sheet = shop["temporary"]
    if sheet.empty:
        return
    columns = (build_joints[c].tolist() for c in ("build", "assembly", "joint"))
    closed = set(zip(*columns, strict=True))
    stages = shop["stages"]
    keys = zip(stages["assembly"].tolist(), stages["stage"].tolist(), strict=True)
    later = dict(zip(keys, stages["deferred"].tolist(), strict=True))
    columns = (sheet[c].tolist() for c in _TEMPORARY)
    for assembly, part, goes_in, joint, removed_in, note in zip(*columns, strict=True):
        # A stage that nobody named, or that is nowhere, takes nothing off before the hand-over.
        if not later.get((assembly, removed_in), True):
            continue
        for build in dict.fromkeys(b for b, a, _ in days if a == assembly):
            if joint and (build, assembly, joint) not in closed:
                continue
            said = f"on since {goes_in}; " + (
                f"take it off in {removed_in}"
                if removed_in
                else "nobody said when it comes off: take it off before use"
            )
            day = days.get((build, assembly, removed_in), ("", pd.NaT, True))
            yield _where((build, assembly, removed_in), day) | {
                "what": OFF,
                "joint": joint,
                "part": part,
                "note": f"{said} ({note})" if note else said,
            }

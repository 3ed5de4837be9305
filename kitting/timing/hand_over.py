"""What is still owed when a build leaves the bench, and what is on it that must come off."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from kitting.tables.times import HAND_OVER
from kitting.terms.words import LENT_ROLES

if TYPE_CHECKING:
    from kitting.tables.shop import Shop

STAGE, PART, OFF = "stage to do", "part to fit", "comes off"
_KEY = ["build", "assembly", "stage"]


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
    later = stage_days[stage_days["deferred"]]
    names = shop["parts"].set_index("part")["name"]
    blank = {"joint": "", "part": "", "quantity": pd.NA, "required": 0, "note": ""}
    stages = later.assign(what=STAGE, day=later["start"], rank=1, **blank)
    parts = _parts(required, later)
    off = _off(shop, build_joints, stage_days)
    for frame in (parts, off):
        frame["name"] = frame["part"].map(names).fillna("")
    columns = [*HAND_OVER.names, "rank"]
    found = pd.concat([f[columns] for f in (off, stages, parts) if len(f)] or [stages[columns]])
    turn = {b: n for n, b in enumerate(dict.fromkeys(stage_days["build"]))}
    found["turn"] = found["build"].map(turn)
    found["off"] = found["what"] != OFF
    found = found.sort_values(
        ["turn", "off", "day", "assembly", "stage", "rank"], kind="stable", na_position="last"
    )
    return HAND_OVER.conform(found)


def _parts(required: pd.DataFrame, later: pd.DataFrame) -> pd.DataFrame:
    """Return the parts that deferred stages fit."""
    lent = required["role"].isin([str(r) for r in LENT_ROLES])
    owed = required[required["deferred"] & ~lent & (required["quantity"] > 0)]
    days = later[[*_KEY, "start"]].rename(columns={"start": "day"})
    owed = owed.merge(days, how="left", on=_KEY, validate="m:1")
    notes = np.where(owed["from_set"] != "", "out of the set " + owed["from_set"], owed["note"])
    return owed.assign(what=PART, rank=2, note=notes)


def _off(shop: Shop, build_joints: pd.DataFrame, stage_days: pd.DataFrame) -> pd.DataFrame:
    """Return the things that are on a build when it leaves the bench and must come off."""
    sheet = shop["temporary"]
    inside = stage_days[["build", "assembly"]].drop_duplicates()
    rows = inside.merge(sheet, on="assembly")
    stages = shop["stages"][["assembly", "stage", "deferred"]]
    out = stages.rename(columns={"stage": "removed_in", "deferred": "later"})
    rows = rows.merge(out, how="left", on=["assembly", "removed_in"], validate="m:1")
    key = ["build", "assembly", "joint"]
    closed = pd.MultiIndex.from_frame(build_joints[key])
    here = (rows["joint"] == "").to_numpy() | pd.MultiIndex.from_frame(rows[key]).isin(closed)
    # A stage that nobody named, or that is nowhere, takes nothing off before the hand-over.
    on = rows["later"].astype("boolean").fillna(True).to_numpy(dtype=bool)
    rows = rows[here & on].rename(columns={"stage": "goes_in", "removed_in": "stage"})
    days = stage_days[[*_KEY, "start"]].rename(columns={"start": "day"})
    rows = rows.merge(days, how="left", on=_KEY, validate="m:1")
    said = np.where(
        rows["stage"] == "",
        "on since " + rows["goes_in"] + "; nobody said when it comes off: take it off before use",
        "on since " + rows["goes_in"] + "; take it off in " + rows["stage"],
    )
    note = np.where(rows["note"] == "", said, said + " (" + rows["note"] + ")")
    return rows.assign(what=OFF, rank=0, quantity=pd.NA, required=0, note=note)

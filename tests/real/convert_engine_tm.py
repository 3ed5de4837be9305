"""Sheets from assembly facts of US Army technical manuals, in the public domain.

``engine_tm/tm_assembly_facts.csv``: one row for each part that a step of a manual names, with its
number, torque and remark, transcribed in other words. What the converter does:

- A machine is an assembly, its stages are the file's stages, and a step that tightens something
  is a joint; its kind is told by what the step fits (gasket: flange; cotter pin: castellated nut;
  rod cap: bearing shell; key: keyed hub). Steps that tighten nothing are lines without a joint.
- Parts have no numbers in the facts: the name is the number, and one name is one part. A part
  that must be new is single-use never.
- A torque is a line with the role figure; its value is a note and manual and page its source. A
  step whose torque was cut off on the page has none.
- Rows that are general rules for a whole machine, and not steps, are left out. "As needed" is one.
"""

from __future__ import annotations

import csv
from collections import defaultdict
from typing import TYPE_CHECKING

import pytest
from real.folder import BILLS, START

if TYPE_CHECKING:
    from pathlib import Path

    from real.folder import Row, Sheets

Fact = dict[str, str]


def facts() -> list[Fact]:
    """Return the facts that are steps of a machine; skip the test where they are absent."""
    path = BILLS.parent / "engine_tm" / "tm_assembly_facts.csv"
    if not path.is_file():
        pytest.skip("the assembly facts are not beside the project (shared/real/engine_tm)")
    return steps(path)


def steps(path: Path) -> list[Fact]:
    """Read the facts that are steps."""
    with path.open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    general = ("general rule", "if metal contamination")
    return [row for row in rows if row["stage"] not in general and row["action"] != "discard"]


def _kind(names: set[str]) -> str:
    """Tell a joint's kind by what its step fits."""
    if any("rod cap" in name for name in names):
        return "bearing_shell_in_saddle"
    if "cotter pin" in names:
        return "castellated_or_wired_fastener"
    if any(name.endswith(" key") for name in names):
        return "keyed_or_splined_pulley_damper"
    return "flange_flat_gasket"


def _role(name: str) -> str:
    """Tell what a part does at its joint; what the joint carries has no role."""
    for word, role in (
        ("gasket", "seal"), ("packing", "seal"), ("capscrew", "clamp"), ("lockwasher", "secure"),
        ("cotter pin", "secure"), (" nut", "clamp"), ("washer", "clamp"), (" key", "locate"),
    ):  # fmt: skip
        if word in f" {name}":
            return role
    return ""


def sheets(rows: list[Fact]) -> Sheets:
    """Return the sheets of all machines, with one build of each."""
    groups: dict[tuple[str, str, str], list[Fact]] = defaultdict(list)
    for row in rows:
        groups[row["machine"], row["stage"], row["step"]].append(row)
    # the rod's cap, washers and nuts are one joint, told in two steps of the manual
    if (rod := ("diesel engine", "piston assembly (each)", "3")) in groups:
        groups[*rod[:2], "2"] += groups.pop(rod)
    joints: list[Row] = []
    lines: list[Row] = []
    for (machine, stage, _), step in groups.items():
        tight = [row for row in step if row["action"] == "tighten"]
        carried = step[0]["part"]
        place: Row = {"assembly": machine, "stage": stage, "joint": carried if tight else ""}
        if tight:
            kind = _kind({row["part"] for row in step})
            joints.append({**place, "kind": kind, "joins": f"{carried} to case"})
        lines += _lines(place, step)
    names = {str(row["part"]): row for row in lines if row["part"]}
    new = {row["part"] for row in rows if row["must_be_new"] == "yes"}
    return {
        "parts": [
            {"part": name, "name": name, "unit": "piece", "single_use": "never" * (name in new)}
            for name in names
        ],
        "stages": [
            {"assembly": machine, "stage": stage, "work_days": 1}
            for machine, stage in dict.fromkeys((r["machine"], r["stage"]) for r in rows)
        ],
        "joints": joints,
        "lines": lines,
        "builds": [
            {"build": f"TM-{n}", "assembly": machine, "start": START.isoformat()}
            for n, machine in enumerate(dict.fromkeys(r["machine"] for r in rows), start=1)
        ],
    }


def _lines(place: Row, step: list[Fact]) -> list[Row]:
    """Return the lines of one step: parts, then what it lubricates and how tight it is."""
    out: list[Row] = []
    for row in step:
        source = f"{row['manual']} {row['page_or_para']}"
        number = row["qty"] if row["qty"].isdigit() else "1"
        role = _role(row["part"]) if place["joint"] else ""
        given = {"source": source, "note": row["remark"]}
        out.append({**place, "role": role, "part": row["part"], "quantity": number, **given})
        if row["consumable"] and place["joint"] and "lubricate" not in {r["role"] for r in out}:
            grease = {**place, "role": "lubricate", "part": row["consumable"], "quantity": "1"}
            out.append({**grease, "source": source})
        if row["torque"]:
            figure = {**place, "role": "figure", "part": "", "quantity": ""}
            out.append({**figure, "source": source, "note": row["torque"]})
    return out

"""Amounts that are computed: which lines may leave their quantity blank, and what a way needs."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from kitting.errors import UnitError
from kitting.terms.designations import parse_designation
from kitting.terms.units import Dimension, unit
from kitting.terms.words import WAY_NEEDS, Way

if TYPE_CHECKING:
    from collections.abc import Mapping

    from kitting.reading.view import View

Place = tuple[str, str, str, str]
"""Assembly, stage (blank at a joint), joint and part."""


def computed_places(view: View) -> frozenset[Place]:
    """Return where a line may leave its quantity blank, since it is computed.

    Rows of ``amounts`` name the places; a circuit with a quantity gives one fill to each line of
    its fluid that has no joint.
    """
    found: set[Place] = set()
    rows = _columns(view, "amounts", ("assembly", "stage", "joint", "part"))
    for assembly, stage, joint, part in zip(*rows, strict=True):
        found.add((assembly, "" if joint else stage, joint, part))
    rows = _columns(view, "circuits", ("assembly", "part", "quantity"))
    for assembly, part, quantity in zip(*rows, strict=True):
        if str(quantity) not in ("", "None", "<NA>"):
            found.add((assembly, "", "", part))
    return frozenset(found)


def is_computed(places: frozenset[Place], line: Place) -> bool:
    """Tell whether the quantity of a line is computed."""
    assembly, stage, joint, part = line
    if joint:
        return (assembly, "", joint, part) in places
    return (assembly, stage, "", part) in places or (assembly, "", "", part) in places


def _columns(view: View, name: str, columns: tuple[str, ...]) -> list[list[Any]]:
    """Return columns of a sheet as it was written, or of the table that the shop holds."""
    sheet = view.sheets.get(name)
    if sheet is not None:
        return [sheet.raw.get(c) or sheet.values.get(c, []) for c in columns]
    if view.known is None or not view.known.has(name):
        return [[] for _ in columns]
    return [view.known[name][c].tolist() for c in columns]


def check_amounts(view: View, part_units: Mapping[str, str]) -> None:
    """Tell of rows of the sheet amounts that cannot be computed."""
    if "amounts" not in view.sheets:
        return
    values = view.sheets["amounts"].values
    faults: dict[str, dict[str, list[int]]] = {}
    for i, (part, way) in enumerate(zip(values["part"], values["way"], strict=True)):
        if way not in set(Way):
            continue
        for column in WAY_NEEDS[Way(way)]:
            if not values[column][i]:
                message = f"the cell is blank; {way} needs the {column}"
                faults.setdefault(column, {}).setdefault(message, []).append(i)
        for column, message in (
            ("thread", _thread_fault(way, values["thread"][i])),
            ("share", _share_fault(values["share"][i])),
            ("part", _part_fault(part, part_units)),
        ):
            if message:
                faults.setdefault(column, {}).setdefault(message, []).append(i)
    for column, told in faults.items():
        view.tell("amounts", column, told)


def _thread_fault(way: str, thread: str) -> str:
    if way != Way.THREAD or not thread:
        return ""
    found = parse_designation(thread)
    if found is None or not found.thread:
        return f'"{thread}" is not a metric thread; write M8, or M12x1.5 for a fine one'
    return ""


def _share_fault(share: float | None) -> str:
    if share is None or share <= 1:
        return ""
    return f"{share:g} is above 1; write the share of the concentrate, 0.5 for one to one"


def _part_fault(part: str, part_units: Mapping[str, str]) -> str:
    if part not in part_units:
        return ""
    try:
        of = unit(part_units[part])
    except UnitError:
        return ""
    if of.dimension in (Dimension.VOLUME, Dimension.MASS):
        return ""
    return (
        f'"{part}" is counted in {of.name} in the sheet parts, and an amount is a volume or a '
        "mass; count the part in ml or g"
    )

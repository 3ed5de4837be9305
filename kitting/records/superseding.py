"""A part that came under a new number, which superseded the one that was ordered."""

from __future__ import annotations

from typing import TYPE_CHECKING

from kitting.errors import InputError
from kitting.records.counting import known_part
from kitting.records.rows import storable
from kitting.terms.words import StandInKind

if TYPE_CHECKING:
    from kitting.records.opening import Records
    from kitting.records.orders import Arrival


def accept_number(records: Records, part: str, arrival: Arrival) -> None:
    """Take a superseding number into ``parts`` and ``stand_ins``, as a new version of the bill.

    What is there already stays: a part of that number, a stand-in with another ratio.

    Parameters
    ----------
    part
        The number on the order.
    arrival
        What came; ``came_as`` is the new number.

    Raises
    ------
    UnknownName
        When the shop does not know the number on the order.
    InputError
        When the two are counted in different units.
    """
    new, reason = storable(arrival.came_as), f"came on order {arrival.order}"
    with records.writing() as hand:
        known_part(hand, part)
        rows = hand.rows(
            "SELECT part, unit FROM parts WHERE part IN (:old, :new)", {"old": part, "new": new}
        )
        units = {str(row[0]): str(row[1]) for row in rows}
        if new in units and units[new] != units[part]:
            raise InputError(
                f"{new} is counted in {units[new]} and {part} in {units[part]}: it cannot have "
                "superseded it; put the sheet parts right"
            )
        known = hand.rows(
            "SELECT 1 FROM stand_ins WHERE part = :old AND stand_in = :new",
            {"old": part, "new": new},
        )
        if new in units and known:
            return
        _write(records, (part, new), reason, arrival)


def _write(records: Records, numbers: tuple[str, str], reason: str, arrival: Arrival) -> None:
    """Add what is not known yet, through the same door as a sheet."""
    import pandas as pd

    from kitting.records.frames import snapshot
    from kitting.records.sheets import apply
    from kitting.tables.shop import PARTS, STAND_INS

    old, new = numbers
    shop = snapshot(records)
    parts, stand_ins = shop["parts"], shop["stand_ins"]
    frames = {}
    if new not in set(parts["part"]):
        row = parts[parts["part"] == old].assign(part=new, note=f"supersedes {old}")
        frames["parts"] = PARTS.conform(pd.concat([parts, row]))
    pair = {
        "part": old, "stand_in": new, "kind": StandInKind.SUPERSEDES.value, "take": 1, "give": 1,
        "note": reason,
    }  # fmt: skip
    if not ((stand_ins["part"] == old) & (stand_ins["stand_in"] == new)).any():
        frames["stand_ins"] = STAND_INS.conform(pd.concat([stand_ins, pd.DataFrame([pair])]))
    apply(records, frames, arrival.received, arrival.by, f"{new} superseded {old}: {reason}")

"""Noting a forgotten part, in ten seconds."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from kitting.errors import InputError, UnknownName
from kitting.records.rows import day_text, insert, storable
from kitting.tables.shop import FORGOTTEN
from kitting.terms.nearest import nearest
from kitting.terms.words import Cause

if TYPE_CHECKING:
    from datetime import date

    from kitting.records.opening import Records


@dataclass(frozen=True, slots=True)
class Forgotten:
    """A part that was asked for after its stage's kit was called complete.

    Parameters
    ----------
    build, part, noted
        Whose, what and when.
    stage, joint, role
        Where, as far as it is known.
    quantity
        How much was missing [base units].
    unit
        Unit as written.
    cause
        Why; blank when nobody knows yet.
    hours_lost, money_lost
        What it cost [hours, cents].
    note
        Anything else.
    entry
        Its number; given by the shop.
    """

    build: str
    part: str
    noted: date
    stage: str = ""
    joint: str = ""
    role: str = ""
    quantity: int = 1
    unit: str = "piece"
    cause: str = ""
    hours_lost: float = 0.0
    money_lost: int = 0
    note: str = ""
    entry: int = 0


def forgot(records: Records, what: Forgotten) -> Forgotten:
    """Note a forgotten part and return it with its number.

    The part need not be known: that it is on no list may be why it was forgotten.

    Raises
    ------
    UnknownName
        When the shop has no such build, or no assembly such a stage.
    InputError
        When the part is blank, the quantity is not above zero or the cause is not one of ours.
    """
    if not what.part.strip() or what.quantity <= 0:
        raise InputError("say which part was forgotten, and a quantity above zero")
    causes = [c.value for c in Cause]
    if what.cause and what.cause not in causes:
        raise InputError(f'"{what.cause}" is not a cause; write one of {", ".join(causes)}')
    with records.writing() as hand:
        builds = [str(row[0]) for row in hand.rows("SELECT build FROM builds")]
        if what.build not in builds:
            raise UnknownName(f'there is no build "{what.build}"{nearest(what.build, builds)}')
        stages = [str(row[0]) for row in hand.rows("SELECT DISTINCT stage FROM stages")]
        if what.stage and what.stage not in stages:
            raise UnknownName(f'there is no stage "{what.stage}"{nearest(what.stage, stages)}')
        ((last,),) = hand.rows("SELECT COALESCE(MAX(entry), 0) FROM forgotten")
        written = replace(what, entry=int(last) + 1)
        values = {name: getattr(written, name) for name in FORGOTTEN.names}
        for value in values.values():
            storable(value) if isinstance(value, str) else None
        hand.run(insert("forgotten", FORGOTTEN.names), values | {"noted": day_text(what.noted)})
    return written

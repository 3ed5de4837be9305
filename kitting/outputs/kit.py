"""What stands on the kit sheets of a build: stages, rows, and what is taken from where."""

from __future__ import annotations

import re
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Any

from kitting.outputs.both_units import amount_text

if TYPE_CHECKING:
    from collections.abc import Iterable
    from datetime import date

    from kitting.terms.units import Unit

_DIGITS = re.compile(r"(\d+)")


@dataclass(frozen=True, slots=True)
class Taken:
    """A part to take from one place for one stage.

    Parameters
    ----------
    part, asked, name
        Number of the part that is taken, the number that the bill asks for, and its name.
    quantity, unit
        How much [base units], and the unit to write it in.
    place, lot, use_by
        Where it is.
    bag
        The bag it goes into; blank = none.
    stages
        Assembly and stage; several when it is taken once for all of them.
    owner
        Whose it is; blank = the shop's.
    order, comes
        The order it comes by and the day; blank = it is on the shelf.
    lent
        It serves the whole build and is put back.
    done
        It lies in the kit, or was fitted.
    """

    part: str
    asked: str
    name: str
    quantity: int
    unit: Unit
    place: str
    lot: str
    use_by: date | None
    bag: str
    stages: tuple[tuple[str, str], ...]
    owner: str = ""
    order: str = ""
    comes: date | None = None
    lent: bool = False
    done: bool = False

    @property
    def amount(self) -> str:
        """How much, with its unit."""
        return amount_text(self.quantity, self.unit)


def together(taken: Iterable[Taken]) -> list[Taken]:
    """Add up what is taken from one place into one bag; what has no bag is taken once for all.

    What is lent goes round, so the most that one asks for is enough.
    """
    found: dict[tuple[str, ...], Taken] = {}
    for one in taken:
        key = (one.part, one.asked, one.place, one.lot, one.owner, one.order, one.bag)
        held = found.get(key)
        if held is None:
            found[key] = one
            continue
        quantity = max(held.quantity, one.quantity) if one.lent else held.quantity + one.quantity
        stages = tuple(dict.fromkeys([*held.stages, *one.stages]))
        found[key] = replace(held, quantity=quantity, stages=stages)
    return list(found.values())


@dataclass(frozen=True, slots=True)
class Row:
    """One action of a stage: what stands in each column of its sheet."""

    amount: str
    what: str
    number: str = ""
    place: str = ""
    bag: str = ""
    mark: str = ""


@dataclass(slots=True)
class StageKit:
    """What one stage needs, in the order of its joints.

    Parameters
    ----------
    number
        Its place in the order of work, from 1.
    groups
        Heading of a joint (blank = the stage as a whole) and its rows.
    short
        What is not there, each in words.
    left_over
        What its sets bring beyond the need, each in words.
    """

    number: int
    assembly: str
    stage: str
    name: str
    place: str
    start: date | None
    finish: date | None
    deferred: bool
    groups: list[tuple[str, list[Row]]] = field(default_factory=list)
    taken: list[Taken] = field(default_factory=list)
    short: list[str] = field(default_factory=list)
    left_over: list[str] = field(default_factory=list)


@dataclass(frozen=True, slots=True)
class Kit:
    """The kit of a build, stage by stage in the order of work."""

    build: str
    assembly: str
    options: str
    customer: str
    shop: str
    paper: str
    day: date
    stages: tuple[StageKit, ...]

    def part_of(self, *, deferred: bool) -> Kit:
        """Return the kit with the stages on the bench alone, or with those that come later."""
        stages = tuple(s for s in self.stages if s.deferred is deferred)
        return Kit(
            self.build, self.assembly, self.options, self.customer, self.shop, self.paper,
            self.day, stages,
        )  # fmt: skip


def walking(place: str) -> tuple[Any, ...]:
    """Return a key that puts places in the order of a walk: ``shelf 2`` before ``shelf 10``."""
    parted = _DIGITS.split(place.casefold())
    return tuple((int(p), "") if p.isdigit() else (-1, p) for p in parted)

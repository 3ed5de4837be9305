"""R8: a belt as long as its pulleys ask for, whatever an option makes of them."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING

from kitting.bill.openings import extra
from kitting.bill.survey import listed
from kitting.tables.extra_sheets import BELTS, PULLEYS
from kitting.tables.shop import SETTING_DEFAULTS
from kitting.terms.belts import Pulley, belt_length
from kitting.terms.conditions import holds, parse_when
from kitting.terms.words import Role

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from kitting.bill.survey import Filler, Gap, Place, Survey
    from kitting.terms.conditions import Condition

_TOLERANCE = "belt_tolerance"
_PULLEY = ("assembly", "joint", "pulley", "x", "y", "diameter", "turn", "when")


@dataclass(frozen=True, slots=True)
class Row:
    """One row of table ``pulleys``."""

    pulley: Pulley
    when: tuple[Condition, ...]

    @property
    def given(self) -> bool:
        """Whether place and diameter are written."""
        figures = (self.pulley.x, self.pulley.y, self.pulley.diameter)
        return all(figure == figure for figure in figures)


@dataclass(frozen=True, slots=True)
class Belt:
    """One row of table ``belts``; no ribs = not said."""

    part: str
    length: float
    ribs: int | None


def belts(seen: Survey) -> Iterator[Gap]:
    """Find belts whose length is not what the pulleys of their joint ask for.

    Only joints all of whose pulleys are given, with a belt on the bill whose length is given, are
    looked at. Rows of pulleys stand in the order in which the belt meets them.
    """
    rows, known = _pulleys(seen), _belts(seen)
    if not rows or not known:
        return
    slack = _tolerance(seen)
    for place in seen.places:
        at = rows.get((place.assembly, place.joint), ())
        on = {f.part: f for f in place.fillers if f.part in known}
        choices = seen.choices.get(place.build, {})
        here = _there(at, choices)
        if not on or not here:
            continue
        try:
            length = belt_length(here)
        except ValueError as fault:
            yield place.gap(
                _role(next(iter(on.values()))),
                f"its length cannot be computed from the sheet pulleys: {fault}; put x, y, "
                "diameter, turn or the order of the rows right",
            )
            continue
        for part, filler in on.items():
            if abs(known[part].length - length) > slack:
                change = _change(seen, place, at, length)
                yield place.gap(
                    _role(filler), _say(filler, known[part], length)
                    + change + _would_fit(known, part, length, slack)
                    + f"; the tensioner decides, {slack:g} mm either way is assumed",
                )  # fmt: skip


def _role(filler: Filler) -> str:
    return filler.role or Role.LOCATE


def _say(filler: Filler, belt: Belt, length: float) -> str:
    off = belt.length - length
    return (
        f"{filler.called} is {belt.length:g} mm and the pulleys ask for {length:.1f} mm: it is "
        f"{abs(off):.1f} mm too {'long' if off > 0 else 'short'}"
    )


def _change(seen: Survey, place: Place, at: Sequence[Row], length: float) -> str:
    """Say by how much the options chosen for the pulleys change the belt."""
    choices = seen.choices.get(place.build, {})
    usual = _defaults(seen, place.assembly)
    asked = dict.fromkeys(c.option for row in at for c in row.when)
    own = {o: usual[o] for o in asked if o in usual and usual[o] != choices.get(o, "")}
    before = _there(at, {**choices, **own})
    if not own or not before:
        return ""
    try:
        change = length - belt_length(before)
    except ValueError:
        return ""
    old = {p.name: p.diameter for p in before}
    new = {p.name: p.diameter for p in _there(at, choices)}
    what = [
        f"{name} {diameter:g} in place of {old[name]:g} mm"
        for name, diameter in new.items()
        if name in old and old[name] != diameter
    ]
    if not what or not round(change, 1):
        return ""
    because = " and ".join(f"{option}={choices.get(option, '')}" for option in own)
    return (
        f"; {because} ({listed(what)}) makes the belt {abs(change):.1f} mm "
        f"{'longer' if change > 0 else 'shorter'}"
    )


def _would_fit(known: Mapping[str, Belt], part: str, length: float, slack: float) -> str:
    """Name the shop's belts of this length, the nearest first; ribs as on the bill, if known."""
    ribs = known[part].ribs
    near = sorted(known.values(), key=lambda belt: abs(belt.length - length))
    fit = [
        f"{belt.part} ({belt.length:g} mm)"
        for belt in near
        if abs(belt.length - length) <= slack and (None in (ribs, belt.ribs) or belt.ribs == ribs)
    ]
    if fit:
        return f"; of the shop's own {listed(fit)} would fit"
    return "; no belt of the sheet belts would fit"


def _there(at: Sequence[Row], choices: Mapping[str, str]) -> list[Pulley]:
    """Return the pulleys of a joint in a build; none when one of them is not given."""
    rows = [row for row in at if holds(row.when, choices)]
    return [row.pulley for row in rows] if all(row.given for row in rows) else []


def _defaults(seen: Survey, assembly: str) -> dict[str, str]:
    """Return the defaults of options, those of an assembly before those of others."""
    frame = seen.shop["options"]
    columns = (frame[c].tolist() for c in ("assembly", "option", "default"))
    found: dict[str, str] = {}
    for _, option, default in sorted(zip(*columns, strict=True), key=lambda r: r[0] != assembly):
        found.setdefault(option, default)
    return found


def _pulleys(seen: Survey) -> Mapping[tuple[str, str], list[Row]]:
    frame = extra(seen, PULLEYS)
    found: dict[tuple[str, str], list[Row]] = defaultdict(list)
    for assembly, joint, name, x, y, diameter, turn, when in zip(
        *(frame[c].tolist() for c in _PULLEY), strict=True
    ):
        row = Row(Pulley(name, x, y, diameter, turn == "back"), parse_when(when))
        found[assembly, joint].append(row)
    return found


def _belts(seen: Survey) -> dict[str, Belt]:
    """Return the belts whose length is known."""
    frame = extra(seen, BELTS)
    columns = (frame[c].tolist() for c in ("part", "length", "ribs"))
    return {
        part: Belt(part, length, ribs if isinstance(ribs, int) else None)
        for part, length, ribs in zip(*columns, strict=True)
        if length > 0
    }


def _tolerance(seen: Survey) -> float:
    """Return by how much a belt may differ [mm]."""
    try:
        return float(Fraction(seen.shop.setting(_TOLERANCE)))
    except (ValueError, ArithmeticError):
        return float(SETTING_DEFAULTS[_TOLERANCE])

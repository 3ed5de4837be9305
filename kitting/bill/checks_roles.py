"""R1: every role that a joint's kind asks for is filled, by a line, a set or a waiver."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from typing import TYPE_CHECKING

from kitting.bill.openings import extra
from kitting.bill.survey import listed, said
from kitting.tables.extra_sheets import FIGURES
from kitting.terms.nearest import nearest
from kitting.terms.words import Level, Role

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from kitting.bill.survey import Filler, Gap, Place, Survey

_LACK = {
    Role.LOCATE: "nothing locates",
    Role.SEAL: "nothing seals",
    Role.CLAMP: "nothing clamps",
    Role.SECURE: "nothing secures",
    Role.LUBRICATE: "no lubricant is listed for",
    Role.PREPARE: "nothing to prepare the faces is listed for",
    Role.TOOL: "no tool is listed for",
    Role.FIGURE: "no figure is given for",
    Role.VERIFY: "nothing is written down to verify at",
}
_ROLES = frozenset(Role)
_DOWN = {Level.STOP: Level.WARN, Level.WARN: Level.NOTE, Level.NOTE: Level.NOTE}
_RANK = {Level.STOP: 0, Level.WARN: 1, Level.NOTE: 2}


@dataclass(frozen=True, slots=True)
class Ask:
    """What a joint kind asks for in one role."""

    role: str
    level: Level
    usual: str
    rule: str
    source: str


def asks(seen: Survey) -> Mapping[str, tuple[Ask, ...]]:
    """Return what each joint kind of the catalog asks for."""
    found: dict[str, list[Ask]] = defaultdict(list)
    frame = seen.catalogs.kinds
    columns = ("kind", "role", "level", "usual", "rule", "source")
    for kind, role, level, usual, rule, source in zip(
        *(frame[c].tolist() for c in columns), strict=True
    ):
        found[kind].append(Ask(role, Level(level), usual, rule, source))
    return {kind: tuple(rows) for kind, rows in found.items()}


def roles(seen: Survey) -> Iterator[Gap]:
    """Find the empty roles of every joint.

    An empty role weighs less when something nearby may fill it without saying so: a part at the
    joint without a role, or a lubricant, tool or sealant listed for the whole stage. An empty seal
    weighs one step more when the joint holds back fuel, pressure, oil, coolant or hot gas.
    """
    wanted = asks(seen)
    inside = _set_families(seen)
    holding = _holds_back(seen)
    by_stage = _loose_by_stage(seen)
    figured = _figured(seen)
    for place in seen.places:
        if place.kind not in wanted:
            continue
        filled = {f.role for f in place.fillers}
        if (place.assembly, place.joint) in figured:
            filled.add(Role.FIGURE)
        empty = [ask for ask in wanted[place.kind] if ask.role not in filled]
        if not empty:
            continue
        stage_wide = by_stage.get((place.build, place.assembly, place.stage), ())
        for ask in empty:
            if not _inside_a_set(seen, place, ask.role, inside):
                yield _empty(seen, place, ask, stage_wide, holding)


def unknown_kinds(seen: Survey) -> Iterator[Gap]:
    """Find joints whose kind is not in the catalog, so that nothing can be asked of them."""
    known = asks(seen)
    for place in seen.places:
        if place.kind in known:
            continue
        if place.kind:
            message = f'joint kind "{place.kind}" is not known{nearest(place.kind, known)}'
        else:
            message = "the joint has no kind, so nobody can say what it needs; give it one"
        yield place.gap("", message)


def unknown_roles(seen: Survey) -> Iterator[Gap]:
    """Find lines whose role is not one of the nine words."""
    for place in seen.places:
        for filler in place.fillers:
            if filler.role and filler.role not in _ROLES:
                yield place.gap(
                    filler.role,
                    f'"{filler.role}" of {filler.called} is not a role'
                    + (nearest(filler.role, Role) or f"; write one of {', '.join(Role)}"),
                )


def _empty(
    seen: Survey,
    place: Place,
    ask: Ask,
    stage_wide: tuple[Filler, ...],
    holding: tuple[tuple[frozenset[str], str, Level], ...],
) -> Gap:
    """Word one empty role and settle its level."""
    level, held, hint = ask.level, "", ""
    if ask.role == Role.SEAL:
        level, held = _raised(level, said(place.joint, place.joins), holding)
    unsaid = [
        f.called
        for f in place.fillers
        if ask.role in seen.families.roles(f.family) and f.role not in seen.families.roles(f.family)
    ]
    shared = [
        f.called
        for f in stage_wide
        if f.role == ask.role and ask.role in seen.families.roles(f.family)
    ]
    if unsaid:
        level = Level.NOTE
        hint = f"; {listed(unsaid)} may be it: write its role"
    elif shared:
        level = _DOWN[level]
        hint = f"; {listed(shared)} of the stage may serve: say so with a line at the joint"
    rule = f" ({ask.rule})" if ask.rule else ""
    what = place.joins or place.joint
    return place.gap(
        ask.role,
        f'{_LACK[Role(ask.role)]} "{what}"{held}: usually {ask.usual}{rule}{hint}; '
        f"add a line with role {ask.role}, or waive it with a reason",
        level,
        ask.source,
    )


def _raised(
    level: Level, spoken: frozenset[str], holding: tuple[tuple[frozenset[str], str, Level], ...]
) -> tuple[Level, str]:
    """Raise a level by one step when the joint holds something back, up to what it is worth."""
    held = [(what, up_to) for phrase, what, up_to in holding if phrase <= spoken]
    if not held:
        return level, ""
    what, up_to = min(held, key=lambda h: _RANK[h[1]])
    up = {v: k for k, v in _DOWN.items() if k is not v}.get(level, level)
    if _RANK[up] >= _RANK[up_to]:
        level = up
    return level, f", which holds back {what}"


def _holds_back(seen: Survey) -> tuple[tuple[frozenset[str], str, Level], ...]:
    frame = seen.catalogs.holds_back
    return tuple(
        (said(word), what, Level(up_to))
        for word, what, up_to in zip(
            *(frame[c].tolist() for c in ("word", "holds", "up_to")), strict=True
        )
    )


def _figured(seen: Survey) -> frozenset[tuple[str, str]]:
    """Return the joints for which the sheet of figures has a row."""
    frame = extra(seen, FIGURES)
    return frozenset(zip(frame["assembly"].tolist(), frame["joint"].tolist(), strict=True))


def _set_families(seen: Survey) -> Mapping[str, tuple[str, ...]]:
    """Return the families of what each set contains for use."""
    frame = seen.shop["sets"]
    found: dict[str, list[str]] = defaultdict(list)
    for name, part, fits in zip(*(frame[c].tolist() for c in ("set", "part", "fits")), strict=True):
        if fits in ("", "needed"):
            found[name].append(seen.part_families.get(part, ""))
    return {name: tuple(families) for name, families in found.items()}


def _inside_a_set(
    seen: Survey, place: Place, role: str, inside: Mapping[str, tuple[str, ...]]
) -> bool:
    """Tell whether a set that stands at the joint contains a part for the role."""
    return any(
        role in seen.families.roles(family)
        for filler in place.fillers
        for family in inside.get(filler.part, ())
    )


def _loose_by_stage(seen: Survey) -> Mapping[tuple[str, str, str], tuple[Filler, ...]]:
    found: dict[tuple[str, str, str], list[Filler]] = defaultdict(list)
    for (build, assembly), fillers in seen.loose.items():
        for filler in fillers:
            found[build, assembly, filler.stage].append(filler)
    return {key: tuple(fillers) for key, fillers in found.items()}

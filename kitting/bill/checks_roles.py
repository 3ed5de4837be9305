"""R1: every role that a joint's kind asks for is filled, by a line, a set or a waiver."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from typing import TYPE_CHECKING

from kitting.bill.openings import extra
from kitting.bill.survey import listed, said
from kitting.tables.extra_sheets import FIGURES
from kitting.terms.conditions import split_list
from kitting.terms.nearest import nearest
from kitting.terms.words import Fits, Level, Role

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
    joint without a role, a lubricant, tool or sealant listed for the whole stage, a content of a
    set that no line claims. An empty seal weighs one step more when the joint holds back fuel,
    pressure, oil, coolant or hot gas.
    """
    wanted = asks(seen)
    nearby = _Nearby(seen)
    figured = _figured(seen)
    for place in seen.places:
        if place.kind not in wanted:
            continue
        filled = {f.role for f in place.fillers}
        if (place.assembly, place.joint) in figured:
            filled.add(Role.FIGURE)
        for ask in wanted[place.kind]:
            if ask.role not in filled and not nearby.inside_a_set(place, ask.role):
                yield _empty(place, ask, nearby)


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


def _empty(place: Place, ask: Ask, nearby: _Nearby) -> Gap:
    """Word one empty role and settle its level."""
    level, held = ask.level, ""
    if ask.role == Role.SEAL:
        level, held = _raised(level, said(place.joint, place.joins), nearby.holding)
    level, hint = nearby.hint(place, ask.role, level)
    rule = f" ({ask.rule})" if ask.rule else ""
    what = place.joins or place.joint
    return place.gap(
        ask.role,
        f'{_LACK[Role(ask.role)]} "{what}"{held}: usually {ask.usual}{rule}{hint}; '
        f"add a line with role {ask.role}, or waive it with a reason",
        level,
        ask.source,
    )


class _Nearby:
    """What stands near a joint and may fill an empty role without saying so.

    Parameters
    ----------
    seen
        The survey.
    """

    def __init__(self, seen: Survey) -> None:
        self.holding = _holds_back(seen)
        self._seen = seen
        self._inside = _set_families(seen)
        self._by_stage = _loose_by_stage(seen)
        self._core = _core_families(seen)
        self._unclaimed = _unclaimed(seen)

    def _serves(self, family: str, kind: str, role: str) -> bool:
        """Tell whether a part of the family would fill the role at a joint of the kind."""
        if role not in self._seen.families.roles(family):
            return False
        core = self._core.get((kind, role))
        return core is None or self._seen.families.is_a(family, core)

    def inside_a_set(self, place: Place, role: str) -> bool:
        """Tell whether a set that stands at the joint contains a part for the role."""
        return any(
            self._serves(family, place.kind, role)
            for filler in place.fillers
            for family in self._inside.get(filler.part, ())
        )

    def hint(self, place: Place, role: str, level: Level) -> tuple[Level, str]:
        """Return the level in the light of what is near, and what that is in words."""
        seen = self._seen
        unsaid = [
            f.called
            for f in place.fillers
            if f.role not in seen.families.roles(f.family)
            and self._serves(f.family, place.kind, role)
        ]
        if unsaid:
            return Level.NOTE, f"; {listed(unsaid)} may be it: write its role"
        claimed = self._unclaimed.get((*place.key, role))
        if claimed:
            return Level.NOTE, f"; {listed(claimed)} may be it: write a line for it"
        shared = [
            f.called
            for f in self._by_stage.get((place.build, place.assembly, place.stage), ())
            if f.role in ("", role) and self._serves(f.family, place.kind, role)
        ]
        if shared:
            names = listed(shared)
            return _DOWN[level], f"; {names} of the stage may serve: say so with a line here"
        return level, ""


def _core_families(seen: Survey) -> Mapping[tuple[str, str], frozenset[str]]:
    """Return the families of which one must be there, by kind and role: the warning rows."""
    frame = seen.catalogs.expectations
    found: dict[tuple[str, str], set[str]] = defaultdict(set)
    columns = ("kind", "role", "family", "per", "level")
    for kind, role, family, per, level in zip(*(frame[c].tolist() for c in columns), strict=True):
        if level == Level.WARN and not per:
            found[kind, role].update(split_list(family))
    return {key: frozenset(families) for key, families in found.items()}


def _unclaimed(seen: Survey) -> Mapping[tuple[str, str, str, str], list[str]]:
    """Return contents of sets that no line claims, by the joint and role where they may belong."""
    found: dict[tuple[str, str, str, str], list[str]] = defaultdict(list)
    frame = seen.left_overs
    rows = frame[(frame["fits"] == Fits.NEEDED) & (frame["quantity"] > 0)]
    for build, name, part in zip(
        *(rows[c].tolist() for c in ("build", "set", "part")), strict=True
    ):
        for spot in seen.locator.best(part):
            if spot.place.build == build:
                told = f"{seen.part_names.get(part) or part} in {seen.part_names.get(name) or name}"
                found[(*spot.place.key, spot.role)].append(told)
    return found


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
    """Return the joints for which the sheet of figures holds a value; a blank is asked for."""
    frame = extra(seen, FIGURES)
    frame = frame[frame["value"].notna()]
    return frozenset(zip(frame["assembly"].tolist(), frame["joint"].tolist(), strict=True))


def _set_families(seen: Survey) -> Mapping[str, tuple[str, ...]]:
    """Return the families of what each set contains for use."""
    frame = seen.shop["sets"]
    found: dict[str, list[str]] = defaultdict(list)
    for name, part, fits in zip(*(frame[c].tolist() for c in ("set", "part", "fits")), strict=True):
        if fits in ("", "needed"):
            found[name].append(seen.part_families.get(part, ""))
    return {name: tuple(families) for name, families in found.items()}


def _loose_by_stage(seen: Survey) -> Mapping[tuple[str, str, str], tuple[Filler, ...]]:
    found: dict[tuple[str, str, str], list[Filler]] = defaultdict(list)
    for (build, assembly), fillers in seen.loose.items():
        for filler in fillers:
            found[build, assembly, filler.stage].append(filler)
    return {key: tuple(fillers) for key, fillers in found.items()}

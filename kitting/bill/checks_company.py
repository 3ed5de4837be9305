"""What goes together at a joint: companions from the catalog, joints alike, the joint's own words.

These look at roles that something fills already, where an empty-role check sees nothing: one of
two bolt lengths, the back-up ring beside the o-ring, the gauge beside the wrench.
"""

from __future__ import annotations

import re
from collections import Counter, defaultdict
from dataclasses import dataclass
from typing import TYPE_CHECKING

from kitting.bill.families import words
from kitting.bill.survey import listed
from kitting.terms.conditions import split_list
from kitting.terms.words import Level, Role

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping

    from kitting.bill.survey import Filler, Gap, Place, Survey

# A family counts as usual when this share of the other joints has it, and at least two of them.
_SHARE = 0.75
_SIDES = re.compile(
    r"\b(left|right|lh|rh|l|r|front|rear|upper|lower|top|bottom|inner|outer|inlet|outlet|exhaust"
    r"|port|starboard|fore|aft|first|second|third|fourth|[ivx]+|[a-d])\b|[0-9]+|#|\W+"
)
# Families of hardware and seals that a joint's own words call for.
_SMALL = frozenset({Role.SEAL, Role.CLAMP, Role.SECURE, Role.LOCATE})


@dataclass(frozen=True, slots=True)
class Expected:
    """One row of table ``joint_expectations``, read."""

    role: str
    families: tuple[str, ...]
    per: tuple[str, ...]
    times: int
    level: str
    usual: str
    source: str


def companions(seen: Survey) -> Iterator[Gap]:
    """Find families that go together at a joint and of which one is missing or short."""
    by_kind = _expectations(seen)
    for place in seen.places:
        if not place.fillers:
            continue
        have = {role for f in place.fillers if (role := f.role)}
        lacking: dict[str, list[Expected]] = defaultdict(list)
        for wanted in (*by_kind.get(place.kind, ()), *by_kind.get("", ())):
            if wanted.per:
                yield from _short_count(seen, place, wanted)
            elif wanted.role in have and not _any(seen, place.fillers, wanted.families):
                lacking[wanted.role].append(wanted)
        for role, rows in lacking.items():
            level = Level.WARN if any(r.level == Level.WARN for r in rows) else Level.NOTE
            yield place.gap(
                role,
                f"usually here as well: {listed((r.usual for r in rows), 6)}; "
                "add what is missing, or waive it with a reason",
                level,
                rows[0].source,
            )


def _expectations(seen: Survey) -> Mapping[str, tuple[Expected, ...]]:
    found: dict[str, list[Expected]] = defaultdict(list)
    frame = seen.catalogs.expectations
    columns = ("kind", "role", "family", "per", "times", "level", "usual", "source")
    for kind, role, family, per, *rest in zip(*(frame[c].tolist() for c in columns), strict=True):
        found[kind].append(Expected(role, split_list(family), split_list(per), *rest))
    return {kind: tuple(rows) for kind, rows in found.items()}


def _any(seen: Survey, fillers: Iterable[Filler], families: tuple[str, ...]) -> bool:
    return any(seen.is_a(f, families) for f in fillers)


def _short_count(seen: Survey, place: Place, wanted: Expected) -> Iterator[Gap]:
    """Compare the number of one family with the number of another."""
    base = sum(f.each for f in place.fillers if seen.is_a(f, wanted.per))
    if not base:
        return
    found = sum(f.each for f in place.fillers if seen.is_a(f, wanted.families))
    if found < base * wanted.times:
        yield place.gap(
            wanted.role,
            f"{found} where {base * wanted.times} are expected: {wanted.usual}; put the count "
            "right, or waive it with a reason",
            wanted.level,
            wanted.source,
        )


def alike_joints(seen: Survey) -> Iterator[Gap]:
    """Find joints that lack what the others of their kind have.

    Two comparisons: joints of one kind, where a family that three quarters of the others have
    is missing; and joints whose names differ only by a number or a side, where any family is
    missing or fewer.
    """
    by_kind: dict[tuple[str, str], list[Place]] = defaultdict(list)
    by_stem: dict[tuple[str, str, str, str], list[Place]] = defaultdict(list)
    for place in seen.places:
        if place.fillers:
            by_kind[place.build, place.kind].append(place)
            by_stem[place.build, place.assembly, place.kind, _stem(place.joint)].append(place)
    told = set()
    for group in by_stem.values():
        for gap in _against_siblings(group):
            told.add((gap.build, gap.assembly, gap.joint, gap.role))
            yield gap
    asked = _asked_roles(seen)
    for group in by_kind.values():
        for gap in _against_kind(seen, group, asked):
            if (gap.build, gap.assembly, gap.joint, gap.role) not in told:
                yield gap


def _stem(name: str) -> str:
    """Return a joint's name without numbers, sides and punctuation."""
    return _SIDES.sub("", name.casefold())


def _against_siblings(group: list[Place]) -> Iterator[Gap]:
    """Compare joints that differ only by number or side."""
    if len(group) < 2:
        return
    counts = [Counter((f.role, f.family) for f in p.fillers if f.family) for p in group]
    for at, place in enumerate(group):
        others = counts[:at] + counts[at + 1 :]
        common = others[0]
        for other in others[1:]:
            common = common & other
        for (role, family), number in common.items():
            if not role or counts[at][role, family] >= number:
                continue
            if sum(counts[at][key] for key in counts[at] if key[0] == role) == 0:
                continue  # an empty role is found by itself
            sibling = group[0] if at else group[1]
            yield place.gap(
                role,
                f"{sibling.joint} has {number} line{'s' if number > 1 else ''} with {family} and "
                f"this joint has {counts[at][role, family]}; add it, or waive it with a reason",
            )


def _against_kind(
    seen: Survey, group: list[Place], asked: Mapping[str, frozenset[str]]
) -> Iterator[Gap]:
    """Compare the joints of one kind in one build."""
    if len(group) < 3:
        return
    has = [frozenset((f.role, f.family) for f in p.fillers if f.role and f.family) for p in group]
    number = Counter(key for keys in has for key in keys)
    filled = Counter(role for keys in has for role in {role for role, _ in keys})
    usual = [key for key, n in number.items() if n >= 2]
    for place, keys in zip(group, has, strict=True):
        own_roles = {role for role, _ in keys}
        lacking: dict[str, list[tuple[str, int, int]]] = defaultdict(list)
        for role, family in usual:
            if (role, family) in keys:
                continue
            if role not in own_roles and role in asked.get(place.kind, ()):
                continue  # an empty role that the kind asks for is found by itself
            others = filled[role] - (role in own_roles) if role in own_roles else len(group) - 1
            n = number[role, family]
            if n >= max(2, _SHARE * others) and not _served(seen, place, family):
                lacking[role].append((family, n, others))
        for role, rows in lacking.items():
            told = listed(f"{family} at {n} of {others}" for family, n, others in rows)
            yield place.gap(
                role,
                f"the other joints of this kind have {told}; add it here, or waive it with a "
                "reason",
            )


def _served(seen: Survey, place: Place, family: str) -> bool:
    """Tell whether a joint has the family or a narrower or wider one in any role."""
    return any(
        f.family == family
        or seen.families.is_a(f.family, (family,))
        or seen.families.is_a(family, (f.family,))
        for f in place.fillers
        if f.family
    )


def _asked_roles(seen: Survey) -> Mapping[str, frozenset[str]]:
    found: dict[str, set[str]] = defaultdict(set)
    frame = seen.catalogs.kinds
    for kind, role in zip(frame["kind"].tolist(), frame["role"].tolist(), strict=True):
        found[kind].add(role)
    return {kind: frozenset(roles) for kind, roles in found.items()}


def named_in_joins(seen: Survey) -> Iterator[Gap]:
    """Find small parts that a joint's own words name and no line there brings."""
    for place in seen.places:
        have = {f.role for f in place.fillers}
        for family in _mentioned(seen, place):
            role = next(iter(seen.families.roles(family)), "")
            if role not in _SMALL or role not in have or _served(seen, place, family):
                continue
            yield place.gap(
                role,
                f'the joint joins "{place.joins}" and no line here brings a {family}; add it, or '
                "waive it with a reason",
            )


def _mentioned(seen: Survey, place: Place) -> tuple[str, ...]:
    """Return the families that ``joins`` names, without the joint's own name."""
    if not place.joins:
        return ()
    own = set(words(place.joint))
    return tuple(
        family
        for family in seen.families.mentioned(place.joins)
        if not set(words(family)) & own
    )

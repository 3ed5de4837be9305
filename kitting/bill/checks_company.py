"""What goes together at a joint: companions from the catalog, joints alike, the joint's own words.

These look at roles that something fills already, where an empty-role check sees nothing: one of
two bolt lengths, the back-up ring beside the o-ring, the gauge beside the wrench.
"""

from __future__ import annotations

import re
from collections import Counter, defaultdict
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

from kitting.bill.families import words
from kitting.bill.survey import listed
from kitting.terms.conditions import split_list
from kitting.terms.words import Level, Role

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from kitting.bill.survey import Gap, Place, Survey

# A family counts as usual when this share of the other joints has it, and at least two of them.
_SHARE = 0.75
_SIDES = re.compile(
    r"\b(left|right|lh|rh|l|r|front|rear|upper|lower|top|bottom|inner|outer|inlet|outlet|exhaust"
    r"|port|starboard|fore|aft|again|input|output|first|second|third|fourth|[ivx]+|[a-d])\b|[0-9]+|#|\W+"
)
# Roles in which one thing may be several, named together.
_SEVERAL = frozenset({Role.TOOL, Role.PREPARE})
# Families of small parts that a joint's own words call for.
_SMALL = frozenset(
    {
        *("gasket", "o-ring", "backup ring", "lip seal", "sealing washer", "sealant", "dowel"),
        *("key", "circlip", "split pin", "lock wire", "tab washer", "lock washer", "washer"),
        *("stud", "nut", "shim", "thrust washer", "grommet", "threadlocker", "bolt"),
    }
)
_NUMBERS = {"two": 2, "three": 3, "four": 4, "five": 5}
_LENGTHS = re.compile(r"\b(two|three|four|five|[2-9]) (?:different )?(?:\w+ )?lengths?\b")


@dataclass(frozen=True, slots=True)
class Expected:
    """One row of table ``joint_expectations``, read."""

    named: tuple[str, ...]
    role: str
    families: tuple[str, ...]
    per: tuple[str, ...]
    times: int
    level: str
    usual: str
    source: str


def companions(seen: Survey) -> Iterator[Gap]:
    """Find families that go together at a joint and of which one is missing or short."""
    by_kind, by_name = _expectations(seen)
    # Most joints have none of the names: one look tells.
    any_name = re.compile("|".join(re.escape(n) for w in by_name for n in w.named) or r"(?!)")
    asked = seen.asked_roles
    for place in seen.places:
        if not place.fillers:
            continue
        have = {role for f in place.fillers if (role := f.role)}
        lacking: dict[str, list[Expected]] = defaultdict(list)
        called = place.joint.casefold()
        named = by_name if any_name.search(called) else ()
        for wanted in (*by_kind.get(place.kind, ()), *by_kind.get("", ()), *named):
            if wanted.named and not any(name in called for name in wanted.named):
                continue
            if wanted.per:
                if place.kin.isdisjoint(wanted.per):
                    continue
                if wanted.role not in have and wanted.role in asked.get(place.kind, ()):
                    continue  # the empty role is found by itself
                yield from _short_count(seen, place, wanted)
            elif wanted.role in have and not _any(seen, place, wanted.families):
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


def _expectations(
    seen: Survey,
) -> tuple[Mapping[str, tuple[Expected, ...]], tuple[Expected, ...]]:
    """Return what is expected by kind, and what by words of a name at joints of any kind."""
    found: dict[str, list[Expected]] = defaultdict(list)
    by_name: list[Expected] = []
    frame = seen.catalogs.expectations
    columns = ("kind", "named", "role", "family", "per", "times", "level", "usual", "source")
    for kind, named, role, family, per, *rest in zip(
        *(frame[c].tolist() for c in columns), strict=True
    ):
        lists = (split_list(family), split_list(per))
        row = Expected(split_list(named), role, *lists, *rest)
        (by_name if row.named and not kind else found[kind]).append(row)
    return {kind: tuple(rows) for kind, rows in found.items()}, tuple(by_name)


def _any(seen: Survey, place: Place, families: tuple[str, ...]) -> bool:
    """Tell whether one of the families is there; a tool may be several: "gun and timer"."""
    return not place.kin.isdisjoint(families) or any(
        f.role in _SEVERAL
        and any(seen.families.is_a(m, families) for m in seen.families.mentioned(f.name))
        for f in place.fillers
    )


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
    missing or fewer. Joints that belong to other options count as others.
    """
    by_kind: dict[tuple[str, str], list[Place]] = defaultdict(list)
    by_stem: dict[_Stem, list[Place]] = defaultdict(list)
    for place in seen.places:
        if place.fillers:
            by_kind[place.build, place.kind].append(place)
            by_stem[_stem_key(place)].append(place)
    told = set()
    others = _by_stem(seen)
    for key, group in by_stem.items():
        for gap in _against_siblings(group, others.get(key[1:], {})):
            told.add((gap.build, gap.assembly, gap.joint, gap.role))
            yield gap
    asked = seen.asked_roles
    for group in by_kind.values():
        for gap in _against_kind(seen, group, asked):
            if (gap.build, gap.assembly, gap.joint, gap.role) not in told:
                yield gap


_Stem = tuple[str, str, str, str]


def _stem_key(place: Place) -> _Stem:
    return (place.build, place.assembly, place.kind, _stem(place.joint))


def _by_stem(seen: Survey) -> Mapping[tuple[str, ...], Mapping[str, Place]]:
    """Return every joint of any build or option, by (assembly, kind, stem), then by name."""
    found: dict[tuple[str, ...], dict[str, Place]] = defaultdict(dict)
    for place in (*seen.places, *seen.other_options):
        if place.fillers:
            found[_stem_key(place)[1:]].setdefault(place.joint, place)
    return found


@lru_cache(maxsize=1 << 14)
def _stem(name: str) -> str:
    """Return a joint's name without numbers, sides and punctuation."""
    return _SIDES.sub("", name.casefold())


def _against_siblings(group: list[Place], others: Mapping[str, Place]) -> Iterator[Gap]:
    """Compare joints that differ only by number or side: what all the others have, each has."""
    own = len(group)
    here = {place.joint for place in group}
    group = [*group, *(other for joint, other in others.items() if joint not in here)]
    if len(group) < 2:
        return
    counts = [Counter((f.role, f.family) for f in p.fillers if f.family and f.role) for p in group]
    numbers: dict[tuple[str, str], list[int]] = defaultdict(list)
    for counted in counts:
        for key, number in counted.items():
            numbers[key].append(number)
    for (role, family), having in numbers.items():
        if len(having) < len(group) - 1:
            continue
        least = sorted([0] * (len(group) - len(having)) + having)[:2]
        if least[0] == least[1]:
            continue
        at = next(n for n, c in enumerate(counts) if c[role, family] == least[0])
        place = group[at]
        if at >= own or not place.having(role):
            continue  # another option's joint; or an empty role, which is found by itself
        sibling = group[0] if at else group[1]
        yield place.gap(
            role,
            f"{sibling.joint} has {least[1]} line{'s' if least[1] > 1 else ''} with {family} and "
            f"this joint has {least[0]}; add it, or waive it with a reason",
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
    usual = [key for key, n in number.items() if n >= max(2, _SHARE * (filled[key[0]] - 1))]
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
    own = seen.families.kin(family)
    return family in place.kin or any(f.family in own for f in place.fillers if f.family)


def named_in_joins(seen: Survey) -> Iterator[Gap]:
    """Find small parts that a joint's own words name and no line there brings.

    Its words are what it joins and the notes of its lines; "two screw lengths" asks for two.
    """
    for place in seen.places:
        have = {f.role for f in place.fillers}
        for family in _mentioned(seen, place):
            role = next(iter(seen.families.roles(family)), "")
            if role in have and not _served(seen, place, family):
                yield place.gap(
                    role,
                    f"the joint's own words name a {family} and no line here brings one; add it, "
                    "or waive it with a reason",
                )
        yield from _lengths(seen, place)


def _mentioned(seen: Survey, place: Place) -> tuple[str, ...]:
    """Return the small families that a joint's words name, without the joint's own name."""
    own = set(words(place.joint))
    texts = (place.joins, *(f.note for f in place.fillers))
    found = dict.fromkeys(m for text in texts if text for m in seen.families.mentioned(text))
    return tuple(f for f in found if f in _SMALL and not set(words(f)) & own)


def _lengths(seen: Survey, place: Place) -> Iterator[Gap]:
    """Compare the number of bolt lengths that the joint's words give with its lines."""
    for text in (place.joins, *(f.note for f in place.fillers)):
        match = _LENGTHS.search(text.casefold()) if "length" in text else None
        if match is None:
            continue
        wanted = _NUMBERS.get(match[1]) or int(match[1])
        found = {f.part for f in place.fillers if seen.is_a(f, ("bolt", "stud"))}
        if found and len(found) < wanted:
            yield place.gap(
                Role.CLAMP,
                f'the joint\'s own words say "{match[0]}" and {len(found)} is listed; add the '
                "other, or waive it with a reason",
            )
        return

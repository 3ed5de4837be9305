"""R7, R8, R9: sizes known only by measuring, parts that follow an option, left and right."""

from __future__ import annotations

import re
from collections import defaultdict
from functools import lru_cache
from typing import TYPE_CHECKING

from kitting.bill.openings import extra
from kitting.bill.survey import Gap, listed, said
from kitting.tables.extra_sheets import MEASURED
from kitting.terms.conditions import parse_when
from kitting.terms.words import Level, Role, SingleUse

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping

    from kitting.bill.survey import Filler, Place, Survey

# Families whose size is chosen by measuring, in kinds that say what must be known first.
_MEASURED = ("bearing shell", "thrust washer", "shim", "piston ring", "head gasket", "liner")
_DONE = frozenset({"measured", "measuring", "measurement"})
# What changes with what: the follower must be chosen by every option that chooses the leader.
_FOLLOWS: tuple[tuple[str, str], ...] = (
    ("pulley", "belt"),
    ("stud", "nut"),
    ("hose", "hose clamp"),
    ("lip seal", "wear sleeve"),
)
_FOLLOWERS = frozenset(follower for _, follower in _FOLLOWS)
_HANDS: tuple[tuple[str, str], ...] = (
    ("left", "right"),
    ("lh", "rh"),
    ("port", "starboard"),
    ("nearside", "offside"),
)
# "Port" is an opening more often than a side: it counts only where the other side has a number.
_AMBIGUOUS = ("port", "starboard")
_SIDED = (("left", "right"), ("lh", "rh"), ("front", "rear"))
_PLACED = (("upper", "lower"), ("inner", "outer"), ("long", "short"), ("top", "bottom"))
_CALLING = frozenset(w for pair in (*_SIDED, *_PLACED) for w in pair)
_PAIRED = (Role.SEAL, Role.CLAMP, Role.LOCATE, Role.SECURE)


def measure_first(seen: Survey) -> Iterator[Gap]:
    """Find parts whose size is known only by measuring, while nobody says that it is.

    A joint of the sheet ``measured`` is planned for, and is left out.
    """
    kinds = seen.catalogs.kinds
    first: dict[str, str] = {}
    for kind, text in zip(kinds["kind"].tolist(), kinds["first"].tolist(), strict=True):
        if text:
            first.setdefault(kind, text)
    frame = extra(seen, MEASURED)
    planned = set(zip(frame["assembly"].tolist(), frame["joint"].tolist(), strict=True))
    for place in seen.places:
        if place.kind not in first or (place.assembly, place.joint) in planned:
            continue
        for filler in place.fillers:
            to_measure = seen.single_use.get(filler.part) == SingleUse.MEASURE
            if not (to_measure or seen.is_a(filler, _MEASURED)):
                continue
            if said(filler.note, filler.source) & _DONE:
                continue
            yield place.gap(
                filler.role,
                f"{filler.called}: {first[place.kind]}; it cannot be ordered before, and its lead "
                "time starts then",
            )


def follows_option(seen: Survey) -> Iterator[Gap]:
    """Find parts that stay the same while an option changes the part that they depend on."""
    options = _options_by_line(seen)
    if not any(options.values()):
        return
    lines = seen.shop["lines"]
    at: dict[tuple[str, str], list[tuple[str, int]]] = defaultdict(list)
    columns = ("assembly", "joint", "part", "line")
    for assembly, joint, part, line in zip(*(lines[c].tolist() for c in columns), strict=True):
        if joint and seen.part_families.get(part):
            at[assembly, joint].append((seen.part_families[part], line))
    ruled = _options_of_rules(seen)
    for place in seen.places:
        here = at.get((place.assembly, place.joint), ()) if place.kin & _FOLLOWERS else ()
        for leader, follower in _FOLLOWS:
            leading = _options(seen, here, leader, options)
            following = [f for f in place.fillers if seen.is_a(f, (follower,))]
            if not leading or not following:
                continue
            bound = _options(seen, here, follower, options) | ruled.get(follower, set())
            for option in sorted(leading - bound):
                yield place.gap(
                    following[0].role or Role.LOCATE,
                    f"the {leader} changes with the option {option} and {following[0].called} "
                    f"does not; give the {follower} lines conditions on {option}, or waive it "
                    "with a reason",
                )


def _options(
    seen: Survey,
    here: Iterable[tuple[str, int]],
    family: str,
    options: Mapping[int, frozenset[str]],
) -> set[str]:
    return {o for f, line in here if seen.families.is_a(f, (family,)) for o in options[line]}


def _options_by_line(seen: Survey) -> Mapping[int, frozenset[str]]:
    lines = seen.shop["lines"]
    known: dict[str, frozenset[str]] = {}
    found = {}
    for line, when in zip(lines["line"].tolist(), lines["when"].tolist(), strict=True):
        if when not in known:
            known[when] = frozenset(c.option for c in parse_when(when))
        found[line] = known[when]
    return found


def _options_of_rules(seen: Survey) -> Mapping[str, set[str]]:
    """Return, by family, the options on which rules bring a part of it."""
    rules = seen.shop["rules"]
    found: dict[str, set[str]] = defaultdict(set)
    for part, when in zip(rules["needs_part"].tolist(), rules["when"].tolist(), strict=True):
        family = seen.part_families.get(part, "")
        if family:
            found[family] |= {c.option for c in parse_when(when)}
    return found


def hands(seen: Survey) -> Iterator[Gap]:
    """Find parts of one hand without their counterpart, in the unit and at a joint."""
    for owner in seen.owners:
        yield from _pairs(seen, owner)
    for place in seen.places:
        yield from _complements(place)


def _pairs(seen: Survey, owner: tuple[str, str]) -> Iterator[Gap]:
    """Compare the numbers of left and right parts of one name in one assembly."""
    counts: dict[tuple[str, int], dict[int, int]] = defaultdict(lambda: {0: 0, 1: 0})
    where: dict[tuple[str, int], tuple[Place | None, Filler]] = {}
    for place, filler in seen.all_fillers(owner):
        spoken = _hand(filler.called)
        if spoken is not None:
            stem, pair, side = spoken
            counts[stem, pair][side] += filler.each
            where[stem, pair] = (place, filler)
    known = {s for n in seen.part_names.values() if (s := _hand(n)) is not None}
    choosing = _options_by_line(seen)
    for key, sides in counts.items():
        if sides[0] == sides[1] or _chosen_by_hand(seen, owner, key, choosing):
            continue
        if _HANDS[key[1]] == _AMBIGUOUS and not {(*key, 0), (*key, 1)} <= known:
            continue
        place, filler = where[key]
        few = _HANDS[key[1]][0 if sides[0] < sides[1] else 1]
        message = (
            f"{filler.called}: {sides[0]} {_HANDS[key[1]][0]} and {sides[1]} "
            f"{_HANDS[key[1]][1]}; the {few} one is missing, or waive it with a reason"
        )
        if place is not None:
            yield place.gap(filler.role, message)
        else:
            yield Gap(*owner, filler.stage, "", filler.role, message)


@lru_cache(maxsize=1 << 16)
def _hand(name: str) -> tuple[str, int, int] | None:
    """Return a name without its hand, the pair of words and the side."""
    tokens = re.findall(r"[a-z0-9]+", name.casefold())
    for pair, sides in enumerate(_HANDS):
        for side, word in enumerate(sides):
            if word in tokens:
                return " ".join(t for t in tokens if t != word), pair, side
    return None


def _chosen_by_hand(
    seen: Survey,
    owner: tuple[str, str],
    key: tuple[str, int],
    options: Mapping[int, frozenset[str]],
) -> bool:
    """Tell whether an option decides which hand is fitted, so that one alone is right."""
    joints = seen.shop["joints"]
    when = {
        (a, j): w
        for a, j, w in zip(
            *(joints[c].tolist() for c in ("assembly", "joint", "when")), strict=True
        )
    }
    for place, filler in seen.all_fillers(owner):
        if (spoken := _hand(filler.called)) and spoken[:2] == key:
            at = when.get((place.assembly, place.joint), "") if place else ""
            if options.get(filler.line) or at:
                return True
    return False


def _complements(place: Place) -> Iterator[Gap]:
    """Find words at a joint that call for their opposite in the same role: upper, lower.

    Left and right are taken from names only: in notes they have other meanings.
    """
    fillers = [f for f in place.fillers if f.part and f.role in _PAIRED]
    if _CALLING.isdisjoint(said(*(t for f in fillers for t in (f.name, f.note)))):
        return
    own = said(place.joint)
    for role in dict.fromkeys(f.role for f in fillers):
        named = {f: said(f.name) for f in fillers if f.role == role}
        noted = {f: heard | said(f.note) for f, heard in named.items()}
        for pairs, spoken in ((_SIDED, named), (_PLACED, noted)):
            for one, other in pairs:
                yield from _lone(place, role, spoken, (one, other), own)
                yield from _lone(place, role, spoken, (other, one), own)


def _lone(
    place: Place,
    role: str,
    spoken: Mapping[Filler, frozenset[str]],
    pair: tuple[str, str],
    own: frozenset[str],
) -> Iterator[Gap]:
    word, opposite = pair
    if own & {word, opposite}:
        return
    having = [f.called for f, heard in spoken.items() if word in heard]
    if having and not any(opposite in heard for heard in spoken.values()):
        yield place.gap(
            role,
            f"{listed(having)} is the {word} one and no {opposite} one is listed; add it, or "
            "waive it with a reason",
            Level.NOTE,
        )

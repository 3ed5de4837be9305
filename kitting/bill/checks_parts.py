"""Parts against the bill: unasked parts, contents of sets, left-overs, what past builds used."""

from __future__ import annotations

from collections import Counter, defaultdict
from typing import TYPE_CHECKING

from kitting.bill.survey import Gap, listed
from kitting.terms.conditions import split_list
from kitting.terms.words import Cause, Fits, Level

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from kitting.bill.survey import Survey
    from kitting.tables.shop import Shop

# With more unasked parts than this, and than a tenth of the asked, the list of parts is a
# catalogue rather than the shop's own, and says nothing about one bill.
_MOST_UNASKED = 20
# Causes that say something about the bill rather than about the bench or the supplier.
_OF_THE_BILL = frozenset({"", Cause.NOT_IN_BILL, Cause.OPTION})


def unasked_parts(seen: Survey) -> Iterator[Gap]:
    """Find parts that the shop lists and no bill, set, rule or stand-in asks for."""
    asked = _asked(seen)
    unasked = [part for part in seen.part_names if part not in asked]
    if not unasked:
        return
    builds = dict.fromkeys(p.build for p in seen.places)
    if len(unasked) > max(_MOST_UNASKED, len(asked) // 10):
        for build in builds:
            message = (
                f"{len(unasked)} parts of the sheet parts are asked for by no bill; look through "
                "them for lines that were lost"
            )
            yield Gap(build, "", "", "", "", message)
        return
    for part in unasked:
        told = f"{seen.part_names[part] or part} ({part}) has a number and no bill asks for it"
        spots = seen.locator.best(part)
        for spot in spots:
            yield spot.place.gap(
                spot.role,
                f"{told}; it may belong here{_or_at(spot.others)}: add the line, or waive it "
                "with a reason",
            )
        for build in () if spots else builds:
            yield Gap(build, "", "", "", "", f"{told}; give it a line, or take it off the list")


def _or_at(others: tuple[str, ...]) -> str:
    return f", or at {listed(others)}" if others else ""


def _asked(seen: Survey) -> set[str]:
    """Return every part that some bill of the shop may ask for, directly or not."""
    shop = seen.shop
    asked = set(shop["lines"]["part"]) | set(shop["rules"]["needs_part"]) | _sizes(shop)
    contents: dict[str, list[str]] = defaultdict(list)
    for name, part in zip(shop["sets"]["set"].tolist(), shop["sets"]["part"].tolist(), strict=True):
        contents[name].append(part)
    grown = True
    while grown:
        before = len(asked)
        for name, parts in contents.items():
            if name in asked:
                asked.update(parts)
        grown = len(asked) > before
    asked |= {name for name, parts in contents.items() if not asked.isdisjoint(parts)}
    frame = shop["stand_ins"]
    for part, other in zip(frame["part"].tolist(), frame["stand_in"].tolist(), strict=True):
        if part in asked or other in asked:
            asked |= {part, other}
    return asked


def _sizes(shop: Shop) -> set[str]:
    """Return every part from which a measurement chooses: those that are named, or a family."""
    measured, parts = shop["measured"], shop["parts"]
    named = {part for text in measured["parts"] for part in split_list(text)}
    families = {f.casefold().strip() for f in measured.loc[measured["parts"] == "", "family"]}
    of_family = [f.casefold().strip() in families - {""} for f in parts["family"]]
    return named | set(parts.loc[of_family, "part"])


def sets(seen: Survey) -> Iterator[Gap]:
    """Find contents of sets beyond the need, and sets whose contents nobody wrote down."""
    frame = seen.left_overs
    columns = ("build", "set", "part", "quantity", "fits")
    for build, name, part, quantity, fits in zip(
        *(frame[c].tolist() for c in columns), strict=True
    ):
        if fits != Fits.NEEDED:
            continue
        spots = [s for s in seen.locator.best(part) if s.place.build == build]
        message = (
            f"{seen.part_names.get(name) or name} holds {quantity} more of "
            f"{seen.part_names.get(part) or part} ({part}) than the bill asks for"
        )
        for spot in spots:
            where = f"a line may be missing here{_or_at(spot.others)}"
            yield spot.place.gap(spot.role, f"{message}; {where}")
        if not spots:
            yield Gap(build, "", "", "", "", f"{message}; a line may be missing")
    yield from _unlisted(seen)


def _unlisted(seen: Survey) -> Iterator[Gap]:
    known = set(seen.shop["sets"]["set"])
    told = set()
    for owner in seen.owners:
        for place, filler in seen.all_fillers(owner):
            key = (owner[0], filler.part)
            if key in told or filler.part in known or not _is_set(filler.name):
                continue
            told.add(key)
            joint = place.joint if place else ""
            message = (
                f"the contents of {filler.called} are not listed, so nobody can check them "
                "against the need; write them in the sheet sets"
            )
            yield Gap(*owner, filler.stage, joint, filler.role, message, Level.NOTE)


def _is_set(name: str) -> bool:
    folded = name.casefold().split()
    return bool({"set", "kit"} & set(folded)) and bool(
        {"gasket", "gaskets", "seal", "overhaul", "rebuild", "repair"} & set(folded)
    )


def left_overs(seen: Survey) -> Iterator[Gap]:
    """Say what sets will leave over, so that a surplus at the end is no riddle."""
    frame = seen.left_overs
    rows: dict[tuple[str, str], list[str]] = defaultdict(list)
    columns = ("build", "set", "part", "quantity", "fits")
    for build, name, part, quantity, fits in zip(
        *(frame[c].tolist() for c in columns), strict=True
    ):
        rows[build, name].append(f"{quantity} {seen.part_names.get(part) or part} ({fits})")
    for (build, name), surplus in rows.items():
        yield Gap(
            build, "", "", "", "",
            f"{seen.part_names.get(name) or name} will leave over {listed(surplus, 6)}; bag and "
            "label them when the set is opened",
        )  # fmt: skip


def used_before(seen: Survey) -> Iterator[Gap]:
    """Find what past builds used or missed at a joint, and this bill does not ask for there."""
    history = _history(seen)
    if not history:
        return
    stand_ins = _stand_ins(seen)
    for place in seen.places:
        here = {f.part for f in place.fillers} | {f.from_set for f in place.fillers}
        for (part, role), (count, of) in history.get((place.assembly, place.joint), {}).items():
            if not here.isdisjoint({part, *stand_ins.get(part, ())}):
                continue
            families = seen.part_families.get(part, "")
            role = role or next(iter(seen.families.roles(families)), "")
            level = Level.WARN if 2 * count > of else Level.NOTE
            yield place.gap(
                role,
                f"{count} of {of} past builds needed {seen.part_names.get(part) or part} ({part}) "
                "here and this bill does not ask for it; add the line, or waive it with a reason",
                level,
            )


_AtJoint = dict[tuple[str, str], tuple[int, int]]


def _history(seen: Survey) -> Mapping[tuple[str, str], _AtJoint]:
    """Return, by (assembly, joint), how many past builds needed each part in each role.

    A row of a past build names the joint alone, so that its assembly is each one that has it.
    """
    shop = seen.shop
    builds = shop["builds"]
    past = dict(zip(builds["build"].tolist(), builds["assembly"].tolist(), strict=True))
    homes: dict[str, set[str]] = defaultdict(set)
    for place in seen.places:
        homes[place.joint].add(place.assembly)
    seen_in: dict[tuple[str, str], dict[tuple[str, str], set[str]]] = {}
    builds_of: dict[str, set[str]] = defaultdict(set)
    for name, causes in (("used", False), ("forgotten", True)):
        frame = shop[name]
        columns = ["build", "joint", "role", "part", *(["cause"] if causes else [])]
        for build, joint, role, part, *cause in zip(
            *(frame[c].tolist() for c in columns), strict=True
        ):
            if build not in past or (cause and cause[0] not in _OF_THE_BILL):
                continue
            builds_of[past[build]].add(build)
            for assembly in homes.get(joint, ()):
                at = seen_in.setdefault((assembly, joint), defaultdict(set))
                at[part, role].add(build)
    of = Counter({top: len(names) for top, names in builds_of.items()})
    return {
        key: {
            part_role: (len(names), max(of[past[b]] for b in names))
            for part_role, names in at.items()
        }
        for key, at in seen_in.items()
    }


def _stand_ins(seen: Survey) -> Mapping[str, set[str]]:
    found: dict[str, set[str]] = defaultdict(set)
    frame = seen.shop["stand_ins"]
    for part, other in zip(frame["part"].tolist(), frame["stand_in"].tolist(), strict=True):
        found[part].add(other)
        found[other].add(part)
    return found

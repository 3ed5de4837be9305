"""R4 and R5: fasteners against washers, nuts and holes, by length; single-use parts by closings."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from typing import TYPE_CHECKING

from kitting.bill.openings import openings
from kitting.bill.survey import listed
from kitting.terms.designations import parse_designation
from kitting.terms.words import Level, Role, SingleUse

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from kitting.bill.openings import Opening
    from kitting.bill.survey import Filler, Gap, Place, Survey
    from kitting.terms.designations import Designation

# Families that seal or lock once; US Army TM 9-2520-272-34&P para 3-8, Land Rover manual.
_ONCE = (
    *("gasket", "o-ring", "backup ring", "lip seal", "sealing washer", "split pin", "tab washer"),
    *("circlip", "lock wire", "collapsible sleeve", "ferrule"),
)
_FASTENERS = ("bolt", "nut", "stud")
# Washers are usual with fasteners of a type or thread when such a share of the other joints with
# them has washers, and at least two.
_SHARE, _LEAST = 0.6, 2
_Kind = tuple[str, str]


@dataclass(frozen=True, slots=True)
class _Hardware:
    """Loose fasteners of one thread at one joint, for one closing; blank thread = not known."""

    heads: int
    nuts: int
    studs: int
    washers: int
    lock_washers: int


def fastener_counts(seen: Survey) -> Iterator[Gap]:
    """Compare washers with heads and nuts, joint by joint and joint against joint.

    Plain washers go under heads, under nuts, or under both; any of these numbers is right. Where
    the shop gives washers to most joints with such a fastener, one that has none is told.
    """
    threads = _Threads(seen)
    places = [place for place in seen.places if place.fillers]
    counted = [threads.at(place) for place in places]
    kinds = [threads.kinds(place) for place in places]
    usual = _usual_washers(places, counted, kinds)
    for place, by_thread, of in zip(places, counted, kinds, strict=True):
        for at in _groups(by_thread).values():
            yield from _washers(place, at)
        if any(at.washers or at.lock_washers for at in by_thread.values()):
            continue
        told = [
            (kind, have, total - 1)
            for kind in of
            for have, total in [usual.get((place.build, kind), (0, 0))]
            if have >= max(_LEAST, _SHARE * (total - 1))
        ]
        if told:
            kind, have, total = max(told, key=lambda t: t[1] / t[2])
            yield place.gap(
                Role.CLAMP,
                f"{' '.join(w for w in kind if w)} without a washer, where {have} of {total} "
                "other joints give one; add it, or waive it with a reason",
                Level.NOTE,
            )


def _groups(by_thread: Mapping[str, _Hardware]) -> Mapping[str, _Hardware]:
    """Return the fasteners by thread, or all together when a thread is not known."""
    if "" not in by_thread:
        return by_thread
    return {"": _Hardware(*(sum(n) for n in zip(*map(_numbers, by_thread.values()), strict=True)))}


def _numbers(of: _Hardware) -> tuple[int, ...]:
    return (of.heads, of.nuts, of.studs, of.washers, of.lock_washers)


def _washers(place: Place, of: _Hardware) -> Iterator[Gap]:
    """Tell of washers whose number fits neither heads nor nuts nor both."""
    fasteners = of.heads + of.nuts + of.studs
    right = {of.heads, of.nuts, of.studs, of.heads + of.nuts, of.heads + of.studs}
    right |= {2 * of.heads, 2 * of.nuts, 2 * of.studs}
    for what, found in (("washers", of.washers), ("lock washers", of.lock_washers)):
        if found and found not in right - {0}:
            yield place.gap(
                Role.CLAMP,
                f"{found} {what} beside {of.heads} bolts or screws, {of.nuts} nuts and "
                f"{of.studs} studs: a line is missing or a count is wrong",
                Level.NOTE if fasteners else Level.WARN,
            )


def _usual_washers(
    places: list[Place], counted: list[dict[str, _Hardware]], kinds: list[frozenset[_Kind]]
) -> Mapping[tuple[str, _Kind], tuple[int, int]]:
    """Return, by build and kind of fastener, how many joints have washers of how many."""
    found: dict[tuple[str, _Kind], list[bool]] = defaultdict(list)
    for place, by_thread, of in zip(places, counted, kinds, strict=True):
        has = any(at.washers or at.lock_washers for at in by_thread.values())
        for kind in of:
            found[place.build, kind].append(has)
    return {key: (sum(has), len(has)) for key, has in found.items()}


class _Threads:
    """Threads of fasteners, read once for each part."""

    def __init__(self, seen: Survey) -> None:
        self._seen = seen
        self._known: dict[str, Designation | None] = {}
        self._slots: dict[str, int | None] = {}

    def _designation(self, filler: Filler) -> Designation | None:
        if filler.part not in self._known:
            self._known[filler.part] = parse_designation(filler.name) or parse_designation(
                filler.part
            )
        return self._known[filler.part]

    def thread(self, filler: Filler) -> str:
        """Return the thread of a part, such as ``M8``, or a blank."""
        read = self._designation(filler)
        return read.thread if read else ""

    def kinds(self, place: Place) -> frozenset[_Kind]:
        """Return the fasteners of a joint by type, by thread, and by both."""
        found: set[_Kind] = set()
        for filler in place.fillers:
            if self._slot(filler) in (0, 1):
                read = self._designation(filler)
                kind = (read.standard if read else "") or filler.family
                thread = read.thread if read else ""
                found |= {(kind, thread), (kind, ""), ("", thread)}
        return frozenset(found - {("", "")})

    def at(self, place: Place) -> dict[str, _Hardware]:
        """Count the fasteners of a joint by thread."""
        found: dict[str, list[int]] = {}
        for filler in place.fillers:
            slot = self._slot(filler)
            if slot is not None:
                found.setdefault(self.thread(filler), [0, 0, 0, 0, 0])[slot] += filler.each
        return {thread: _Hardware(*numbers) for thread, numbers in found.items()}

    def lengths(self, place: Place) -> Mapping[tuple[str, float], int]:
        """Count bolts and studs of a joint by thread and length."""
        found: dict[tuple[str, float], int] = defaultdict(int)
        for filler in place.fillers:
            read = self._designation(filler) if self._slot(filler) in (0, 2) else None
            if read is not None and read.thread:
                found[read.thread, read.length] += filler.each
        return found

    def _slot(self, filler: Filler) -> int | None:
        if not filler.family or filler.role in {Role.TOOL, Role.PREPARE}:
            return None
        if filler.family not in self._slots:
            self._slots[filler.family] = _slot(self._seen.families.kin(filler.family))
        return self._slots[filler.family]


def _slot(kin: frozenset[str]) -> int | None:
    """Return where a family counts in ``_Hardware``, or ``None``."""
    if kin & {"sealing washer", "tab washer", "banjo bolt"}:
        return None
    slots = ("bolt", "nut", "stud", "washer", "lock washer")
    return next((slot for slot, name in enumerate(slots) if name in kin), None)


def holes(seen: Survey) -> Iterator[Gap]:
    """Compare fasteners with the holes that the castings' maps give, by length.

    Where the kind's fasteners go by a length map, there is none, and only one length is listed,
    the count cannot be made: that is said, once for each joint.
    """
    threads = _Threads(seen)
    by_joint: dict[tuple[str, str], list[Opening]] = defaultdict(list)
    for opening in openings(seen):
        for end in opening.ends:
            by_joint[opening.assembly, end].append(opening)
    mapped = _by_length(seen)
    for place in seen.places:
        wanted: dict[tuple[str, float], int] = defaultdict(int)
        for opening in by_joint.get((place.assembly, place.joint), ()):
            read = parse_designation(opening.size)
            if read is not None and read.thread and read.length:
                wanted[read.thread, read.length] += opening.count * place.count
        if wanted:
            yield from _against_holes(place, wanted, threads.lengths(place))
        elif place.kind in mapped:
            found = {f.part: f for f in place.fillers if seen.is_a(f, _FASTENERS)}
            if len(found) == 1:
                (only,) = found.values()
                yield place.gap(
                    Role.CLAMP,
                    f"one length only, {only.each} x {only.called}, and no map of the holes: "
                    "count the holes of both faces, or write them in the sheet openings",
                    Level.NOTE,
                )


def _by_length(seen: Survey) -> frozenset[str]:
    """Return the kinds whose fasteners are counted by length."""
    kinds = seen.catalogs.kinds
    rows = kinds[(kinds["role"] == Role.CLAMP) & kinds["rule"].str.contains("by length")]
    return frozenset(rows["kind"])


def _against_holes(
    place: Place, wanted: Mapping[tuple[str, float], int], found: Mapping[tuple[str, float], int]
) -> Iterator[Gap]:
    wrong = [
        f"{thread}x{length:g}: {number} holes, {found.get((thread, length), 0)} fasteners"
        for (thread, length), number in wanted.items()
        if found.get((thread, length), 0) != number
    ]
    if wrong:
        yield place.gap(
            Role.CLAMP,
            f"holes against fasteners, {listed(wrong, 6)}; put the counts right",
            Level.WARN,
        )


def single_use(seen: Survey) -> Iterator[Gap]:
    """Find joints closed more than once whose sealing or locking parts are not counted again."""
    for place in seen.places:
        if place.disturbances < 1 or place.count < 1:
            yield place.gap(
                "",
                f"count {place.count}, closed {place.disturbances} times: both are at least one; "
                "put the sheet right",
            )
            continue
        if place.disturbances < 2:
            continue
        for filler in place.fillers:
            once = filler.role in {Role.SEAL, Role.SECURE, Role.CLAMP, Role.LOCATE}
            if not once or not seen.is_a(filler, _ONCE):
                continue
            if seen.single_use.get(filler.part) != SingleUse.NEVER:
                yield place.gap(
                    filler.role,
                    f"{filler.called} serves once and the joint is closed {place.disturbances} "
                    "times (dry fits count): mark the part single-use never, or ask for "
                    f"{filler.each * place.disturbances}",
                )

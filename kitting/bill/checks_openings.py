"""R2, R3, R11: ports that end in nothing, media without a seal between, dry wet threads."""

from __future__ import annotations

from collections import defaultdict
from typing import TYPE_CHECKING

from kitting.bill.openings import openings
from kitting.bill.survey import Gap, listed, said
from kitting.terms.designations import parse_designation
from kitting.terms.nearest import nearest
from kitting.terms.words import Role

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from kitting.bill.openings import Opening
    from kitting.bill.survey import Place, Survey

# Words by which a joint tells what it keeps apart: medium -> words.
_MEDIA: Mapping[str, tuple[str, ...]] = {
    "oil": ("oil", "crankcase", "sump", "gallery"),
    "coolant": ("coolant", "water", "jacket", "antifreeze"),
    "fuel": ("fuel", "diesel", "petrol"),
    "exhaust": ("exhaust",),
    "air": ("boost", "intake", "induction", "charge"),
    "vacuum": ("vacuum",),
    "outside": ("outside", "atmosphere", "ambient", "open air"),
}
_WET = frozenset({"oil", "coolant", "fuel", "water"})
_OPEN = "open"
_SEALING = ("gasket", "o-ring", "lip seal", "sealing washer", "seal", "sealant", "ferrule", "hose")


def open_ports(seen: Survey) -> Iterator[Gap]:
    """Find openings of castings that end in nothing that this build closes.

    An opening ends in a joint, or in one of several by the options: the pipe of a device, or the
    blank in its place. One without a joint, or whose joints are all absent under the build's
    options, is open; so is one of several that end in a joint with fewer places.
    """
    rows = openings(seen)
    if not rows:
        return
    known = {(a, j) for a, j in zip(*_joint_names(seen), strict=True)}
    for (build, assembly), places in seen.groups.items():
        at = {place.joint: place for place in places}
        ending: dict[str, int] = defaultdict(int)
        choices = dict(seen.choices.get(build, {}))
        for opening in rows:
            if opening.assembly != assembly or not opening.there(choices):
                continue
            closed = [end for end in opening.ends if end in at]
            if closed:
                ending[closed[0]] += opening.count if not _is_hole(opening) else 0
            elif not opening.ends_in.casefold().startswith(_OPEN):
                strange = [end for end in opening.ends if (assembly, end) not in known]
                yield _open(build, opening, strange, at)
        for joint, number in ending.items():
            if number > at[joint].count:
                yield at[joint].gap(
                    Role.SEAL,
                    f"{number} openings end here and the joint has {at[joint].count} places: "
                    "one would stay open; put the joint's count right, or give the opening a "
                    "joint of its own",
                )


def _joint_names(seen: Survey) -> tuple[list[str], list[str]]:
    joints = seen.shop["joints"]
    return joints["assembly"].tolist(), joints["joint"].tolist()


def _is_hole(opening: Opening) -> bool:
    """Tell whether an opening is a fastener's hole, of which a joint has many."""
    read = parse_designation(opening.size)
    return read is not None and bool(read.thread and read.length)


def _open(build: str, opening: Opening, strange: list[str], at: Mapping[str, Place]) -> Gap:
    """Word an opening that nothing closes; ``strange`` are its ends that are no joints."""
    what = f"{opening.opening} of {opening.casting}"
    to = f" opens to {opening.opens_to} and" if opening.opens_to else ""
    if not strange:
        why = f"ends in {listed(opening.ends)}, which these options leave out: blank it"
    elif opening.ends_in:
        why = f'ends in "{strange[0]}", which is no joint{nearest(strange[0], at)}'
    else:
        why = "ends in nothing: write the joint that closes it, or open with a reason"
    return Gap(
        build, opening.assembly, "", opening.ends[0], Role.SEAL if opening.ends_in else "",
        f"{what}{to} {why}",
    )  # fmt: skip


def boundaries(seen: Survey) -> Iterator[Gap]:
    """Find joints that keep two media apart and own nothing that seals.

    What meets at a joint is told by its openings and by the words of what it joins. Joints whose
    kind asks for a seal are left to the check of roles.
    """
    kinds = seen.catalogs.kinds
    asking = set(kinds.loc[kinds["role"] == Role.SEAL, "kind"])
    wet: dict[tuple[str, str], set[str]] = defaultdict(set)
    for opening in openings(seen):
        for end in opening.ends if opening.opens_to else ():
            wet[opening.assembly, end].add(opening.opens_to.casefold())
    for place in seen.places:
        if place.kind in asking or place.having(Role.SEAL):
            continue
        media = _media(place) | wet.get((place.assembly, place.joint), set())
        if len(media) > 1 and not any(seen.is_a(f, _SEALING) for f in place.fillers):
            yield place.gap(
                Role.SEAL,
                f"{listed(sorted(media))} meet here and nothing seals; add what does, or waive it "
                "with a reason",
            )


def _media(place: Place) -> set[str]:
    spoken = said(place.joins)
    return {
        medium for medium, names in _MEDIA.items() if any(said(name) <= spoken for name in names)
    }


def wet_threads(seen: Survey) -> Iterator[Gap]:
    """Find threads that open into oil, coolant or fuel at joints without thread sealer."""
    wet: dict[tuple[str, str], list[Opening]] = defaultdict(list)
    for opening in openings(seen):
        read = parse_designation(opening.size)
        if read is not None and read.thread and opening.opens_to.casefold() in _WET:
            for end in opening.ends:
                wet[opening.assembly, end].append(opening)
    for place in seen.places if wet else ():
        holes = wet.get((place.assembly, place.joint))
        if not holes:
            continue
        sealed = any(
            seen.is_a(f, ("sealant", "sealing washer", "threadlocker", "o-ring"))
            for f in place.fillers
        )
        if not sealed:
            names = listed(f"{h.opening} ({h.opens_to})" for h in holes)
            yield place.gap(
                Role.SEAL,
                f"threads that open inside: {names}; add a thread sealer, or waive it with a "
                "reason",
            )

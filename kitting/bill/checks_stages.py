"""R12-R16, R18: chemistry, temporary things, outwork, circuits, clocks, the two views."""

from __future__ import annotations

import re
from collections import defaultdict
from functools import lru_cache
from typing import TYPE_CHECKING

from kitting.bill.openings import extra
from kitting.bill.survey import Gap, listed, said
from kitting.tables.extra_sheets import CIRCUITS, OUTWORK, TEMPORARY
from kitting.terms.conditions import split_list
from kitting.terms.words import Level, Role

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from kitting.bill.survey import Filler, Place, Survey

_TEMPORARY = ("temporary", "lock pin", "cap")
_OUT = frozenset({"remove", "removed", "out", "off", "take", "taken"})
_RETURNS = ("returns", "comes back", "bought")
_HOT = "exhaust_flange_hot"
_SPLIT = re.compile(r"\b(?:to|and|with|on|in|into|onto|against)\b|[,;/+&-]")


def chemistry(seen: Survey) -> Iterator[Gap]:
    """Find silicone beside anaerobic sealant, and silicone at a hot joint."""
    silicone, anaerobic = [], []
    for place in seen.places:
        soft = "silicone sealant" in place.kin
        hard = "anaerobic sealant" in place.kin
        if soft and hard:
            yield place.gap(
                Role.SEAL,
                "silicone and anaerobic sealant at one joint: each stops the other from curing; "
                "use one of them",
            )
        elif soft:
            silicone.append(place)
        elif hard:
            anaerobic.append(place)
        if soft and place.kind == _HOT:
            yield place.gap(Role.SEAL, "silicone does not stand exhaust heat; take it off the bill")
    for place in silicone:
        touching = [
            other.joint
            for other in anaerobic
            if (other.build, other.assembly) == (place.build, place.assembly)
            and _sides(place.joins) & _sides(other.joins)
        ]
        if touching:
            yield place.gap(
                Role.SEAL,
                f"silicone here and anaerobic sealant at {listed(touching)}, on the same part: "
                "keep them from touching",
                Level.NOTE,
            )


@lru_cache(maxsize=1 << 14)
def _sides(joins: str) -> frozenset[str]:
    """Return the things that a joint joins: ``"sump to block"`` gives sump and block."""
    return frozenset(s.strip() for s in _SPLIT.split(joins.casefold()) if len(s.strip()) > 2)


def temporary(seen: Survey) -> Iterator[Gap]:
    """Find pins, caps and masking that go in and whose taking out nobody wrote down."""
    frame = extra(seen, TEMPORARY)
    stages = _stage_names(seen)
    removed: dict[tuple[str, str], list[str]] = defaultdict(list)
    columns = ("assembly", "part", "removed_in")
    for assembly, part, out in zip(*(frame[c].tolist() for c in columns), strict=True):
        removed[assembly, part].append(out)
    for owner in seen.owners:
        for place, filler in seen.all_fillers(owner):
            listed_out = removed.get((owner[1], filler.part))
            if listed_out is None and not seen.is_a(filler, _TEMPORARY):
                continue
            if listed_out and all(out in stages.get(owner[1], ()) for out in listed_out):
                continue
            if listed_out is None and _says_out(place, filler):
                continue
            wrong = [out for out in listed_out or () if out]
            what = f'comes out in "{wrong[0]}", which is no stage' if wrong else "never comes out"
            message = (
                f"{filler.called} goes in and {what}; write the stage that removes it in the "
                "sheet temporary"
            )
            joint = place.joint if place else ""
            level = Level.WARN if place or listed_out else Level.NOTE
            yield Gap(*owner, filler.stage, joint, filler.role, message, level)


def _says_out(place: Place | None, filler: Filler) -> bool:
    """Tell whether the line itself, or what is verified at the joint, says that it comes out."""
    texts = [filler.note, *(f.note for f in place.having(Role.VERIFY))] if place else [filler.note]
    return bool(said(*texts) & _OUT)


def _stage_names(seen: Survey) -> Mapping[str, frozenset[str]]:
    frame = seen.shop["stages"]
    found: dict[str, set[str]] = defaultdict(set)
    for assembly, stage in zip(frame["assembly"].tolist(), frame["stage"].tolist(), strict=True):
        found[assembly].add(stage)
    return {a: frozenset(s) for a, s in found.items()}


def outwork(seen: Survey) -> Iterator[Gap]:
    """Find what a job sent out takes off, where it neither returns nor is bought."""
    frame = extra(seen, OUTWORK)
    by_job: dict[tuple[str, str], list[tuple[str, str, str]]] = defaultdict(list)
    columns = ("assembly", "job", "joint", "part", "fate")
    for assembly, job, *rest in zip(*(frame[c].tolist() for c in columns), strict=True):
        by_job[assembly, job].append((rest[0], rest[1], rest[2]))
    for owner in seen.owners:
        at = {place.joint: place for place in seen.groups.get(owner, ())}
        asked = {filler.part for _, filler in seen.all_fillers(owner)}
        for _, filler in seen.all_fillers(owner):
            if not seen.is_a(filler, ("outwork",)):
                continue
            rows = by_job.get((owner[1], filler.part))
            if rows is None and len(frame):
                message = f"{filler.called}: ask for the list of what is taken off and refitted"
                yield Gap(*owner, filler.stage, "", "", message, Level.NOTE)
            for joint, part, fate in rows or ():
                gap = _lost(seen, (filler.called, part, fate), at.get(joint), asked)
                if gap:
                    stage = at[joint].stage if joint in at else filler.stage
                    role = next(iter(seen.families.roles(seen.part_families.get(part, ""))), "")
                    yield Gap(*owner, stage, joint, role or Role.SEAL, gap)


def _lost(seen: Survey, row: tuple[str, str, str], place: Place | None, asked: set[str]) -> str:
    """Say what is wrong with one thing that a job takes off, or a blank."""
    job, part, fate = row
    name = seen.part_names.get(part) or part
    here = {f.part for f in place.fillers} if place else asked
    if fate not in _RETURNS:
        return f"{job} takes off {name} and nobody says whether it returns; write its fate"
    if fate == "bought" and part not in here:
        return f"{job} takes off {name}, it is to be bought, and no line asks for it"
    return ""


def circuits(seen: Survey) -> Iterator[Gap]:
    """Find circuits without amount, fluid, filter or bleeding, and lines that lack them."""
    frame = extra(seen, CIRCUITS)
    columns = ("assembly", "circuit", "stage", "part", "quantity", "fills", "filter", "bleed")
    rows = list(zip(*(frame[c].astype(object).tolist() for c in columns), strict=True))
    for owner in seen.owners if rows else ():
        asked: dict[str, int] = defaultdict(int)
        for _, filler in seen.all_fillers(owner):
            asked[filler.part] += filler.total
        for assembly, circuit, stage, part, quantity, fills, strainer, bleed in rows:
            if assembly != owner[1]:
                continue
            amount = quantity if isinstance(quantity, int) else 0
            number = fills if isinstance(fills, int) else 1
            lacks = []
            if not part:
                lacks.append("its fluid")
            if not amount:
                lacks.append("the amount of one fill")
            if not strainer:
                lacks.append('its filter (or "none")')
            if not bleed:
                lacks.append('how it is bled (or "none")')
            if part and asked[part] < amount * number:
                lacks.append(f"fluid on the bill for {number} fills")
            if strainer and strainer != "none" and asked[strainer] < max(number - 1, 1):
                lacks.append(f"filters on the bill ({max(number - 1, 1)} for {number} fills)")
            if lacks:
                yield Gap(
                    *owner, stage, "", Role.LUBRICATE,
                    f"circuit {circuit} lacks {listed(lacks, 6)}; fill the sheet circuits and the "
                    "bill",
                )  # fmt: skip


def sealant_clock(seen: Survey) -> Iterator[Gap]:
    """Find tubes whose opened life is shorter than the work that they serve."""
    parts = seen.shop["parts"]
    life = {
        part: int(days)
        for part, days in zip(parts["part"].tolist(), parts["open_days"].tolist(), strict=True)
        if isinstance(days, int)
    }
    stages = seen.shop["stages"]
    work = {
        (a, s): float(d)
        for a, s, d in zip(
            *(stages[c].tolist() for c in ("assembly", "stage", "work_days")), strict=True
        )
    }
    order = {key: at for at, key in enumerate(work)}
    for owner in seen.owners if life else ():
        used: dict[str, dict[str, tuple[Place | None, Filler]]] = defaultdict(dict)
        for place, filler in seen.all_fillers(owner):
            if filler.part in life:
                used[filler.part].setdefault(filler.stage, (place, filler))
        for part, by_stage in used.items():
            yield from _clock(owner, life[part], by_stage, work, order)


def _clock(
    owner: tuple[str, str],
    life: int,
    by_stage: Mapping[str, tuple[Place | None, Filler]],
    work: Mapping[tuple[str, str], float],
    order: Mapping[tuple[str, str], int],
) -> Iterator[Gap]:
    """Compare one part's opened life with the stages that use it, in working days."""
    stages = sorted(by_stage, key=lambda s: order.get((owner[1], s), 0))
    first, last = order.get((owner[1], stages[0])), order.get((owner[1], stages[-1]))
    if first is None or last is None:
        return
    span = sum(days for key, days in work.items() if first <= order[key] <= last)
    # Seven calendar days hold five working days.
    if span * 7 / 5 <= life:
        return
    place, filler = by_stage[stages[-1]]
    yield Gap(
        *owner, stages[-1], place.joint if place else "", filler.role,
        f"{filler.called} lives {life} days once opened and serves {listed(stages)} over "
        f"{span:g} working days: plan a fresh one for {stages[-1]}",
        Level.NOTE if len(stages) > 1 else Level.WARN,
    )  # fmt: skip


def two_views(seen: Survey) -> Iterator[Gap]:
    """Find joints without a stage, and parts that come after their joint is closed."""
    frame = seen.shop["stages"]
    after = {
        (a, s): frozenset(split_list(text))
        for a, s, text in zip(
            *(frame[c].tolist() for c in ("assembly", "stage", "after")), strict=True
        )
    }
    before = _ancestors(after)
    for place in seen.places:
        if (place.assembly, place.stage) not in after:
            yield place.gap(
                "", f'the stage "{place.stage}" of the joint is not planned; give it a stage'
            )
            continue
        for filler in place.fillers:
            if place.stage in before.get((place.assembly, filler.stage), ()):
                yield place.gap(
                    filler.role,
                    f"{filler.called} comes in stage {filler.stage}, after the joint is closed in "
                    f"{place.stage}; move the line or the joint",
                )


def _ancestors(after: Mapping[tuple[str, str], frozenset[str]]) -> dict[tuple[str, str], set[str]]:
    """Return every stage that must be finished before each, however far back."""
    found: dict[tuple[str, str], set[str]] = {}
    for key in after:
        seen: set[str] = set()
        open_ends = list(after[key])
        while open_ends:
            stage = open_ends.pop()
            if stage not in seen:
                seen.add(stage)
                open_ends += after.get((key[0], stage), ())
        found[key] = seen
    return found

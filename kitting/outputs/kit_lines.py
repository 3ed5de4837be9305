"""What stands on the kit sheets of a build, gathered from the frames; no files and no layout."""

from __future__ import annotations

from collections import defaultdict
from typing import TYPE_CHECKING, Any

import pandas as pd

from kitting.errors import UnitError
from kitting.outputs.both_units import amount_text, both_units, told_in_both
from kitting.outputs.kit import Kit, Row, StageKit, Taken
from kitting.terms.units import Dimension, Unit, unit
from kitting.terms.words import LENT_ROLES, InKit, Role, SingleUse, StandInKind, Way

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping
    from datetime import date

    from kitting.tables.plan import Beyond, Plan

OUTWORK = "outwork"
MARKS = {SingleUse.NEVER: "new", SingleUse.MEASURE: "measure"}
# Cleaning comes first and looking last; between them the bill's own order is the order of hand.
_TURN = {Role.PREPARE: 0, Role.FIGURE: 2, Role.VERIFY: 3}
_SAID = {Role.LUBRICATE, Role.PREPARE, Role.SECURE, Role.TOOL}
_REQUIRED = ("required", "assembly", "stage", "joint", "role", "part", "quantity", "from_set")
_REST = ("source", "note")


def gather_kit(plan: Plan, build: str, beyond: Beyond | None = None) -> Kit:
    """Gather the kit of a build.

    Parameters
    ----------
    plan
        A plan that covers the build.
    build
        Name of an open build.
    beyond
        What jobs take off is looked for where they come back; ``None`` = not asked for.
    """
    row = plan.shop["builds"].set_index("build").loc[build]
    gathering = _Gathering(plan, build)
    stages = plan.stage_days[plan.stage_days["build"] == build]
    columns = ("assembly", "stage", "name", "place", "start", "finish", "deferred")
    kits = [
        StageKit(n, s.assembly, s.stage, s.name, s.place, _day(s.start), _day(s.finish), s.deferred)
        for n, s in enumerate(
            stages.sort_values("order", kind="stable")[list(columns)].itertuples(index=False), 1
        )
    ]
    for kit in kits:
        gathering.fill(kit)
        back = _come_back(beyond, build, kit, gathering.units) if beyond else []
        kit.groups = [*back, *kit.groups, *_come_out(plan, gathering.parts, kit)]
    gathering.left_overs(kits)
    return Kit(
        build=build,
        assembly=row["assembly"],
        options=row["options"],
        customer=row["customer"],
        shop=plan.shop.setting("name"),
        paper=plan.shop.setting("paper"),
        day=plan.day,
        stages=tuple(kits),
    )


def _come_back(
    beyond: Beyond, build: str, kit: StageKit, units: Mapping[str, Unit]
) -> list[tuple[str, list[Row]]]:
    """Return what to look for when the jobs that a stage wants back are there."""
    out = beyond.outwork
    here = (out["build"] == build) & (out["assembly"] == kit.assembly) & (out["stage"] == kit.stage)
    off = beyond.taken_off
    off = off[(off["build"] == build) & (off["assembly"] == kit.assembly)]
    found = []
    for job in out[here].itertuples(index=False):
        rows = []
        for taken in off[off["job"] == job.job].itertuples(index=False):
            of = units.get(taken.part, unit(""))
            many = "" if pd.isna(taken.quantity) else f"{_counted(int(taken.quantity), of)} "
            at = f" at {taken.joint}" if taken.joint else ""
            said = f"{many}{taken.name or taken.part} ({taken.part}){at}: {taken.check}"
            rows.append(Row("", said))
        if rows:
            found.append((f"Back from outwork: {job.name or job.job}", rows))
    return found


def _come_out(plan: Plan, parts: Mapping[str, Any], kit: StageKit) -> list[tuple[str, list[Row]]]:
    """Return the caps and pins that come out in a stage."""
    sheet = plan.shop["temporary"]
    here = (sheet["assembly"] == kit.assembly) & (sheet["removed_in"] == kit.stage)
    rows = []
    for thing in sheet[here].itertuples(index=False):
        name = parts[thing.part].name if thing.part in parts else thing.part
        at = f" at {thing.joint}" if thing.joint else ""
        note = f" ({thing.note})" if thing.note else ""
        rows.append(Row("", f"take out: {name}{at}, in since {thing.stage}{note}"))
    return [("What went in for a time", rows)] if rows else []


class _Gathering:
    """The frames of one build, laid out to look things up."""

    def __init__(self, plan: Plan, build: str) -> None:
        self.plan, self.build = plan, build
        shop = plan.shop
        parts = shop["parts"]
        self.parts = {row.part: row for row in parts.itertuples(index=False)}
        self.units = {part: _unit(row.unit) for part, row in self.parts.items()}
        self.rows = self._rows()
        self.picks = self._picks()
        self.short = {
            int(n): int(q)
            for n, q in zip(plan.shortages["need"], plan.shortages["quantity"], strict=True)
        }
        joints = shop["joints"]
        self.joints = {(j.assembly, j.joint): j for j in joints.itertuples(index=False)}
        self.newer, self.older = _other_numbers(shop["stand_ins"])
        self.figures = _by_joint(shop["figures"])
        self.beads = _beads(shop["amounts"])
        self.set_bags: dict[str, str] = {}

    def _rows(self) -> dict[tuple[str, str], list[tuple[Any, ...]]]:
        own = self.plan.required[self.plan.required["build"] == self.build]
        found: dict[tuple[str, str], list[tuple[Any, ...]]] = defaultdict(list)
        for row in zip(*(own[c].tolist() for c in (*_REQUIRED, *_REST)), strict=True):
            found[row[1], row[2]].append(row)
        return found

    def _picks(self) -> dict[int, list[Any]]:
        supply = self.plan.supply.drop(columns=["part", "quantity"])
        joined = self.plan.picks.merge(supply, on="supply", validate="m:1")
        found: dict[int, list[Any]] = defaultdict(list)
        for row in joined.itertuples(index=False):
            found[int(row.need)].append(row)
        return found

    def fill(self, kit: StageKit) -> None:
        """Fill the groups, the takings and the shortages of a stage."""
        groups: dict[str, list[tuple[Any, ...]]] = {}
        for row in self.rows[kit.assembly, kit.stage]:
            groups.setdefault(row[3], []).append(row)
        bags: dict[str, str] = {}
        for joint, rows in groups.items():
            figures = [Row("", _figure(f)) for f in self.figures.get((kit.assembly, joint), ())]
            told = {0: [], 1: [], 2: figures, 3: []}
            for row in sorted(rows, key=lambda r: _TURN.get(r[4], 1)):
                if row[5]:
                    told[_TURN.get(row[4], 1)].append(self._part(kit, row, bags))
                elif row[4] != Role.FIGURE:
                    said = f"{_verb(row[4])}{row[9] or row[8] or joint}"
                    told[_TURN.get(row[4], 1)].append(Row("", said))
                elif not figures:
                    told[2].append(Row("", _asked_for(row[9], row[8])))
            ordered = [row for turn in sorted(told) for row in told[turn]]
            kit.groups.append((self._heading(kit.assembly, joint), ordered))

    def _heading(self, assembly: str, joint: str) -> str:
        held = self.joints.get((assembly, joint))
        if held is None:
            return joint
        alike = f", {held.count} alike" if held.count > 1 else ""
        closed = f", closed {held.disturbances} times" if held.disturbances > 1 else ""
        return f"{joint}: {held.joins}{alike}{closed}"

    def _part(self, kit: StageKit, row: tuple[Any, ...], bags: dict[str, str]) -> Row:
        """Return the row of a part, and note what is to be taken for it."""
        number, _, _, joint, role, part, quantity, from_set, _, note = row
        of, held = self.units.get(part, unit("")), self.parts.get(part)
        name = (held.name if held else "") or part
        lent = role in LENT_ROLES
        bag = "" if from_set or lent or not self._bagged(part) else _bag(bags, kit, part)
        if bag and part not in self.set_bags:
            self.set_bags[part] = bag
        picks = self.picks.get(number, [])
        for pick in picks:
            kit.taken.append(self._taken(kit, pick, part, (bag, lent)))
        if short := self.short.get(number, 0):
            number_too = "" if name == part else f" ({part})"
            kit.short.append(f"{_counted(short, of)} {name}{number_too}")
        bead = "" if "bead" in note else self.beads.get((kit.assembly, joint, part), "")
        said = "; ".join(t for t in (bead, note) if t)
        counted = of.dimension is Dimension.COUNT
        return Row(
            amount="" if lent and quantity < 2 else amount_text(quantity, of),
            what=f"{_verb(role)}{name}{f' ({said})' if said else ''}",
            number=self._numbers(part, [p.part for p in picks]),
            place=_places(kit, picks, from_set, bool(short)),
            bag=self.set_bags.get(from_set, "") if from_set else bag,
            mark=MARKS.get(held.single_use, "") if held and joint and counted and not lent else "",
        )

    def _bagged(self, part: str) -> bool:
        """Tell whether a part goes into a bag: it is counted, and it is no job."""
        held = self.parts.get(part)
        family = held.family.strip().casefold() if held else ""
        counted = self.units.get(part, unit("")).dimension is Dimension.COUNT
        return counted and family != OUTWORK

    def _taken(self, kit: StageKit, pick: Any, asked: str, more: tuple[str, bool]) -> Taken:
        held = self.parts.get(pick.part)
        bag, lent = more
        return Taken(
            part=pick.part,
            asked=asked,
            name=(held.name if held else "") or pick.part,
            quantity=int(pick.quantity),
            unit=self.units.get(pick.part, unit("")),
            place=_place(kit, pick),
            lot=pick.lot,
            use_by=_day(pick.use_by),
            bag=bag,
            stages=((kit.assembly, kit.stage),),
            owner=pick.owner,
            order=pick.order,
            comes=_day(pick.from_day) if pick.order else None,
            lent=lent,
            done=_in_own(kit, pick),
        )

    def _numbers(self, part: str, taken: Iterable[str]) -> str:
        """Return the number to look for, and the other numbers of the same thing."""
        instead = [t for t in dict.fromkeys(taken) if t != part]
        lines = [*instead, f"for {part}"] if instead else [part]
        lines += [f"new no. {n}" for n in self.newer.get(part, ()) if n not in instead]
        lines += [f"old no. {o}" for o in self.older.get(part, ())]
        return "\n".join(lines)

    def left_overs(self, kits: list[StageKit]) -> None:
        """Tell what sets bring beyond the need, in the stage that opens the set."""
        opened: dict[str, StageKit] = {}
        for kit in kits:
            for row in self.rows[kit.assembly, kit.stage]:
                opened.setdefault(row[5], kit)
        own = self.plan.left_overs[self.plan.left_overs["build"] == self.build]
        for row in own.itertuples(index=False):
            held = self.parts.get(row.part)
            name = (held.name if held else "") or row.part
            amount = _counted(int(row.quantity), self.units.get(row.part, unit("")))
            does = {"do not fit": ", does not fit this build"}.get(row.fits, "")
            if row.set in opened:
                told = f"{amount} {name} ({row.part}) of set {row.set}{does}"
                opened[row.set].left_over.append(told)


def _counted(quantity: int, of: Unit) -> str:
    """Write ``2 x`` of what is counted and ``11 ml of`` what is measured."""
    between = "x" if of.dimension is Dimension.COUNT else "of"
    return f"{amount_text(quantity, of)} {between}"


def _verb(role: str) -> str:
    """Say what to do with a line where its part alone does not tell."""
    if role == Role.VERIFY:
        return "check: "
    return f"{role}: " if role in _SAID else ""


def _bag(bags: dict[str, str], kit: StageKit, part: str) -> str:
    return bags.setdefault(part, f"{kit.number}-{len(bags) + 1}")


def _in_own(kit: StageKit, pick: Any) -> bool:
    """Tell whether a lot lies in the stage's own kit, or was fitted there."""
    return bool(pick.kit) and (pick.assembly, pick.stage) == (kit.assembly, kit.stage)


def _place(kit: StageKit, pick: Any) -> str:
    """Say where a lot is: in a bin, inside a set there, in a kit or fitted already."""
    if _in_own(kit, pick):
        return "fitted" if pick.kit == InKit.FITTED else "already in the kit"
    if pick.kit:
        return f"in the kit of {pick.stage}"
    return f"{pick.place}, in set {pick.from_set}" if pick.from_set else str(pick.place)


def _places(kit: StageKit, picks: list[Any], from_set: str, short: bool) -> str:
    """Say where a row's parts are."""
    if from_set:
        return f"in set {from_set}"
    places = [f"order {p.order}" if p.order else _place(kit, p) for p in picks]
    if short:
        places.append("SHORT")
    return "\n".join(dict.fromkeys(p for p in places if p))


def _asked_for(note: str, source: str) -> str:
    """Write what the bill says of a figure, with a line for what was set or found."""
    where = f"  [{source}]" if source else ""
    said = f"{told_in_both(note)}  " if note else ""
    return f"figure: {said}________{where}"


def _figure(figure: Any) -> str:
    """Write a figure with its source, or a line to write it on."""
    where = ", page ".join(t for t in (figure.source, figure.page) if t)
    screw = " ".join(t for t in (figure.thread, getattr(figure, "grade", "")) if t)
    what = f"{figure.what}{f' {screw}' if screw else ''}"
    note = f"; {figure.note}" if figure.note else ""
    if pd.isna(figure.value):
        said = f" {figure.unit}" if figure.unit else ""
        return f"look up {what}: ________{said}  [{where or 'no source given'}{note}]"
    return f"{what}: {both_units(figure.value, figure.unit)}  [{where or 'no source given'}{note}]"


def _by_joint(figures: pd.DataFrame) -> dict[tuple[str, str], list[Any]]:
    found: dict[tuple[str, str], list[Any]] = defaultdict(list)
    for row in figures.rename(columns={"class": "grade"}).itertuples(index=False):
        found[row.assembly, row.joint].append(row)
    return found


def _beads(amounts: pd.DataFrame) -> dict[tuple[str, str, str], str]:
    """Return the beads of each joint and sealant in words."""
    found: dict[tuple[str, str, str], list[str]] = defaultdict(list)
    for row in amounts[amounts["way"] == Way.BEAD].itertuples(index=False):
        if row.length == row.length and row.diameter == row.diameter:
            times = f"{row.count} x " if not pd.isna(row.count) and row.count > 1 else ""
            found[row.assembly, row.joint, row.part].append(
                f"bead {row.diameter:g} mm, {times}{row.length:g} mm long"
            )
    return {key: ", ".join(beads) for key, beads in found.items()}


def _other_numbers(stand_ins: pd.DataFrame) -> tuple[dict[str, list[str]], dict[str, list[str]]]:
    """Return the numbers that superseded each part, and those that it superseded."""
    newer: dict[str, list[str]] = defaultdict(list)
    older: dict[str, list[str]] = defaultdict(list)
    one_way = stand_ins[stand_ins["kind"] == StandInKind.SUPERSEDES]
    for part, other in zip(one_way["part"], one_way["stand_in"], strict=True):
        newer[part].append(other)
        older[other].append(part)
    return newer, older


def _day(value: Any) -> date | None:
    return None if pd.isna(value) else pd.Timestamp(value).date()


def _unit(name: str) -> Unit:
    """Return the unit of a name; a piece when it is not one."""
    try:
        return unit(name)
    except UnitError:
        return unit("piece")

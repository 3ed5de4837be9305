"""The joints of a build on the chain of its stages: what is there, on its way, short or empty.

Stages stand below each other in the order of work; arcs at the left say what each follows. The
joints of a stage are beads on its string, and those in trouble are named below it.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from kitting.outputs.drawing import WIDE, cut, drawing, mark, markup, put, text, title
from kitting.terms.conditions import split_list
from kitting.terms.words import Level, StageState

if TYPE_CHECKING:
    from collections.abc import Iterator
    from xml.etree.ElementTree import Element

    from markupsafe import Markup

    from kitting.outputs.check import Document
    from kitting.tables.plan import Plan

Key = tuple[str, str]
_WORST = ("stop", "short", "warn", "coming", "whole")
_BEAD, _LINE, _NAMED = 15.0, 18.0, 15.0
_MOST_NAMED = 6
_MEANS = {
    "stop": "empty: {roles}",
    "short": "short: {parts}",
    "warn": "look at: {roles}",
    "coming": "on its way: {parts}",
}


@dataclass(slots=True)
class Bead:
    """A joint of a stage.

    Parameters
    ----------
    name
        Of the joint; blank = the stage as a whole.
    state
        The worst of what is to be said about it.
    why
        The roles that are empty, or the parts that are not there.
    """

    name: str
    state: str = "whole"
    why: list[str] = field(default_factory=list)

    def worsen(self, state: str, why: str) -> None:
        """Note something; only the worst counts."""
        if _WORST.index(state) < _WORST.index(self.state):
            self.state, self.why = state, []
        if state == self.state and why and why not in self.why:
            self.why.append(why)

    @property
    def said(self) -> str:
        """Its name and what is to be said about it."""
        name = self.name or "the stage's own parts"
        if self.state not in _MEANS:
            return name
        listed = ", ".join(self.why)
        return f"{name}: {_MEANS[self.state].format(roles=listed, parts=listed)}"


def beads(plan: Plan, document: Document) -> dict[Key, list[Bead]]:
    """Return the joints of each stage of a build, in the order of the bill.

    Parameters
    ----------
    plan
        A plan that covers the build.
    document
        Its kit check.
    """
    found: dict[Key, dict[str, Bead]] = defaultdict(dict)
    own = plan.joints[plan.joints["build"] == document["build"]]
    for assembly, stage, joint in zip(
        *(own[c].tolist() for c in ("assembly", "stage", "joint")), strict=True
    ):
        found[assembly, stage][joint] = Bead(joint)
    for stage in document["stages"]:
        here = found[stage["assembly"], stage["stage"]]
        for part in stage["parts"]:
            bead = here.setdefault(part["joint"], Bead(part["joint"]))
            if part["short"]:
                bead.worsen("short", part["part"])
            elif part["coming"]:
                bead.worsen("coming", part["part"])
    for gap in document["gaps"]:
        if gap["level"] != Level.NOTE:
            here = found[gap["assembly"], gap["stage"]]
            bead = here.setdefault(gap["joint"], Bead(gap["joint"]))
            bead.worsen(str(gap["level"]), gap["role"] or gap["check"])
    return {key: list(by_name.values()) for key, by_name in found.items()}


def joint_graph(plan: Plan, document: Document, width: int) -> Markup | None:
    """Draw the stages of a build and their joints; ``None`` when it has no stages.

    Parameters
    ----------
    plan
        A plan that covers the build.
    document
        Its kit check.
    width
        ``WIDE``: beads beside the names. Less: below them.
    """
    stages = document["stages"]
    if not stages:
        return None
    wide = width >= WIDE
    arcs = list(_arcs(plan, document))
    each = 15.0 if wide else 9.0
    gutter = 12 + each * max((b - a for a, b, _ in arcs), default=1) ** 0.5
    laid = _layout(stages, beads(plan, document), width, gutter)
    height = laid[-1][2] + laid[-1][3] + 6
    root = drawing(width, height, f"joints of {document['build']} on the chain of its stages")
    for first, last, kind in arcs:
        top, bottom = laid[first][2] + 9, laid[last][2] + 9
        # A curve comes three quarters of the way out to the points that pull it.
        out = gutter - (each * (last - first) ** 0.5 + 4) / 0.75
        put(root, "path", f"arc {kind}", d=f"M{gutter:.1f} {top:.1f}C{out:.1f} {top:.1f} "
            f"{out:.1f} {bottom:.1f} {gutter:.1f} {bottom:.1f}")  # fmt: skip
    several = len({s["assembly"] for s in stages}) > 1
    for stage, own, y, _ in laid:
        mark(root, stage["state"], gutter, y + 9, 6.0)
        of = f"{stage['assembly']} " if several else ""
        name = (
            f"{of}{stage['stage']}: {stage['name']}" if stage["name"] else f"{of}{stage['stage']}"
        )
        left = gutter + 12
        text(root, (left, y + 13), name, "bold", room=_names(wide) if wide else width - left)
        _string(root, own, (left, y, width), wide=wide)
    return markup(root)


def _names(wide: bool) -> float:
    return 265.0 if wide else 0.0


def _first_bead(left: float, wide: bool) -> tuple[float, float]:
    """Return where the first bead lies, from the left and below the top of its stage."""
    return (left + _names(wide) + 10, 9.0) if wide else (left + 6, 9.0 + _LINE)


def _rows(own: list[Bead], left: float, width: float, wide: bool) -> int:
    first, _ = _first_bead(left, wide)
    return -(-len(own) // max(int((width - first) // _BEAD), 1))


def _layout(
    stages: list[Document], found: dict[Key, list[Bead]], width: float, gutter: float
) -> list[tuple[Document, list[Bead], float, float]]:
    """Return each stage with its beads, its top and its height."""
    out, y = [], 4.0
    wide = width >= WIDE
    for stage in stages:
        own = found.get((stage["assembly"], stage["stage"]), [])
        rows = _rows(own, gutter + 12, width, wide)
        high = max(rows, 1) * _LINE if wide else (rows + 1) * _LINE
        high += _NAMED * len(_troubled(own)) + 6
        out.append((stage, own, y, high))
        y += high
    return out


def _troubled(own: list[Bead]) -> list[tuple[str, str]]:
    """Return state and words of the joints to name below a stage, the worst first."""
    bad = [b for b in own if b.state not in ("whole", "coming")]
    bad.sort(key=lambda b: _WORST.index(b.state))
    named = [(b.state, b.said) for b in bad[:_MOST_NAMED]]
    if len(bad) > _MOST_NAMED:
        named.append(("", f"and {len(bad) - _MOST_NAMED} more, listed below"))
    return named


def _string(root: Element, own: list[Bead], at: tuple[float, float, float], *, wide: bool) -> None:
    """Draw the beads of a stage and name those in trouble."""
    left, y, width = at
    first, down = _first_bead(left, wide)
    per_row = max(int((width - first) // _BEAD), 1)
    rows = _rows(own, left, width, wide)
    for row in range(rows):
        many = min(per_row, len(own) - row * per_row)
        line = y + down + row * _LINE
        put(root, "line", "string", x1=first, y1=line, x2=first + (many - 1) * _BEAD, y2=line)
    for n, bead in enumerate(own):
        x, line = first + n % per_row * _BEAD, y + down + n // per_row * _LINE
        title(mark(root, bead.state, x, line, 4.5), bead.said)
    line = y + down + max(rows, 1 if wide else 0) * _LINE
    for state, said in _troubled(own):
        if state:
            mark(root, state, left + 4, line, 3.5)
        text(root, (left + 14, line + 4), cut(said, width - left - 20), "small")
        line += _NAMED


def _arcs(plan: Plan, document: Document) -> Iterator[tuple[int, int, str]]:
    """Yield which row follows which, within an assembly and from one that is built in."""
    place = {(s["assembly"], s["stage"]): n for n, s in enumerate(document["stages"])}
    later = {k for k, n in place.items() if document["stages"][n]["state"] == StageState.DEFERRED}
    frame = plan.shop["stages"]
    followed = set()
    for assembly, stage, after in zip(
        *(frame[c].tolist() for c in ("assembly", "stage", "after")), strict=True
    ):
        for before in split_list(after):
            if (assembly, stage) in place and (assembly, before) in place:
                kind = "later" if (assembly, stage) in later else "follows"
                if (assembly, stage) not in later:
                    followed.add((assembly, before))
                ends = place[assembly, before], place[assembly, stage]
                yield min(ends), max(ends), kind
    own = plan.built_in[plan.built_in["build"] == document["build"]]
    columns = ("assembly", "stage", "child")
    for assembly, stage, child in zip(*(own[c].tolist() for c in columns), strict=True):
        for key, n in place.items():
            is_last = key[0] == child and key not in followed and key not in later
            if is_last and (assembly, stage) in place:
                ends = n, place[assembly, stage]
                yield min(ends), max(ends), "inside"

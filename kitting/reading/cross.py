"""Names that one sheet uses and another must hold."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from kitting.reading.findings import MOST_ALIKE
from kitting.reading.near import instead
from kitting.terms.conditions import split_list
from kitting.terms.words import Level

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Sequence

    from kitting.reading.view import View


@dataclass(frozen=True, slots=True)
class Reference:
    """A column whose names must be found elsewhere; blank cells name nothing.

    Parameters
    ----------
    sheet, column
        Where the names are used.
    word
        What they are.
    homes
        Tables that may hold them.
    level
        How much an unknown one matters.
    """

    sheet: str
    column: str
    word: str
    homes: tuple[str, ...]
    level: Level = Level.STOP


_ASSEMBLY = ("stages", "joints", "lines")
REFERENCES: tuple[Reference, ...] = (
    Reference("lines", "part", "part", ("parts", *_ASSEMBLY)),
    Reference("sets", "set", "set", ("parts",)),
    Reference("sets", "part", "part", ("parts",)),
    Reference("stand_ins", "part", "part", ("parts",)),
    Reference("stand_ins", "stand_in", "stand-in", ("parts",)),
    Reference("offers", "part", "part", ("parts",)),
    Reference("offers", "supplier", "supplier", ("suppliers",)),
    Reference("stock", "part", "part", ("parts",)),
    Reference("stock", "held_for", "build", ("builds",)),
    Reference("options", "assembly", "assembly", _ASSEMBLY),
    Reference("rules", "assembly", "assembly", _ASSEMBLY),
    Reference("rules", "needs_part", "part", ("parts",)),
    Reference("builds", "assembly", "assembly", _ASSEMBLY),
    Reference("orders", "supplier", "supplier", ("suppliers",)),
    Reference("orders", "part", "part", ("parts",)),
    Reference("orders", "build", "build", ("builds",)),
    Reference("receipts", "order", "order", ("orders",)),
    Reference("receipts", "part", "part", ("parts",)),
    Reference("forgotten", "build", "build", ("builds",)),
    Reference("forgotten", "part", "part", ("parts",), Level.WARN),
    Reference("used", "build", "build", ("builds",)),
    Reference("used", "part", "part", ("parts",), Level.WARN),
    Reference("waivers", "build", "build", ("builds",)),
    Reference("openings", "assembly", "assembly", _ASSEMBLY),
    Reference("circuits", "assembly", "assembly", _ASSEMBLY),
    Reference("circuits", "part", "part", ("parts",)),
    Reference("temporary", "part", "part", ("parts",)),
    Reference("outwork", "job", "part", ("parts",)),
    Reference("outwork", "part", "part", ("parts",)),
    Reference("amounts", "part", "part", ("parts",)),
    Reference("fluids", "part", "part", ("parts",)),
    Reference("belts", "part", "part", ("parts",)),
    Reference("suppliers", "carrier", "carrier", ("carriers",)),
    Reference("offers", "carrier", "carrier", ("carriers",)),
)
_KEY = {
    "parts": "part",
    "suppliers": "supplier",
    "builds": "build",
    "orders": "order",
    "carriers": "carrier",
}


def check_names(view: View) -> None:
    """Check every name that one sheet uses against the sheet that holds it."""
    for reference in REFERENCES:
        _check(view, reference)
    stages = _pairs(view, "stages", "stage")
    joints = _pairs(view, "joints", "joint")
    for sheet in ("joints", "lines", "rules", "circuits", "temporary", "amounts"):
        _check_pairs(view, sheet, "stage", "stages", stages)
    _check_pairs(view, "temporary", "removed_in", "stages", stages)
    for sheet in ("lines", "waivers", "temporary", "outwork", "amounts", "figures", "pulleys"):
        _check_pairs(view, sheet, "joint", "joints", joints)
    _check_after(view, stages)
    for sheet in ("forgotten", "used"):
        _check_places(view, sheet, "stage", "stages", stages)
        _check_places(view, sheet, "joint", "joints", joints)
    _check_receipt_lines(view)


def _homes(view: View, homes: tuple[str, ...]) -> tuple[str, ...]:
    names: dict[str, None] = {}
    if set(_ASSEMBLY) <= set(homes):
        names |= dict.fromkeys(view.assemblies)
    for home in homes:
        if home in _KEY:
            names |= dict.fromkeys(view.frames[home][_KEY[home]])
    return tuple(names)


def _check(view: View, reference: Reference) -> None:
    rows = view.rows(reference.sheet)
    if not len(rows) or not view.judged(*reference.homes):
        return
    if not view.touched(reference.sheet, *reference.homes):
        return
    used = rows[reference.column]
    home = "stages" if reference.homes == _ASSEMBLY else reference.homes[0]
    names = _homes(view, reference.homes)
    mask = (used != "") & ~used.isin(names)
    at = mask.to_numpy().nonzero()[0]
    if not len(at):
        return

    def message(name: str, near: tuple[str, ...]) -> str:
        return (
            f'{reference.word} "{name}" is not in the sheet {home}; add it there, or correct the '
            f"name{instead(name, near)}"
        )

    if view.missing(home):
        named = list(dict.fromkeys(used[mask]))
        faults = {_no_home(view, home, reference.word, named): at.tolist()}
    else:
        faults = _grouped(zip(at.tolist(), used[mask].tolist(), strict=True), names, message)
    view.tell(reference.sheet, reference.column, faults, reference.level)


def _no_home(view: View, home: str, word: str, names: Sequence[str]) -> str:
    shown = ", ".join(names[:3]) + (" ..." if len(names) > 3 else "")
    if home in view.sheets:
        return f"the sheet {home} has no rows, but must hold each {word} named here ({shown})"
    return f"there is no sheet {home}, which must hold each {word} named here ({shown}); add it"


def _grouped(
    pairs: Iterable[tuple[int, str]],
    known: tuple[str, ...],
    message: Callable[[str, tuple[str, ...]], str],
) -> dict[str, list[int]]:
    """Group positions by name and make one message for each name.

    Only as many names are compared with the known ones as are told.
    """
    at: dict[str, list[int]] = {}
    for position, name in pairs:
        at.setdefault(name, []).append(position)
    return {
        message(name, known if i < MOST_ALIKE else ()): positions
        for i, (name, positions) in enumerate(at.items())
    }


def _pairs(view: View, table: str, column: str) -> dict[str, dict[str, None]]:
    """Return the stages or joints of each assembly."""
    frame = view.frames[table]
    out: dict[str, dict[str, None]] = {}
    for assembly, name in zip(frame["assembly"], frame[column], strict=True):
        out.setdefault(assembly, {})[name] = None
    return out


def _not_there(word: str, home: str, assembly: str, name: str, held: Sequence[str]) -> str:
    if not held:
        return f'assembly "{assembly}" has no row in the sheet {home}; add its {word} "{name}"'
    return (
        f'{word} "{name}" of assembly "{assembly}" is not in the sheet {home}; add it there, or '
        f"correct the name{instead(name, held)}"
    )


def _check_pairs(
    view: View, sheet: str, column: str, home: str, held: dict[str, dict[str, None]]
) -> None:
    """Check stages or joints that a sheet names together with their assembly."""
    rows = view.rows(sheet)
    if not view.judged(home) or not view.touched(sheet, home):
        return
    faults: dict[str, list[int]] = {}
    known = {(assembly, name) for assembly, names in held.items() for name in names}
    messages: dict[tuple[str, str], str] = {}
    for i, pair in enumerate(zip(rows["assembly"].tolist(), rows[column].tolist(), strict=True)):
        if not pair[1] or pair in known:
            continue
        if pair not in messages:
            near = tuple(held.get(pair[0], ())) if len(messages) < MOST_ALIKE else ("",)
            messages[pair] = _not_there(column, home, *pair, near)
        faults.setdefault(messages[pair], []).append(i)
    if faults and view.missing(home):
        names = list(dict.fromkeys(rows[column]))
        faults = {_no_home(view, home, column, names): [i for at in faults.values() for i in at]}
    view.tell(sheet, column, faults)


def _check_after(view: View, stages: dict[str, dict[str, None]]) -> None:
    """Check the stages that a stage waits for."""
    if "stages" not in view.sheets:
        return
    faults: dict[str, list[int]] = {}
    rows = view.rows("stages")
    for i, (assembly, after) in enumerate(zip(rows["assembly"], rows["after"], strict=True)):
        held = stages.get(assembly, {})
        for name in split_list(after):
            if name not in held:
                message = _not_there("stage", "stages", assembly, name, tuple(held))
                faults.setdefault(message, []).append(i)
    view.tell("stages", "after", faults)


def _check_places(
    view: View, sheet: str, column: str, home: str, held: dict[str, dict[str, None]]
) -> None:
    """Check stages or joints that belong to a build: of its assembly or any built into it."""
    rows = view.rows(sheet)
    if not len(rows) or not view.judged(home, "builds", "lines", "joints", "stages"):
        return
    builds = view.frames["builds"]
    assembly_of = dict(zip(builds["build"], builds["assembly"], strict=True))
    reached: dict[str, dict[str, None]] = {}
    faults: dict[str, list[int]] = {}
    for i, (build, name) in enumerate(zip(rows["build"], rows[column], strict=True)):
        if not name or build not in assembly_of:
            continue
        if build not in reached:
            inside = view.reach(assembly_of[build])
            reached[build] = {n: None for a in sorted(inside) for n in held.get(a, {})}
        known = reached[build]
        if name not in known:
            message = (
                f'{column} "{name}" is not in the sheet {home} for build "{build}" '
                f"({assembly_of[build]}); correct the name{instead(name, known)}"
            )
            faults.setdefault(message, []).append(i)
    view.tell(sheet, column, faults)


def _check_receipt_lines(view: View) -> None:
    """Check the order lines that receipts answer."""
    rows = view.rows("receipts")
    if not len(rows) or not view.judged("orders"):
        return
    orders = view.frames["orders"]
    known = set(zip(orders["order"], orders["line"], strict=True))
    held = set(orders["order"])
    faults: dict[str, list[int]] = {}
    for i, (order, line) in enumerate(zip(rows["order"], rows["line"].tolist(), strict=True)):
        if not isinstance(line, int) or order not in held or (order, line) in known:
            continue
        message = f'order "{order}" has no line {line}; correct it, or leave it blank'
        faults.setdefault(message, []).append(i)
    view.tell("receipts", "line", faults)

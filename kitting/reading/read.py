"""Reading a shop's sheets: every fault of every sheet in one go."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from kitting.reading.asked import check_asked
from kitting.reading.breaks import check_breaks
from kitting.reading.choices import check_choices
from kitting.reading.computed import check_amounts, computed_places
from kitting.reading.cross import check_names
from kitting.reading.doors import DOORS, sheet_called
from kitting.reading.doubles import check_doubles
from kitting.reading.files import open_source
from kitting.reading.grids import Limits
from kitting.reading.loops import check_loops
from kitting.reading.measures import measure
from kitting.reading.near import instead
from kitting.reading.settings import check_settings, fill_currencies
from kitting.reading.sheets import understand
from kitting.reading.view import View
from kitting.tables.shop import BY_NAME
from kitting.terms.findings import Finding
from kitting.terms.words import Level

if TYPE_CHECKING:
    from pathlib import Path

    import pandas as pd

    from kitting.reading.grids import Grid
    from kitting.reading.sheets import Sheet
    from kitting.tables.shop import Shop

_ORDER = {Level.STOP: 0, Level.WARN: 1, Level.NOTE: 2}


@dataclass(frozen=True)
class Reading:
    """What some sheets say, and what is wrong with them.

    Parameters
    ----------
    frames
        Frame by table name, only of sheets that were there, in base units and cents; rows at
        fault are left out, so use them only when ``ok``.
    findings
        Every fault and remark with sheet, row and column: by weight, then in the order of sheets
        and rows.
    """

    frames: dict[str, pd.DataFrame]
    findings: tuple[Finding, ...]

    @property
    def ok(self) -> bool:
        """Nothing stops the sheets from being used."""
        return all(f.level is not Level.STOP for f in self.findings)


def read_sheets(
    source: Path,
    known: Shop | None = None,
    kinds: frozenset[str] | None = None,
    limits: Limits | None = None,
    called: str = "",
) -> Reading:
    """Read the sheets of a shop and check them together.

    Parameters
    ----------
    source
        A folder of csv files, one csv file, or an xlsx or ods workbook.
    known
        The shop as it is. A sheet that is read replaces its table; ``orders``, ``receipts``,
        ``forgotten`` and ``used`` add to theirs.
    kinds
        Names of the joint kinds; ``None`` = they are not checked.
    limits
        What is refused as too big.
    called
        The sheet that a single csv file holds, whatever its own name.

    Returns
    -------
    Reading
        Frames and findings; a sheet that holds only the template's example row is left out.

    Raises
    ------
    InputError
        When the source is not there or is neither a folder, csv, xlsx nor ods.
    """
    grids, findings = open_source(source, limits or Limits())
    if called and len(grids) == 1 and sheet_called(grids[0].name) is None:
        grids = [replace(grids[0], name=called)]
    chosen, strange = _choose(grids)
    findings += strange
    unreadable = {f.sheet for f in findings if f.level is Level.STOP and f.sheet in DOORS}
    sheets = {
        name: understand(name, chosen[name])
        for name in DOORS
        if name in chosen and name not in unreadable
    }
    unreadable |= {name for name, sheet in sheets.items() if not sheet.readable}
    used = {n: s for n, s in sheets.items() if s.readable and not s.untouched}
    if (not grids and not findings) or (grids and not chosen):
        message = (
            f"{source.name} holds none of the sheets that a shop has (parts, lines, stock, offers "
            "...); kitting sheets FILE writes an empty workbook to fill in"
        )
        findings.append(Finding(Level.STOP, message))
    view = View(used, frozenset(unreadable), known)
    _complete(view, kinds)
    for sheet in sheets.values():
        findings += sheet.log.findings
    findings += [*_emptied(view), *view.findings]
    return Reading({n: _sound(s, view.read[n]) for n, s in used.items()}, _ordered(findings))


def _choose(grids: list[Grid]) -> tuple[dict[str, Grid], list[Finding]]:
    """Match grids with sheets; tell of unknown names and of two grids for one sheet."""
    chosen: dict[str, Grid] = {}
    findings = []
    for grid in grids:
        sheet = sheet_called(grid.name)
        if sheet is None:
            message = f'"{grid.name}" is not a sheet and was left out{instead(grid.name, DOORS)}'
            findings.append(Finding(Level.WARN, message, grid.name))
        elif sheet in chosen:
            message = f'the sheet is there twice, as "{chosen[sheet].name}" and "{grid.name}"'
            findings.append(Finding(Level.STOP, f"{message}; keep one", sheet))
        else:
            chosen[sheet] = grid
    return chosen, findings


def _complete(view: View, kinds: frozenset[str] | None) -> None:
    """Convert quantities and check the sheets together."""
    part_units = _part_units(view)
    computed = computed_places(view)
    for sheet in view.sheets.values():
        measure(sheet, part_units, computed)
    check_amounts(view, part_units)
    fill_currencies(view)
    check_doubles(view)
    check_names(view)
    check_choices(view)
    check_loops(view)
    check_breaks(view)
    check_settings(view)
    check_asked(view)
    _check_starts(view)
    if kinds is not None:
        _check_kinds(view, kinds)


def _part_units(view: View) -> dict[str, str]:
    """Return the unit of each part as written, blank ones filled with ``piece``."""
    sheet = view.sheets.get("parts")
    if sheet is not None:
        sheet.values["unit"] = [u or "piece" for u in sheet.values["unit"]]
        return dict(zip(sheet.values["part"], sheet.values["unit"], strict=True))
    if view.known is None or not view.judged("parts"):
        return {}
    held = view.known["parts"]
    return dict(zip(held["part"], held["unit"], strict=True))


def _check_kinds(view: View, kinds: frozenset[str]) -> None:
    if "joints" not in view.sheets:
        return
    names = sorted(kinds)
    faults: dict[str, list[int]] = {}
    for i, kind in enumerate(view.rows("joints")["kind"]):
        if kind and kind not in kinds:
            message = f'joint kind "{kind}" is not in the catalog{instead(kind, names)}'
            faults.setdefault(f"{message}; kitting kinds WORD finds the right one", []).append(i)
    view.tell("joints", "kind", faults)


def _check_starts(view: View) -> None:
    """Tell of open builds without a start and of builds finished before it."""
    if "builds" not in view.sheets:
        return
    sheet = view.sheets["builds"]
    no_start, backwards = [], []
    for i, (start, finished) in enumerate(
        zip(sheet.values["start"], sheet.values["finished"], strict=True)
    ):
        if i in sheet.log.bad:
            continue
        if start is None and finished is None:
            no_start.append(i)
        elif start is not None and finished is not None and finished < start:
            backwards.append(i)
    if no_start:
        message = "the cell is blank; an open build needs the first day on the bench"
        view.tell("builds", "start", {message: no_start})
    if backwards:
        message = "the build was finished before it started; correct one of the days"
        view.tell("builds", "finished", {message: backwards})


def _emptied(view: View) -> list[Finding]:
    """Warn of sheets without rows that would empty a table of the shop."""
    if view.known is None:
        return []
    return [
        Finding(
            Level.WARN,
            f"the sheet has no rows, so the {len(view.known[name])} that the shop holds would go",
            name,
        )
        for name, sheet in view.sheets.items()
        if not len(sheet) and BY_NAME[name].writer == "reading" and len(view.known[name])
    ]


def _sound(sheet: Sheet, frame: pd.DataFrame) -> pd.DataFrame:
    """Return the rows without fault, checked against the contract."""
    if sheet.log.bad:
        frame = frame.drop(index=sorted(sheet.log.bad)).reset_index(drop=True)
    return BY_NAME[sheet.name].check(frame)


def _ordered(findings: list[Finding]) -> tuple[Finding, ...]:
    """Sort by weight, sheet and row; the same finding is told once."""
    place = {name: i for i, name in enumerate(DOORS)}
    unique = dict.fromkeys(findings)
    return tuple(
        sorted(unique, key=lambda f: (_ORDER[f.level], place.get(f.sheet, -1), f.row, f.column))
    )

"""Rows that say the same thing twice, and numbers that may be one and the same."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from kitting.reading.doors import ORDINALS
from kitting.reading.near import strange
from kitting.tables.shop import BY_NAME
from kitting.terms.numbers import fold
from kitting.terms.words import Level

if TYPE_CHECKING:
    from collections.abc import Iterable

    from kitting.reading.sheets import Sheet
    from kitting.reading.view import View

MAY_REPEAT = ("forgotten", "used")
"""Sheets in which the same thing may really have happened twice."""
MOST_ALIKE, NAMES_COMPARED, LIKENESS = 20, 300, 92


def check_doubles(view: View) -> None:
    """Tell of repeated keys, rows written twice, and look-alikes."""
    for sheet in view.sheets.values():
        _check_keys(sheet)
        _check_rows(sheet)
    if "parts" in view.sheets:
        _propose_numbers(view, "parts", "part", view.parts)
        _propose_names(view)
    for named, column in (("suppliers", "supplier"), ("builds", "build")):
        if named in view.sheets:
            names = [str(v) for v in view.sheets[named].values[column]]
            _propose_numbers(view, named, column, names)
    if view.touched("stages", "joints", "lines"):
        home = next(s for s in ("stages", "lines", "joints") if s in view.sheets)
        _propose_numbers(view, home, "assembly", view.assemblies)
        _tell_both(view)


def _check_keys(sheet: Sheet) -> None:
    """Tell of rows that have the same key; the first one stands."""
    key = BY_NAME[sheet.name].key
    if not key:
        return
    first: dict[tuple[object, ...], int] = {}
    for i, values in enumerate(zip(*(sheet.values[c] for c in key), strict=True)):
        if i in sheet.log.bad:
            continue
        other = first.setdefault(values, i)
        if other != i:
            shown = ", ".join(f"{c} {v}" for c, v in zip(key, values, strict=True) if v != "")
            message = f"row {sheet.log.rows[other]} has the same {shown}; keep one of the two"
            sheet.log.cell(Level.STOP, message, [i], key[0])


def _check_rows(sheet: Sheet) -> None:
    """Tell of rows without a number of their own that are the same in every column."""
    if sheet.name not in ORDINALS and sheet.name != "orders":
        return
    ordinal = ORDINALS.get(sheet.name, "line")
    columns = [c for c in BY_NAME[sheet.name].names if c != ordinal]
    level = Level.WARN if sheet.name in MAY_REPEAT else Level.STOP
    first: dict[tuple[object, ...], int] = {}
    for i, values in enumerate(zip(*(sheet.values[c] for c in columns), strict=True)):
        if i in sheet.log.bad or i not in sheet.unnumbered:
            continue
        other = first.setdefault(values, i)
        if other != i:
            message = (
                f"the row is the same as row {sheet.log.rows[other]}; take one out, or add the "
                f"quantities (if both are meant, number them in the column {ordinal})"
            )
            sheet.log.cell(level, message, [i])


def _propose_numbers(view: View, sheet: str, column: str, names: Iterable[str]) -> None:
    """Tell of names that differ only by case, spaces, dashes or letters that look alike."""
    groups: dict[str, dict[str, None]] = {}
    for name in names:
        if folded := fold(name):
            groups.setdefault(folded, {})[name] = None
    rows = view.rows(sheet)[column]
    faults: dict[str, list[int]] = {}
    alike = {name: tuple(g) for g in groups.values() if len(g) > 1 for name in g}
    for i, name in enumerate(rows):
        if name in alike:
            shown = ", ".join(f'"{n}"' for n in alike[name])
            message = (
                f"{shown} differ only by case, spaces or dashes{strange(alike[name])}; if they "
                "are one, write them alike (they are not merged)"
            )
            faults.setdefault(message, []).append(i)
    view.tell(sheet, column, faults, Level.WARN)


def _propose_names(view: View) -> None:
    """Propose parts of one maker whose names are nearly the same, numerals apart."""
    parts = view.rows("parts")
    groups: dict[tuple[str, ...], list[int]] = {}
    for i, (maker, name) in enumerate(zip(parts["maker"], parts["name"], strict=True)):
        if maker and len(name) > 5:
            numerals = re.findall(r"[0-9]+", name)
            groups.setdefault((maker, *numerals), []).append(i)
    told = 0
    for positions in groups.values():
        if not 1 < len(positions) <= NAMES_COMPARED:
            continue
        for i, j in _close(list(parts["name"].iloc[positions])):
            a, b = positions[i], positions[j]
            one, other = parts["part"].iloc[a], parts["part"].iloc[b]
            message = (
                f'"{one}" and "{other}" of {parts["maker"].iloc[a]} have nearly the same name '
                f'("{parts["name"].iloc[b]}"); if they are one part, keep one number'
            )
            view.tell("parts", "name", {message: [a, b]}, Level.NOTE)
            told += 1
            if told == MOST_ALIKE:
                return


def _close(names: list[str]) -> list[tuple[int, int]]:
    from rapidfuzz import fuzz, process

    likeness = process.cdist(
        [n.casefold() for n in names],
        [n.casefold() for n in names],
        scorer=fuzz.ratio,
        score_cutoff=LIKENESS,
    )
    return [(int(i), int(j)) for i, j in zip(*likeness.nonzero(), strict=True) if i < j]


def _tell_both(view: View) -> None:
    """Tell of names that are a part and an assembly at once."""
    if "lines" not in view.sheets:
        return
    both = set(view.parts).intersection(view.assemblies)
    faults: dict[str, list[int]] = {}
    for i, name in enumerate(view.rows("lines")["part"]):
        if name in both:
            message = (
                f'"{name}" is both a part and an assembly; this line builds the assembly in, and '
                "the part is not picked"
            )
            faults.setdefault(message, []).append(i)
    view.tell("lines", "part", faults, Level.WARN)

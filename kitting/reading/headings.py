"""Which column of a grid is which: headings, rows that count, notes from unknown columns."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from kitting.reading.doors import by_key, heading_key
from kitting.reading.grids import Spoiled, column_letter, show
from kitting.reading.near import near
from kitting.tables.shop import BY_NAME
from kitting.terms.words import Level

if TYPE_CHECKING:
    from collections.abc import Iterable

    from kitting.reading.findings import Log
    from kitting.reading.grids import Cell, Grid

EXAMPLE = "example:"
"""A row whose first filled cell begins so is an example and is left out."""
_LOOKED_AT = 20  # rows in which headings are looked for when the first row holds none


@dataclass(frozen=True, slots=True)
class Laid:
    """A sheet laid out by column.

    Parameters
    ----------
    rows
        Sheet row of each row that holds something.
    columns
        Cells by the door's column name, as long as ``rows``; absent columns are not in it.
    extra
        Cells by heading of columns that the sheet does not know.
    untouched
        It holds its example row and nothing else.
    """

    rows: list[int]
    columns: dict[str, list[Cell]]
    extra: dict[str, list[Cell]]
    untouched: bool = False


def lay_out(sheet: str, grid: Grid, log: Log) -> Laid | None:
    """Find the headings and the rows; ``None`` when the sheet cannot be understood.

    Parameters
    ----------
    sheet
        The sheet that the grid is.
    grid
        Its cells.
    log
        Gets what is wrong; its rows are set.
    """
    top = next((i for i, row in enumerate(grid.cells) if any(c != "" for c in row)), None)
    if top is None:
        log.whole(Level.STOP, "the sheet is empty; write the headings in its first row")
        return None
    below = _better(sheet, grid, top)
    if below:
        message = (
            f"the headings seem to stand in row {below + 1}; take the rows above out, so that the "
            "headings come first"
        )
        log.whole(Level.STOP, message, row=top + 1)
        return None
    stops = len(log.findings)
    width = max(map(len, grid.cells))
    headings = [*grid.cells[top], *[""] * (width - len(grid.cells[top]))]
    _check_merged(grid, top, log)
    places = _places(sheet, headings, top, log)
    body = [(i + 1, row) for i, row in enumerate(grid.cells) if i > top]
    body = [(number, row) for number, row in body if any(c != "" for c in row)]
    examples = [number for number, row in body if _is_example(row)]
    body = [(number, row) for number, row in body if not _is_example(row)]
    if examples:
        log.whole(Level.NOTE, "the example row was left out", row=examples[0])
    log.rows = [number for number, _ in body]
    _check_width(body, headings, log)
    if any(f.level is Level.STOP for f in log.findings[stops:]):
        return None
    padded = [row + [""] * (width - len(row)) for _, row in body]
    known = by_key(sheet)
    columns = {known[k].name: [row[i] for row in padded] for k, i in places.items() if k in known}
    extra = {show(headings[i]): [r[i] for r in padded] for k, i in places.items() if k not in known}
    _tell_extra(sheet, extra, columns, log)
    return Laid(list(log.rows), columns, extra, bool(examples) and not body)


def _better(sheet: str, grid: Grid, top: int) -> int:
    """Return a row below the first one that holds headings, when the first holds none; else 0."""
    known = by_key(sheet)

    def found(row: list[Cell]) -> int:
        return sum(isinstance(c, str) and heading_key(c) in known for c in row)

    if found(grid.cells[top]):
        return 0
    rows = range(top + 1, min(top + _LOOKED_AT, len(grid.cells)))
    best = max(rows, key=lambda i: found(grid.cells[i]), default=0)
    return best if best and found(grid.cells[best]) > 1 else 0


def _is_example(row: list[Cell]) -> bool:
    first = next(cell for cell in row if cell != "")
    return isinstance(first, str) and first.casefold().startswith(EXAMPLE)


def _check_merged(grid: Grid, top: int, log: Log) -> None:
    for first_row, first, last_row, last in grid.merged:
        if last_row < top:
            continue
        area = f"{column_letter(first)}{first_row + 1}:{column_letter(last)}{last_row + 1}"
        what = "heading cells" if first_row <= top else "cells"
        log.whole(
            Level.STOP,
            f"the {what} {area} are merged; unmerge them and fill every cell",
            row=first_row + 1,
        )


def _places(sheet: str, headings: list[Cell], top: int, log: Log) -> dict[str, int]:
    """Return the place of each column by folded heading; tell of repeats and missing ones."""
    known = by_key(sheet)
    places: dict[str, int] = {}
    for i, heading in enumerate(headings):
        if heading == "":
            continue
        if isinstance(heading, Spoiled):
            log.whole(Level.STOP, heading.why, column_letter(i), top + 1)
            continue
        key = heading_key(show(heading))
        if key in places:
            log.whole(
                Level.STOP,
                f'the heading "{show(heading)}" is in columns {column_letter(places[key])} and '
                f"{column_letter(i)}; keep one",
                row=top + 1,
            )
            continue
        places[key] = i
    strange = [show(headings[i]) for k, i in places.items() if k not in known]
    for key, door in known.items():
        if (door.must or door.there) and key not in places:
            like = near(door.name, strange, most=1, least=70)
            hint = f'; is "{like[0]}" meant for it?' if like else ""
            log.whole(
                Level.STOP, f"the column {door.name} is missing; add it{hint}", door.name, top + 1
            )
    return places


def _check_width(body: list[tuple[int, list[Cell]]], headings: list[Cell], log: Log) -> None:
    """Tell of cells that stand under no heading."""
    bare = {i for i, heading in enumerate(headings) if heading == ""}
    if not bare:
        return
    at: dict[int, list[int]] = {}
    for position, (_, row) in enumerate(body):
        for i in bare:
            if i < len(row) and row[i] != "":
                at.setdefault(i, []).append(position)
    for i, positions in sorted(at.items()):
        log.cell(
            Level.STOP,
            f"column {column_letter(i)} has cells but no heading (merged headings or a stray "
            "delimiter do this); give it a heading or clear it",
            positions,
        )


def _tell_extra(
    sheet: str, extra: dict[str, list[Cell]], columns: dict[str, list[Cell]], log: Log
) -> None:
    """Say what becomes of columns that the sheet does not know."""
    has_note = "note" in BY_NAME[sheet].names
    absent = [d.name for d in by_key(sheet).values() if d.name not in columns]
    for heading, cells in extra.items():
        if not any(cell != "" for cell in cells):
            continue
        like = near(heading, absent, most=1, least=80) or _holding(heading, absent)
        meant = " or ".join(f'"{name}"' for name in like)
        hint = f"; if {meant} is meant, write that" if like else ""
        if has_note:
            level = Level.WARN if like else Level.NOTE
            message = f'the column "{heading}" is not known and is kept in the notes{hint}'
        else:
            level = Level.WARN
            message = f'the column "{heading}" is not known and was left out{hint}'
        log.whole(level, message)


def _holding(heading: str, names: Iterable[str]) -> list[str]:
    """Return the names of which a heading is a word: "days" of work_days."""
    words = set(heading.casefold().replace("_", " ").split())
    return [name for name in names if words and words <= set(name.split("_"))]

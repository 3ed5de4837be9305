"""The kit of a build as a workbook to print: a pick list, and a sheet for each stage."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from openpyxl import Workbook
from openpyxl.styles import Border, Font, PatternFill, Side
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.pagebreak import Break

from kitting.outputs import cells
from kitting.outputs.kit import together, walking
from kitting.outputs.text import plural

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from openpyxl.worksheet.worksheet import Worksheet

    from kitting.outputs.kit import Kit, Row, StageKit, Taken

# At arm's length on a bench nothing below 12 points can be read.
PLAIN = Font(name=cells.FACE, size=12)
BOLD = Font(name=cells.FACE, size=12, bold=True)
BIG = Font(name=cells.FACE, size=14, bold=True)
_EDGE = Side(style="medium")
BOX = Border(left=_EDGE, right=_EDGE, top=_EDGE, bottom=_EDGE)
GREY = PatternFill("solid", fgColor="E4E4E4")
LINE = 16.0
"""Height of one line of 12 points [points]."""
BLANKS = 6
_SHORT_BLANKS = 2
# Printable height of A4 and Letter less margins, and a line for rounding [points].
_HEIGHTS = {"A4": 842 - 80, "Letter": 792 - 80}
_TITLE_LONGEST = 31
_NOT_IN_TITLES = re.compile(r"[\[\]:*?/\\]")
LEGEND = (
    "Use: new = fit a new one, never again once disturbed; measure = fit again only if it "
    "measures good. Tick each box when it is done. SHORT or EXTRA: write it down here, always."
)


@dataclass(slots=True)
class _Page:
    """A sheet that is written from the top down, and breaks where the paper ends."""

    sheet: Worksheet
    widths: tuple[int, ...]
    height: float
    indents: tuple[int, ...]
    row: int = 0
    used: float = 0.0
    repeated: float = 0.0

    def line(
        self, texts: Sequence[str], fonts: Sequence[Font], *, box: bool = False, rule: bool = True
    ) -> None:
        """Write one row of cells and make it high enough."""
        self.row += 1
        high = LINE
        for column, (text, font) in enumerate(zip(texts, fonts, strict=True), start=1):
            cell = cells.cell_at(self.sheet, self.row, column)
            cells.put_text(cell, text)
            side = "indent" if column in self.indents else "left"
            cells.dress(cell, font, side, cells.HAIR if rule else None)
            scale = (font.size or 10) / 10
            high = max(
                high,
                cells.lines_of(text, (self.widths[column - 1] - (side == "indent")) / scale) * LINE,
            )
        if box:
            cells.cell_at(self.sheet, self.row, 1).border = BOX
        self._set_height(high + 4)

    def action(self, text: str) -> None:
        """Write a row with a box whose text needs no other column."""
        first, last = 3, len(self.widths)
        texts = [""] * last
        self.line(texts, [PLAIN] * last, box=True)
        self.sheet.merge_cells(
            start_row=self.row, start_column=first, end_row=self.row, end_column=last
        )
        cell = cells.cell_at(self.sheet, self.row, first)
        cells.put_text(cell, text)
        lines = cells.lines_of(text, sum(self.widths[first - 1 :]) / 1.2)
        self.used -= self.sheet.row_dimensions[self.row].height or 0
        self._set_height(lines * LINE + 4)

    def across(self, text: str, font: Font, *, fill: bool = False, frame: bool = False) -> None:
        """Write one text over all columns."""
        self.row += 1
        last = len(self.widths)
        if frame:
            for column in range(1, last + 1):
                cells.cell_at(self.sheet, self.row, column).border = cells.HAIR
        self.sheet.merge_cells(
            start_row=self.row, start_column=1, end_row=self.row, end_column=last
        )
        cell = cells.cell_at(self.sheet, self.row, 1)
        cells.put_text(cell, text)
        cells.dress(cell, font)
        if fill:
            cell.fill = GREY
        scale = (font.size or 10) / 10
        high = cells.lines_of(text, sum(self.widths) / scale) * LINE * max(scale / 1.2, 1)
        self._set_height(high + 4)

    def room(self, points: float) -> None:
        """Begin a new page when what follows does not fit on this one."""
        if self.used + points > self.height and self.used > self.repeated:
            self.sheet.row_breaks.append(Break(id=self.row))
            self.used = self.repeated

    def _set_height(self, points: float) -> None:
        if self.used + points > self.height:
            self.sheet.row_breaks.append(Break(id=self.row - 1))
            self.used = self.repeated
        self.sheet.row_dimensions[self.row].height = points
        self.used += points


STAGE_HEADS = ("", "Qty", "What", "Number", "Bin", "Bag", "Use")
_STAGE_INDENTS, _PICK_INDENTS = (2, 4), (3, 5, 7)
STAGE_WIDTHS = (4, 10, 34, 18, 12, 6, 9)
PICK_HEADS = ("", "Bin", "Qty", "Number", "What", "Lot, last day", "Bag, stage")
PICK_WIDTHS = (4, 13, 9, 18, 23, 13, 13)


def kit_book(kit: Kit) -> bytes:
    """Return the workbook of a kit.

    Parameters
    ----------
    kit
        What it holds; the stages on the bench, or those that come later.
    """
    book = Workbook()
    assert book.active is not None
    book.remove(book.active)
    titles: set[str] = set()
    _pick_list(_page(book, "pick list", PICK_WIDTHS, (kit, titles)), kit)
    for stage in kit.stages:
        title = f"{stage.number} {stage.stage}"
        _stage_sheet(_page(book, title, STAGE_WIDTHS, (kit, titles)), kit, stage)
    return cells.saved(book, cells.Values(), kit.day)


def _page(book: Workbook, title: str, widths: tuple[int, ...], of: tuple[Kit, set[str]]) -> _Page:
    """Begin a sheet under a title that no other sheet has."""
    kit, titles = of
    plain = _NOT_IN_TITLES.sub("-", title).strip("'")[:_TITLE_LONGEST]
    number = 1
    while plain.casefold() in titles:
        number += 1
        plain = f"{plain[: _TITLE_LONGEST - 4]} {number}"
    titles.add(plain.casefold())
    sheet = book.create_sheet(plain)
    for column, width in enumerate(widths, start=1):
        sheet.column_dimensions[get_column_letter(column)].width = width
    indents = _STAGE_INDENTS if widths is STAGE_WIDTHS else _PICK_INDENTS
    return _Page(sheet, widths, _HEIGHTS.get(kit.paper, _HEIGHTS["A4"]), indents)


def _head(page: _Page, kit: Kit, title: str, lines: Sequence[str]) -> None:
    page.across(title, cells.TITLE)
    whose = f", {kit.customer}" if kit.customer else ""
    page.across(f"Build {kit.build}: {kit.assembly}{whose}", BOLD)
    for text in lines:
        page.across(text, PLAIN)


def _columns(page: _Page, heads: tuple[str, ...]) -> None:
    page.line(heads, [BOLD] * len(heads))
    page.repeated = page.sheet.row_dimensions[page.row].height or LINE


def _finish(page: _Page, kit: Kit, heading: int, title: str) -> None:
    """Set up the paper; the size of the letters is kept, so nothing is shrunk to fit."""
    cells.set_up_page(page.sheet, heading, f"{kit.build}, {title}, {kit.day}", kit.paper)
    page.sheet.page_setup.orientation = "portrait"
    page.sheet.sheet_properties.pageSetUpPr = None
    page.sheet.page_setup.fitToWidth = page.sheet.page_setup.fitToHeight = None
    page.sheet.page_setup.scale = 100


def _stage_sheet(page: _Page, kit: Kit, stage: StageKit) -> None:
    several = len({s.assembly for s in kit.stages}) > 1
    of = f"{stage.assembly} " if several else ""
    name = f": {stage.name}" if stage.name else ""
    title = f"{stage.number}  {of}{stage.stage}{name}"
    at = f"  At: {stage.place}." if stage.place else ""
    days = f"From {_day(stage.start)} to {_day(stage.finish)}.{at}  Printed for {_day(kit.day)}."
    _head(page, kit, title, [days, *([f"Options: {kit.options}"] if kit.options else [])])
    _columns(page, STAGE_HEADS)
    heading = page.row
    for joint, rows in stage.groups:
        page.room(2 * (LINE + 4) + LINE)
        if joint:
            page.across(joint, BOLD, fill=True)
        for row in rows:
            _row(page, row)
    if not stage.groups:
        page.across("The bill asks for nothing in this stage.", PLAIN)
    _foot(page, stage)
    _finish(page, kit, heading, stage.stage)


def _row(page: _Page, row: Row) -> None:
    if not row.number:
        page.action(row.what)
        return
    fonts = [PLAIN, BIG, PLAIN, BOLD, PLAIN, BOLD, BOLD if row.mark == "new" else PLAIN]
    texts = ("", row.amount, row.what, row.number, row.place, row.bag, row.mark)
    page.line(texts, fonts, box=True)


def _foot(page: _Page, stage: StageKit) -> None:
    """Write what the bench writes down: short, extra, left over, and who picked and checked."""
    written = len(stage.short) + len(stage.left_over) + 8
    page.room((_SHORT_BLANKS + BLANKS + 1) * (LINE + 8) + written * (LINE + 4))
    page.across("", PLAIN)
    page.across("SHORT", BOLD, fill=True)
    for text in stage.short:
        page.across(text, PLAIN, frame=True)
    for _ in range(_SHORT_BLANKS):
        _blank(page)
    page.across("EXTRA NEEDED: quantity, what, number, why it was not in the kit", BOLD, fill=True)
    for _ in range(BLANKS):
        _blank(page)
    page.across("LEFT OVER", BOLD, fill=True)
    for text in stage.left_over:
        page.across(f"expected: {text}", PLAIN, frame=True)
    _blank(page)
    page.across("", PLAIN)
    page.across(
        "picked by ________  at ________      checked by ________  at ________      photo [   ]",
        BOLD,
    )
    page.across(LEGEND, PLAIN)


def _blank(page: _Page) -> None:
    """Write a row to write on by hand, with its box."""
    page.line([""] * len(page.widths), [PLAIN] * len(page.widths), box=True)
    high = LINE + 8
    page.used += high - (page.sheet.row_dimensions[page.row].height or 0)
    page.sheet.row_dimensions[page.row].height = high


def _pick_list(page: _Page, kit: Kit) -> None:
    _head(page, kit, "Pick list, in walking order", [f"As of {_day(kit.day)}."])
    _columns(page, PICK_HEADS)
    heading = page.row
    every = [t for stage in kit.stages for t in stage.taken]
    taken = together(t for t in every if not t.done)
    several = len({s.assembly for s in kit.stages}) > 1
    order = {(s.assembly, s.stage): s.number for s in kit.stages}

    def by_walk(one: Taken) -> tuple[Any, ...]:
        return walking(one.place), one.part, order[one.stages[0]]

    for one in sorted((t for t in taken if not t.order and not t.lent), key=by_walk):
        _take(page, one, one.place, several=several)
    lent = [t for t in taken if not t.order and t.lent]
    if lent:
        page.room(3 * LINE)
        page.across("For the bench, to be put back", BOLD, fill=True)
        for one in sorted(lent, key=by_walk):
            _take(page, one, one.place, several=several)
    if done := sum(t.done for t in every):
        lines = plural(done, "line", "lines")
        page.across(f"In the kit already: {lines} of the stage sheets", PLAIN)
    coming = [t for t in taken if t.order]
    if coming:
        page.room(3 * LINE)
        page.across("On its way: put it into its bag when it comes", BOLD, fill=True)
        for one in sorted(coming, key=lambda t: (t.comes or kit.day, t.order, t.part)):
            due = f"\ndue {_short(one.comes)}" if one.comes else ""
            _take(page, one, f"{one.order}{due}", several=several)
    short = [(s, text) for s in kit.stages for text in s.short]
    if short:
        page.room(3 * LINE)
        page.across("SHORT: nowhere yet", BOLD, fill=True)
        for stage, text in short:
            page.across(f"{text}, for {stage.stage}", PLAIN, frame=True)
    page.room(4 * LINE)
    page.across("", PLAIN)
    page.across("picked by ________  at ________      checked by ________  at ________", BOLD)
    _finish(page, kit, heading, "pick list")


def _take(page: _Page, one: Taken, place: str, *, several: bool) -> None:
    stages = [f"{a} {s}" if several else s for a, s in one.stages]
    of = ", ".join(stages[:2]) + (f" and {len(stages) - 2} more" if len(stages) > 2 else "")
    lot = "\n".join(t for t in (one.lot, one.owner, f"{one.use_by}" if one.use_by else "") if t)
    number = one.part if one.part == one.asked else f"{one.part}\nfor {one.asked}"
    where = "" if one.lent else "\n".join(t for t in (one.bag, of) if t)
    texts = ("", place, one.amount, number, one.name, lot, where)
    page.line(texts, [PLAIN, BOLD, BIG, BOLD, PLAIN, PLAIN, PLAIN], box=True)


def _day(day: date | None) -> str:
    return f"{day:%a} {day.day} {day:%b %Y}" if day else "no day"


def _short(day: date) -> str:
    return f"{day.day} {day:%b}"

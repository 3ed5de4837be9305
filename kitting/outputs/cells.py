"""Cells, paper and saving for workbooks that a stranger opens.

Three things that the workbook library leaves open are settled here: text is always text, whatever
it begins with; formulas carry the value they give, so that a reader that does not calculate shows
it too; and two runs over the same data give the same bytes.
"""

from __future__ import annotations

import io
import re
import zipfile
from dataclasses import dataclass, field
from functools import cache
from typing import TYPE_CHECKING

from openpyxl.cell import MergedCell
from openpyxl.styles import Alignment, Border, Font, Side
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.properties import PageSetupProperties

from kitting.tables.workbooks import packed

if TYPE_CHECKING:
    from datetime import date

    from openpyxl import Workbook
    from openpyxl.cell import Cell
    from openpyxl.worksheet.worksheet import Worksheet

FACE = "Arial"
PLAIN = Font(name=FACE, size=10)
BOLD = Font(name=FACE, size=10, bold=True)
TITLE = Font(name=FACE, size=16, bold=True)
SMALL = Font(name=FACE, size=9)
RULE = Border(bottom=Side(style="thin"))
HAIR = Border(bottom=Side(style="hair"))
BOX = Border(left=Side(style="hair"), bottom=Side(style="hair"))
TOP = Border(top=Side(style="thin"))
MONEY = "#,##0.00"
DAY = "yyyy-mm-dd"
TEXT = "@"
LINE_POINTS = 13.5
"""Height of one line of plain text [points]."""

_LONGEST_TEXT = 32_000
# A program may run text that begins so; old ones skip the quote mark, so it is set as well.
_RISKY = ("=", "+", "-", "@", "\t", "\r")
_FORBIDDEN = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\ufffe\uffff]|[\ud800-\udfff]")
# Files spell characters as _x0041_; text that looks so is spelled out itself.
_SPELLED = re.compile(r"_(?=x[0-9A-Fa-f]{4}_)")
_PAPERS = {"A4": "9", "Letter": "1"}
# Widths of cells that fit across, at 7 pixels for a digit and margins of 10 mm.
_ACROSS = 100
# Of the plain face, in digits: narrow signs and letters, broad ones; capitals are about 1.25.
_BREADTHS = {
    **dict.fromkeys("ijl'|", 0.42), **dict.fromkeys(" .,:;/!ftI[]()", 0.52),
    **dict.fromkeys("-r", 0.6), **dict.fromkeys("ckvxyzsJ", 0.92),
    **dict.fromkeys("mMWw@%", 1.55),
}  # fmt: skip
# Widths of columns are counted in digits of the first font, which must be there on any machine.
_FIRST_FONT = f'<font><name val="{FACE}"/><family val="2"/><sz val="10"/></font>'
_STAMP = (1980, 1, 1, 0, 0, 0)


@dataclass(slots=True)
class Values:
    """What each formula gives: by sheet title and cell, a number written as text."""

    by_cell: dict[tuple[str, str], str] = field(default_factory=dict)

    def cents(self, cell: Cell, formula: str, cents: int) -> None:
        """Put a formula for money and keep its value.

        Parameters
        ----------
        formula
            Without the equals sign.
        cents
            What it gives.
        """
        cell.value = f"={formula}"
        cell.number_format = MONEY
        sign = "-" if cents < 0 else ""
        text = f"{sign}{abs(cents) // 100}.{abs(cents) % 100:02d}"
        self.by_cell[cell.parent.title, cell.coordinate] = text


def cell_at(sheet: Worksheet, row: int, column: int) -> Cell:
    """Return the cell at a row and column, which is not hidden in a merged one."""
    cell = sheet.cell(row, column)
    assert not isinstance(cell, MergedCell)
    return cell


def put_text(cell: Cell, text: str) -> None:
    """Put text that stays text: no formula, no number, no error, whatever it looks like.

    Characters that no sheet can hold become a replacement character.
    """
    clean = _FORBIDDEN.sub("\ufffd", text)[:_LONGEST_TEXT]
    cell.value = _SPELLED.sub("_x005F_", clean).replace("\r", "_x000D_")
    cell.data_type = "s"
    cell.number_format = TEXT
    if clean.startswith(_RISKY):
        cell.quotePrefix = True


def put_cents(cell: Cell, cents: int) -> None:
    """Put an amount of money."""
    cell.value = cents / 100
    cell.number_format = MONEY


def put_day(cell: Cell, day: date) -> None:
    """Put a day, written year-month-day everywhere."""
    cell.value = day
    cell.number_format = DAY


def dress(cell: Cell, font: Font, across: str = "left", border: Border | None = None) -> None:
    """Give a cell its font, side (left, right or indent) and rule; long text is wrapped."""
    cell.font = font
    cell.alignment = _alignment(across)
    if border is not None:
        cell.border = border


@cache
def _alignment(across: str) -> Alignment:
    side, indent = ("left", 1) if across == "indent" else (across, 0)
    return Alignment(horizontal=side, indent=indent, vertical="top", wrap_text=True)


def lines_of(text: str, width: float) -> int:
    """Return how many lines text takes in a cell of a width [digits]."""
    return sum(_wrapped(piece, width - 0.9) for piece in text.split("\n"))


def _wrapped(text: str, room: float) -> int:
    lines, used = 1, 0.0
    for word in text.split(" "):
        length = breadth(word)
        gap = breadth(" ") if used else 0.0
        if used and used + gap + length > room:
            lines, used, gap = lines + 1, 0.0, 0.0
        if length > room:
            lines += int(length // room)
            length %= room
        used += gap + length
    return lines


def breadth(text: str) -> float:
    """Return about how wide text is [digits]; letters of the face differ, digits do not."""
    return sum(_BREADTHS.get(c, 1.25 if c.isupper() or ord(c) > 0x2E7F else 1.0) for c in text)


def set_up_page(sheet: Worksheet, heading_row: int, footer: str, paper: str) -> None:
    """Set a sheet up to print: one page wide, its heading row on each page, page n of m.

    It lies down when its columns need it; margins of 10 mm suit A4 and Letter.

    Parameters
    ----------
    heading_row
        Row that is repeated on each page.
    footer
        Text at the left of the foot.
    paper
        ``A4`` or ``Letter``; anything else is ``A4``.
    """
    width = sum(d.width for d in sheet.column_dimensions.values())
    sheet.page_setup.orientation = "portrait" if width <= _ACROSS else "landscape"
    sheet.page_setup.paperSize = _PAPERS.get(paper, _PAPERS["A4"])
    sheet.page_setup.fitToWidth = 1
    sheet.page_setup.fitToHeight = 0
    sheet.sheet_properties.pageSetUpPr = PageSetupProperties(fitToPage=True)
    for side in ("left", "right", "top"):
        setattr(sheet.page_margins, side, 0.4)
    sheet.page_margins.bottom, sheet.page_margins.footer = 0.7, 0.35
    sheet.print_title_rows = f"{heading_row}:{heading_row}"
    last = f"{get_column_letter(sheet.max_column)}{sheet.max_row}"
    sheet.print_area = f"A1:{last}"
    foot = sheet.oddFooter
    assert foot is not None
    assert foot.left is not None
    assert foot.right is not None
    foot.left.text = _FORBIDDEN.sub("", footer)[:100].replace("&", "&&")
    foot.right.text = "page &P of &N"
    sheet.sheet_view.showGridLines = False


def saved(book: Workbook, values: Values, day: date | None) -> bytes:
    """Return a workbook's file, with the value of every formula in it.

    The library writes ``<c r="K9"><f>...</f><v/></c>``; the value is set between the last two
    marks. The first font becomes ours, marks for numbers kept as text are switched off, and times
    of making are the day's.

    Parameters
    ----------
    values
        What the formulas give.
    day
        Day the workbook says it was made on.

    Raises
    ------
    RuntimeError
        When a formula has no value or a value no formula.
    """
    raw = io.BytesIO(packed(book))
    left = dict(values.by_cell)
    titles = {f"xl/worksheets/sheet{i}.xml": t for i, t in enumerate(book.sheetnames, start=1)}
    out = io.BytesIO()
    with (
        zipfile.ZipFile(raw) as old,
        zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as new,
    ):
        for name in old.namelist():
            data = old.read(name).decode()
            if name in titles:
                data = _with_values(data, titles[name], left)
            elif name == "xl/styles.xml":
                data = re.sub(r"<font>.*?</font>", _FIRST_FONT, data, count=1)
            elif name == "docProps/core.xml":
                made = f"{day:%Y-%m-%d}T00:00:00Z" if day else "1980-01-01T00:00:00Z"
                data = re.sub(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\dZ", made, data)
                data = data.replace(">openpyxl<", ">kitting<")
            new.writestr(zipfile.ZipInfo(name, _STAMP), data, zipfile.ZIP_DEFLATED)
    if left:
        raise RuntimeError(f"no formula is at {', '.join(cell for _, cell in left)}")
    return out.getvalue()


def _with_values(xml: str, title: str, left: dict[tuple[str, str], str]) -> str:
    """Set the value of each formula of a sheet, and take it out of those that are left."""

    def valued(match: re.Match[str]) -> str:
        value = left.pop((title, match[2]), None)
        if value is None:
            raise RuntimeError(f"the formula at {match[2]} has no value")
        return f"{match[1]}{match[3]}<v>{value}</v></c>"

    pattern = r'(<c r="([A-Z]+[0-9]+)"[^>]*>)(<f>[^<]*</f>)<v\s*/?>(?:</v>)?</c>'
    written = re.sub(pattern, valued, xml)
    quiet = '<ignoredErrors><ignoredError sqref="A1:XFD1048576" numberStoredAsText="1"/>'
    return written.replace("</headerFooter>", f"</headerFooter>{quiet}</ignoredErrors>")

"""The audit as a workbook: rankings with a Pareto chart, builds over time, proposals."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from openpyxl import Workbook
from openpyxl.chart import BarChart, LineChart, Reference
from openpyxl.utils import get_column_letter

from kitting.outputs import cells
from kitting.outputs.folder import staging

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import date
    from pathlib import Path

    import pandas as pd
    from openpyxl.worksheet.worksheet import Worksheet

_SHARES = {"rate", "low", "high", "expected", "expected_low", "expected_high", "running"}
_CENTS = {"money_lost", "money_saved", "cost"}
_RANKED = (
    *("name", "label", "assembly", "events", "running", "builds", "could", "rate", "low", "high"),
    *("expected", "expected_low", "expected_high", "hours_lost", "money_lost", "cost"),
)
_TREND = (
    *("position", "build", "assembly", "finished", "events", "so_far", "recent"),
    *("hours_lost", "money_lost"),
)
_PROPOSED = (
    *("proposal", "message", "evidence", "builds", "could", "avoided", "avoided_low"),
    *("avoided_high", "hours_saved", "money_saved", "cost"),
)
_CAUGHT = ("entry", "build", "stage", "joint", "part", "cause", "caught", "how", "reason")
_SUGGESTED = ("build", "part", "both", "one", "lift", "reason")
_BARS = 15
_WIDEST, _ROW = 60, 3
_CHART_ROWS = 24  # rows that a chart below the table takes


@dataclass(frozen=True, slots=True)
class _Page:
    title: str
    table: str
    columns: tuple[str, ...]


_PAGES = (
    *(
        _Page(title, name, _RANKED)
        for title, name in (
            ("Parts", "part"),
            ("Families", "family"),
            ("Joints", "joint"),
            ("Kinds of joint", "kind"),
            ("Roles", "role"),
            ("Stages", "stage"),
            ("Suppliers", "supplier"),
            ("Causes", "cause"),
        )
    ),
    _Page("Builds", "trend", _TREND),
    _Page("Proposals", "proposed", _PROPOSED),
    _Page("Caught today", "caught", _CAUGHT),
    _Page("May be lacking", "suggestions", _SUGGESTED),
)


def audit_book(tables: Mapping[str, pd.DataFrame], shop: str, currency: str, day: date) -> bytes:
    """Return the workbook of an audit.

    Parameters
    ----------
    tables
        Tables ``tally`` by aspect, ``trend``, ``proposed``, ``caught`` and ``suggestions``.
    shop, currency
        Name and currency of the shop.
    day
        Day of the audit.
    """
    book = Workbook()
    assert book.active is not None
    book.remove(book.active)
    for page in _PAGES:
        frame = tables[page.table]
        sheet = book.create_sheet(page.title)
        _fill(sheet, frame, page, currency)
        cells.set_up_page(sheet, _ROW, f"{page.title}, {shop} {day.isoformat()}", "A4")
        if len(frame) and page.columns in (_RANKED, _TREND):
            if page.columns == _TREND:
                chart: BarChart | LineChart = _line(sheet, len(frame))
            else:
                chart = _pareto(sheet, min(len(frame), _BARS), page.title)
            sheet.add_chart(chart, f"A{_ROW + len(frame) + 2}")
            last = get_column_letter(len(page.columns))
            sheet.print_area = f"A1:{last}{_ROW + len(frame) + _CHART_ROWS}"
    return cells.saved(book, cells.Values(), day)


def write_audit(
    tables: Mapping[str, pd.DataFrame], names: tuple[str, str], folder: Path, day: date
) -> list[Path]:
    """Write the workbook into a folder, whole or not at all; return where it is.

    Parameters
    ----------
    tables, day
        See ``audit_book``.
    names
        Name and currency of the shop.
    folder
        Where it will be; made when it is not there.

    Raises
    ------
    KittingError
        When it is there already or cannot be written.
    """
    with staging(folder) as place:
        place.add(f"Audit {day.isoformat()}", ".xlsx", audit_book(tables, *names, day))
        return place.place()


def _fill(sheet: Worksheet, frame: pd.DataFrame, page: _Page, currency: str) -> None:
    """Write a title, the headings in row 3 and the rows."""
    head = cells.cell_at(sheet, 1, 1)
    cells.put_text(head, f"Forgotten parts: {page.title.lower()}")
    head.font = cells.TITLE
    for number, name in enumerate(page.columns, start=1):
        cell = cells.cell_at(sheet, _ROW, number)
        unit = f" {currency}" if name in _CENTS else " %" if name in _SHARES else ""
        cells.put_text(cell, name.replace("_", " ") + unit)
        text = frame[name].dtype == "str" or frame[name].dtype == "bool"
        cells.dress(cell, cells.BOLD, "left" if text else "right", cells.RULE)
        longest = max([len(name) + 4, *(len(str(v)) for v in frame[name].head(200).tolist())])
        wide = min(longest + 1, _WIDEST) if text else 10
        sheet.column_dimensions[get_column_letter(number)].width = wide
    rows = frame[list(page.columns)].itertuples(index=False, name=None)
    for at, row in enumerate(rows, start=_ROW + 1):
        for number, (name, value) in enumerate(zip(page.columns, row, strict=True), start=1):
            _put(sheet, (at, number), name, value)
        widths = (
            sheet.column_dimensions[get_column_letter(n)].width for n in range(1, len(row) + 1)
        )
        lines = max(
            cells.lines_of(v, w) if isinstance(v, str) else 1
            for v, w in zip(row, widths, strict=True)
        )
        sheet.row_dimensions[at].height = cells.LINE_POINTS * lines
    sheet.row_dimensions[_ROW].height = 2 * cells.LINE_POINTS + 3
    sheet.freeze_panes = cells.cell_at(sheet, _ROW + 1, 1)


def _put(sheet: Worksheet, at: tuple[int, int], name: str, value: Any) -> None:
    """Write one cell: text as text, shares in per cent, money with two decimals."""
    cell = cells.cell_at(sheet, *at)
    if isinstance(value, str):
        cells.put_text(cell, value)
    elif isinstance(value, bool):
        cells.put_text(cell, "yes" if value else "no")
    elif hasattr(value, "date"):
        cells.put_day(cell, value.date())
    elif value == value:  # not missing
        if name in _CENTS:
            cells.put_cents(cell, int(value))
        elif name in _SHARES:
            cell.value, cell.number_format = 100 * value, "0.0"
        else:
            cell.value = value
            cell.number_format = "General" if isinstance(value, int) else "0.00"
    cells.dress(cell, cells.PLAIN, "left" if isinstance(value, str | bool) else "right")


def _pareto(sheet: Worksheet, bars: int, title: str) -> BarChart:
    """Return a chart: times forgotten as bars, worst first, and the running share as a line."""
    times, share = (_RANKED.index(name) + 1 for name in ("events", "running"))
    names = Reference(sheet, min_col=1, min_row=_ROW + 1, max_row=_ROW + bars)
    chart = BarChart()
    chart.title = f"{title}: times forgotten, and share so far"
    chart.height, chart.width = 9, 22
    chart.add_data(
        Reference(sheet, min_col=times, min_row=_ROW, max_row=_ROW + bars), titles_from_data=True
    )
    chart.set_categories(names)
    chart.y_axis.title, chart.y_axis.scaling.min = "times", 0
    chart.x_axis.delete = chart.y_axis.delete = False
    line = LineChart()
    line.add_data(
        Reference(sheet, min_col=share, min_row=_ROW, max_row=_ROW + bars), titles_from_data=True
    )
    line.y_axis.axId, line.y_axis.title, line.y_axis.crosses = 200, "% of all", "max"
    line.y_axis.scaling.min, line.y_axis.scaling.max = 0, 100
    line.y_axis.delete, line.y_axis.majorGridlines = False, None
    chart += line
    return chart


def _line(sheet: Worksheet, builds: int) -> LineChart:
    """Return a chart of forgotten parts build by build, with the mean of the last five."""
    chart = LineChart()
    chart.title = "Forgotten parts, build by build"
    chart.height, chart.width = 9, 22
    for name in ("events", "recent"):
        column = _TREND.index(name) + 1
        data = Reference(sheet, min_col=column, min_row=_ROW, max_row=_ROW + builds)
        chart.add_data(data, titles_from_data=True)
    chart.set_categories(Reference(sheet, min_col=2, min_row=_ROW + 1, max_row=_ROW + builds))
    chart.y_axis.title, chart.y_axis.scaling.min = "parts", 0
    chart.x_axis.delete = chart.y_axis.delete = False
    return chart

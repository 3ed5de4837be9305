"""The workbook for ourselves: every order of one go, every line, and why that supplier."""

from __future__ import annotations

from typing import TYPE_CHECKING

from openpyxl import Workbook
from openpyxl.utils import get_column_letter

from kitting.outputs import cells
from kitting.outputs.text import plural
from kitting.terms.money import show_cents
from kitting.terms.units import counted

if TYPE_CHECKING:
    from collections.abc import Sequence

    from openpyxl.worksheet.worksheet import Worksheet

    from kitting.outputs.order_book import Sender
    from kitting.outputs.order_lines import Order, OrderLine

ORDER_COLUMNS = (
    ("Order", 12), ("Supplier", 28), ("Lines", 7), ("Goods", 12), ("Freight", 10),
    ("Hazard", 9), ("Deposits", 10), ("Total", 12), ("Money", 9), ("Needed by", 11),
    ("Last arrives", 12), ("Look at", 28),
)  # fmt: skip
LINE_COLUMNS = (
    ("Order", 11), ("Line", 5), ("Supplier", 16), ("Part", 16), ("Description", 28),
    ("Quantity", 12), ("Amount", 11), ("Money", 9), ("For", 10), ("Needed by", 11),
    ("Arrives", 11), ("In time", 8), ("Why", 38),
)  # fmt: skip
_HEADING = 3
_GOODS, _TOTAL, _MONEY = 4, 8, 9
_NEEDED, _ARRIVES, _LOOK = 10, 11, 12
_RIGHT = {"Lines", "Goods", "Freight", "Hazard", "Deposits", "Total", "Quantity", "Amount"}


def summary_book(orders: Sequence[Order], sender: Sender) -> bytes:
    """Return the workbook that sums the orders up.

    Parameters
    ----------
    orders
        At least one.
    sender
        Who orders.
    """
    book, values = Workbook(), cells.Values()
    sheet = book.active
    assert sheet is not None
    sheet.title = "Orders"
    title = f"Orders, {sender.name}" if sender.name else "Orders"
    _begin(sheet, title, ORDER_COLUMNS)
    for row, order in enumerate(orders, start=_HEADING + 1):
        _order_row(sheet, row, order, values)
    _sums(sheet, orders, values)
    cells.set_up_page(sheet, _HEADING, title, sender.paper)
    detail = book.create_sheet("Lines")
    _begin(detail, title, LINE_COLUMNS)
    rows = [(order, line) for order in orders for line in order.lines]
    for row, (order, line) in enumerate(rows, start=_HEADING + 1):
        _line_row(detail, row, order, line)
    cells.set_up_page(detail, _HEADING, title, sender.paper)
    return cells.saved(book, values, max((o.ordered for o in orders if o.ordered), default=None))


def _begin(sheet: Worksheet, title: str, columns: tuple[tuple[str, int], ...]) -> None:
    """Write title and headings and set the widths."""
    cells.put_text(cells.cell_at(sheet, 1, 1), title)
    cells.cell_at(sheet, 1, 1).font = cells.TITLE
    sheet.row_dimensions[1].height = 24
    for number, (heading, width) in enumerate(columns, start=1):
        cell = cells.cell_at(sheet, _HEADING, number)
        cells.put_text(cell, heading)
        side = "right" if heading in _RIGHT else "indent" if heading == "Money" else "left"
        cells.dress(cell, cells.BOLD, side, cells.RULE)
        sheet.column_dimensions[get_column_letter(number)].width = width
    sheet.freeze_panes = cells.cell_at(sheet, _HEADING + 1, 1)


def _order_row(sheet: Worksheet, row: int, order: Order, values: cells.Values) -> None:
    """Write one order."""
    cells.put_text(cells.cell_at(sheet, row, 1), order.number)
    cells.put_text(cells.cell_at(sheet, row, 2), order.name)
    cells.cell_at(sheet, row, 3).value = len(order.lines)
    money = (order.goods, order.freight, order.hazard_charge, order.deposits)
    for place, cents in enumerate(money):
        cells.put_cents(cells.cell_at(sheet, row, _GOODS + place), cents)
    first, last = get_column_letter(_GOODS), get_column_letter(_TOTAL - 1)
    values.cents(
        cells.cell_at(sheet, row, _TOTAL), f"ROUND(SUM({first}{row}:{last}{row}),2)", order.total
    )
    cells.put_text(cells.cell_at(sheet, row, _MONEY), order.currency)
    needed = order.first_needed
    if needed is not None and needed.needed is not None:
        cells.put_day(cells.cell_at(sheet, row, _NEEDED), needed.needed)
    arrives = [line.arrives for line in order.lines if line.arrives]
    if arrives:
        cells.put_day(cells.cell_at(sheet, row, _ARRIVES), max(arrives))
    look = _look(order)
    cells.put_text(cells.cell_at(sheet, row, _LOOK), look)
    for number in range(1, len(ORDER_COLUMNS) + 1):
        side = "right" if 3 <= number <= _TOTAL else "indent" if number == _MONEY else "left"
        cells.dress(cells.cell_at(sheet, row, number), cells.PLAIN, side, cells.HAIR)
    high = max(cells.lines_of(look, 28), cells.lines_of(order.name, 28))
    sheet.row_dimensions[row].height = high * cells.LINE_POINTS + 3


def _look(order: Order) -> str:
    """Say what a person should look at before sending an order."""
    late = sum(line.in_time is False for line in order.lines)
    unpriced = sum(line.amount is None for line in order.lines)
    said = []
    if late:
        said.append(f"{late} of {plural(len(order.lines), 'line comes', 'lines come')} late")
    if order.goods < order.least_order:
        said.append(f"below the least order of {show_cents(order.least_order, order.currency)}")
    if unpriced:
        said.append(f"{plural(unpriced, 'line', 'lines')} without a price")
    if order.hazardous:
        said.append("hazardous lines, ground only")
    return "; ".join(said)


def _sums(sheet: Worksheet, orders: Sequence[Order], values: cells.Values) -> None:
    """Write the total of each currency below the orders."""
    first, last = _HEADING + 1, _HEADING + len(orders)
    money, total = get_column_letter(_MONEY), get_column_letter(_TOTAL)
    for row, currency in enumerate(sorted({o.currency for o in orders}), start=last + 1):
        cells.put_text(cells.cell_at(sheet, row, 2), "Total")
        cells.put_text(cells.cell_at(sheet, row, _MONEY), currency)
        formula = (
            f"ROUND(SUMIF({money}{first}:{money}{last},{money}{row},"
            f"{total}{first}:{total}{last}),2)"
        )
        cents = sum(o.total for o in orders if o.currency == currency)
        values.cents(cells.cell_at(sheet, row, _TOTAL), formula, cents)
        for number in (2, _TOTAL, _MONEY):
            side = {2: "left", _TOTAL: "right", _MONEY: "indent"}[number]
            cells.dress(cells.cell_at(sheet, row, number), cells.BOLD, side)


def _line_row(sheet: Worksheet, row: int, order: Order, line: OrderLine) -> None:
    """Write one line of an order with what we know of it."""
    in_time = {True: "yes", False: "late", None: ""}[line.in_time]
    texts = {
        1: order.number, 3: order.supplier, 4: line.part, 5: line.name,
        6: counted(line.quantity, line.unit), 8: order.currency, 9: line.build, 12: in_time,
        13: line.why,
    }  # fmt: skip
    for number, text in texts.items():
        cells.put_text(cells.cell_at(sheet, row, number), text)
    cells.cell_at(sheet, row, 2).value = line.line
    if line.amount is not None:
        cells.put_cents(cells.cell_at(sheet, row, 7), line.amount)
    for number, day in ((10, line.needed), (11, line.arrives)):
        if day is not None:
            cells.put_day(cells.cell_at(sheet, row, number), day)
    high = 1
    for number, (_, width) in enumerate(LINE_COLUMNS, start=1):
        side = "right" if number in {6, 7} else "indent" if number == 8 else "left"
        cells.dress(cells.cell_at(sheet, row, number), cells.PLAIN, side, cells.HAIR)
        high = max(high, cells.lines_of(texts.get(number, ""), width))
    sheet.row_dimensions[row].height = high * cells.LINE_POINTS + 3

"""The workbook of one order, laid out for a supplier to read and print."""

from __future__ import annotations

from dataclasses import dataclass
from math import gcd
from typing import TYPE_CHECKING

from openpyxl import Workbook
from openpyxl.utils import get_column_letter

from kitting.outputs import cells
from kitting.outputs.order_lines import GROUND_ONLY, Order, OrderLine, Price
from kitting.terms.units import counted, show

if TYPE_CHECKING:
    from collections.abc import Callable

    from openpyxl.cell import Cell
    from openpyxl.styles import Font
    from openpyxl.worksheet.worksheet import Worksheet

    from kitting.tables.shop import Shop

CONFIRM = (
    "Please confirm prices and delivery days. If a number is superseded, a line is dearer than "
    "written, or something will be later than needed, tell us before you send it."
)
UNPRICED = "Lines without a price are not in the total; please quote them."
NO_AIR = f"{GROUND_ONLY}: hazardous goods. Send by road or rail, never by air."


@dataclass(frozen=True, slots=True)
class Sender:
    """Who orders.

    Parameters
    ----------
    name, address, contact
        The shop, where it is, and whom to ask.
    ship_to
        Where the goods go.
    paper
        ``A4`` or ``Letter``.
    """

    name: str
    address: str
    contact: str
    ship_to: str
    paper: str


def sender_of(shop: Shop) -> Sender:
    """Return who orders, by the settings of the sheet ``shop``."""
    address = shop.setting("address")
    return Sender(
        name=shop.setting("name"),
        address=address,
        contact=shop.setting("contact"),
        ship_to=shop.setting("ship_to") or address,
        paper=shop.setting("paper"),
    )


@dataclass(frozen=True, slots=True)
class Field:
    """A column of the lines: heading, side, least and greatest width [digits], text of a line."""

    heading: str
    across: str
    least: int
    most: int
    text: Callable[[OrderLine], str]


FIELDS: tuple[Field, ...] = (
    Field("Line", "left", 5, 5, lambda x: str(x.line)),
    Field("Your number", "left", 14, 18, lambda x: x.supplier_part),
    Field("Our number", "left", 13, 16, lambda x: x.part),
    Field("Description", "left", 22, 32, lambda x: x.name),
    Field("Packs", "right", 7, 8, lambda x: str(x.price.packs) if x.price else ""),
    Field("Pack of", "right", 9, 12, lambda x: _pack(x)),
    Field("Quantity", "right", 10, 13, lambda x: counted(x.quantity, x.unit)),
    Field("Price", "right", 10, 13, lambda x: _money(x.price.cents if x.price else None)),
    Field("per", "indent", 8, 12, lambda x: _per(x)),
    Field("Amount", "right", 12, 14, lambda x: _money(x.amount)),
    Field("Needed by", "indent", 12, 12, lambda x: x.needed_by),
    Field("Notes", "indent", 13, 24, lambda x: x.printed_notes),
)
PACKS, PRICE, AMOUNT = 5, 8, 10
_DESCRIPTION = 4


def order_book(order: Order, sender: Sender) -> bytes:
    """Return the workbook of an order.

    Parameters
    ----------
    order
        The order.
    sender
        Who orders.
    """
    book, values = Workbook(), cells.Values()
    sheet = book.active
    assert sheet is not None
    sheet.title = "Order"
    fields = FIELDS if any(line.printed_notes for line in order.lines) else FIELDS[:-1]
    for number, field in enumerate(fields, start=1):
        longest = max(cells.breadth(field.text(line)) for line in order.lines)
        width = min(max(longest + 2, field.least), field.most)
        sheet.column_dimensions[get_column_letter(number)].width = width
    heading = _head(sheet, order, sender, len(fields)) + 2
    for number, field in enumerate(fields, start=1):
        cell = cells.cell_at(sheet, heading, number)
        title = f"{field.heading} {order.currency}" if number in {PRICE, AMOUNT} else field.heading
        cells.put_text(cell, title)
        cells.dress(cell, cells.BOLD, field.across, cells.RULE)
    sheet.row_dimensions[heading].height = cells.LINE_POINTS + 3
    for row, line in enumerate(order.lines, start=heading + 1):
        _line(sheet, row, line, fields, values)
    total = _foot(sheet, order, heading, len(fields), values)
    # Said at the head too: on a long order the foot may stand alone on its last page.
    values.cents(cells.cell_at(sheet, heading - 2, _DESCRIPTION + 3), total, order.total)
    sheet.freeze_panes = cells.cell_at(sheet, heading + 1, 1)
    cells.set_up_page(sheet, heading, f"Order {order.number}, {sender.name}", sender.paper)
    return cells.saved(book, values, order.ordered)


def _head(sheet: Worksheet, order: Order, sender: Sender, last: int) -> int:
    """Write who orders from whom at the left, what to quote at the right; return the last row."""
    left = [
        (sender.name, cells.TITLE),
        (sender.address, cells.PLAIN),
        (sender.contact, cells.PLAIN),
        ("", cells.PLAIN),
        ("To", cells.SMALL),
        (order.name, cells.BOLD),
        (order.address, cells.PLAIN),
    ]
    needed = order.first_needed
    right = [
        ("Order\nOur reference", order.number, cells.TITLE),
        ("Date", str(order.ordered or ""), cells.PLAIN),
        ("Our account with you", order.account, cells.PLAIN),
        ("Needed by", needed.needed_by if needed else "", cells.BOLD),
        ("Ship to", sender.ship_to, cells.PLAIN),
        ("Lines", str(len(order.lines)), cells.PLAIN),
        (f"Total {order.currency}", " ", cells.BOLD),
    ]
    told = [(label, value, font) for label, value, font in right if value]
    # Both sides end in the same row, the right one with the total.
    rows = max(len(left), len(told))
    told = [*told[:-1], *[("", "", cells.PLAIN)] * (rows - len(told)), told[-1]]
    for row in range(1, rows + 1):
        high = cells.LINE_POINTS
        if row <= len(left):
            high = max(high, _across(sheet, row, (1, _DESCRIPTION), *left[row - 1]))
        label, value, font = told[row - 1]
        middle = _DESCRIPTION + 2
        high = max(high, _across(sheet, row, (_DESCRIPTION + 1, middle), label, cells.SMALL))
        high = max(high, _across(sheet, row, (middle + 1, last), value, font))
        sheet.row_dimensions[row].height = high
    return rows


def _across(sheet: Worksheet, row: int, columns: tuple[int, int], text: str, font: Font) -> float:
    """Write text over some columns and return the height that it takes [points]."""
    first, last = columns
    sheet.merge_cells(start_row=row, start_column=first, end_row=row, end_column=last)
    cell = cells.cell_at(sheet, row, first)
    cells.put_text(cell, text)
    cells.dress(cell, font)
    width = sum(sheet.column_dimensions[get_column_letter(i)].width for i in range(first, last + 1))
    scale = (font.size or 10) / 10
    return cells.lines_of(text, width / scale) * cells.LINE_POINTS * scale


def _line(
    sheet: Worksheet, row: int, line: OrderLine, fields: tuple[Field, ...], values: cells.Values
) -> None:
    """Write one line and make it high enough."""
    high = 1
    for number, field in enumerate(fields, start=1):
        cell = cells.cell_at(sheet, row, number)
        text = field.text(line)
        _value(cell, line, field.heading, text, values)
        cells.dress(cell, cells.PLAIN, field.across, cells.HAIR)
        width = sheet.column_dimensions[get_column_letter(number)].width
        high = max(high, cells.lines_of(text, width))
    sheet.row_dimensions[row].height = high * cells.LINE_POINTS + 3


def _value(cell: Cell, line: OrderLine, heading: str, text: str, values: cells.Values) -> None:
    """Put what a cell of a line holds: numbers as numbers, the rest as text."""
    if heading == "Line":
        cell.value = line.line
    elif heading == "Packs" and line.price is not None:
        cell.value = line.price.packs
    elif heading == "Price" and line.price is not None:
        cells.put_cents(cell, line.price.cents)
    elif heading == "Amount" and line.price is not None:
        values.cents(cell, _formula(cell.row, line.price), line.price.amount)
    elif heading == "Amount" and line.amount is not None:
        cells.put_cents(cell, line.amount)
    elif heading == "Needed by" and line.needed is not None and not line.at_once:
        cells.put_day(cell, line.needed)
    elif heading == "Quantity":
        number = show(line.quantity, line.unit)
        cell.value = float(number) if "." in number else int(number)
        cell.number_format = f'General"{text.removeprefix(number)}"'
    else:
        cells.put_text(cell, text)


def _formula(row: int, price: Price) -> str:
    """Return packs times price as a formula that gives exact cents.

    Where the price is not for a pack, the cents are whole before anything is divided, so that a
    half cent is a half cent in floating point too and is rounded up as money is everywhere.
    """
    packs, cents = f"{get_column_letter(PACKS)}{row}", f"{get_column_letter(PRICE)}{row}"
    if price.pack == price.per:
        return f"ROUND({packs}*{cents},2)"
    common = gcd(price.pack, price.per)
    times, over = price.pack // common, price.per // common
    return f"ROUND(ROUND({cents}*100,0)*{packs}*{times}/{over},0)/100"


def _foot(sheet: Worksheet, order: Order, heading: int, last: int, values: cells.Values) -> str:
    """Write the totals below the lines and what we ask for; return the cell of the total."""
    first, row = heading + 1, heading + len(order.lines) + 1
    letter = get_column_letter(AMOUNT)
    rows = [("Goods", order.goods), ("Freight", order.freight)]
    if order.hazardous:
        rows.append(("Hazard charge", order.hazard_charge))
    if order.deposits:
        rows.append(("Deposits on old parts", order.deposits))
    for place, (label, cents) in enumerate(rows):
        cell = cells.cell_at(sheet, row + place, AMOUNT)
        if place == 0:
            values.cents(cell, f"ROUND(SUM({letter}{first}:{letter}{row - 1}),2)", cents)
        else:
            cells.put_cents(cell, cents)
        cells.dress(cell, cells.PLAIN, "right")
        _label(sheet, row + place, label, cells.PLAIN)
    total = row + len(rows)
    cell = cells.cell_at(sheet, total, AMOUNT)
    values.cents(cell, f"ROUND(SUM({letter}{row}:{letter}{total - 1}),2)", order.total)
    cells.dress(cell, cells.BOLD, "right", cells.TOP)
    _label(sheet, total, f"Total {order.currency}", cells.BOLD)
    asks = [NO_AIR, CONFIRM] if order.hazardous else [CONFIRM]
    if any(line.amount is None for line in order.lines):
        asks.insert(0, UNPRICED)
    for place, text in enumerate(asks, start=total + 2):
        font = cells.BOLD if text is NO_AIR else cells.PLAIN
        sheet.row_dimensions[place].height = _across(sheet, place, (1, last), text, font) + 3
    return f"{letter}{total}"


def _label(sheet: Worksheet, row: int, text: str, font: Font) -> None:
    """Write what an amount is, to the left of it."""
    sheet.merge_cells(start_row=row, start_column=AMOUNT - 3, end_row=row, end_column=AMOUNT - 1)
    cell = cells.cell_at(sheet, row, AMOUNT - 3)
    cells.put_text(cell, text)
    cells.dress(cell, font, "right")


def _pack(line: OrderLine) -> str:
    return counted(line.price.pack, line.unit) if line.price else ""


def _per(line: OrderLine) -> str:
    """Say what a price is for: the pack, or a quantity."""
    if line.price is None:
        return ""
    text = counted(line.price.per, line.unit)
    one = text.removeprefix("1 ")
    return "pack" if line.price.per == line.price.pack and one == text else one


def _money(cents: int | None) -> str:
    return "" if cents is None else f"{cents / 100:,.2f}"

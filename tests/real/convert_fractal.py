"""Sheets from the bill of the Fractal 5 Pro, a workbook with one matrix of parts x sub-assemblies.

fractalrobotics/Fractal-5-Pro, commit d49f96f, ``BOM/BOM.xlsx``, GPL-3.0. What the converter does:

- A part is a row, numbered by its row: ``F002`` to ``F202`` (F202 is the filament). Names repeat,
  and most rows have no number of their own.
- A sub-assembly is a column, an assembly with one stage; the machine builds the ten in.
- Quantities are pieces, except where the row says metres, inches, feet or rolls. A quarter of a
  roll is counted as one piece of a part ``quarter roll``, four to the roll, since nothing says how
  long a roll is. The filament is grams.
- Nine totals are typed over the sum. Where such a row has a cell in the matrix (one tube, one
  shaft, one straight edge), that cell counts pieces and the typed total is the length to buy: the
  line asks for the length. Rows with a typed total and no cell are stock that the shop cuts up; the
  machine asks for them in a stage of its own.
- Suppliers that differ only by case are one. Rows without a supplier are printed or machined in
  the shop: parts that nobody sells.
- Lead times, days of work and the start of the build are not in the bill; they are ours.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING

import openpyxl
from real.folder import START

from kitting.terms.units import to_base, unit

if TYPE_CHECKING:
    from pathlib import Path

    from openpyxl.cell.cell import Cell
    from real.folder import Row, Sheets

MACHINE = "Fractal 5 Pro"
FIRST, LAST, FILAMENT = 2, 201, 202
LEAD_DAYS = 5
_MEASURED = re.compile(
    r"(?:quantity in|qty|qty measured in #|\bor 2) (meters|feet|inches|rolls)\b", re.IGNORECASE
)
_UNITS = {"meters": "m", "feet": "ft", "inches": "in", "rolls": "quarter roll"}


@dataclass(frozen=True)
class Ask:
    """One cell of the matrix, or one typed total.

    Parameters
    ----------
    assembly
        The sub-assembly, or the machine for stock that is cut up.
    part
        The row's part.
    written
        The number in the matrix; 0 for stock that no sub-assembly names.
    quantity, unit
        What the line asks for.
    """

    assembly: str
    part: str
    written: Fraction
    quantity: Fraction
    unit: str

    @property
    def base(self) -> int:
        """What the line asks for, in base units."""
        return to_base(self.quantity, unit(self.unit))


@dataclass(frozen=True)
class Bill:
    """What the workbook says.

    Parameters
    ----------
    asks
        Every quantity, row by row.
    parts
        Name, family and unit of each part.
    offers
        Rows of the sheet offers.
    whole_packs, by_share
        What each part with a supplier costs, in whole packs and by the share of a pack that is
        used, as the workbook itself has worked it out [dollars].
    totals
        The sums of both in the workbook's last row [dollars].
    """

    asks: tuple[Ask, ...]
    parts: dict[str, Row]
    offers: tuple[Row, ...]
    whole_packs: dict[str, float]
    by_share: dict[str, float]
    totals: tuple[float, float]


def read_bill(folder: Path) -> Bill:
    """Read the workbook."""
    book = openpyxl.load_workbook(folder / "BOM.xlsx")
    sheet = book.worksheets[0]
    cached = openpyxl.load_workbook(folder / "BOM.xlsx", data_only=True).worksheets[0]
    columns = {letter: str(sheet[f"{letter}1"].value) for letter in "BCDEFGHIJK"}
    asks: list[Ask] = []
    parts: dict[str, Row] = {}
    offers: list[Row] = []
    spelling: dict[str, str] = {}
    for number in range(FIRST, FILAMENT + 1):
        row = {letter: sheet[f"{letter}{number}"] for letter in "ABCDEFGHIJKLMNOPQR"}
        part = f"F{number:03d}"
        of = _unit(row)
        parts[part] = _part(part, row, of)
        cells = {columns[c]: _number(row[c]) for c in columns if row[c].value is not None}
        asks += _asks(part, cells, _typed(row["N"]), of)
        if row["O"].value is not None:
            supplier = spelling.setdefault(row["O"].value.casefold(), row["O"].value)
            offers.append(_offer(part, supplier, row, of))
    worked_out = [
        {str(o["part"]): cached[f"{letter}{int(str(o['part'])[1:])}"].value for o in offers}
        for letter in "TU"
    ]
    totals = cached["T204"].value, cached["U204"].value
    return Bill(tuple(asks), parts, tuple(offers), *worked_out, totals)


def _number(cell: Cell) -> Fraction:
    return Fraction(str(cell.value))


def _typed(cell: Cell) -> Fraction | None:
    """Return a total that was typed in place of the sum."""
    return None if isinstance(cell.value, str) else _number(cell)


def _unit(row: dict[str, Cell]) -> str:
    if row["A"].row == FILAMENT:
        return "g"
    found = _MEASURED.search(str(row["M"].value or ""))
    return _UNITS[found[1].casefold()] if found else "piece"


def _part(part: str, row: dict[str, Cell], of: str) -> Row:
    name = ", ".join(str(row[c].value) for c in "LM" if row[c].value not in (None, "-"))
    quarter = of == "quarter roll"
    return {
        "part": part,
        "name": f"{name}, quarter roll" if quarter else name,
        "family": row["A"].value,
        "unit": "piece" if quarter else of,
    }


def _asks(part: str, cells: dict[str, Fraction], typed: Fraction | None, of: str) -> list[Ask]:
    if typed is not None:
        assembly, written = next(iter(cells.items()), (MACHINE, Fraction(0)))
        assert len(cells) <= 1, part
        return [Ask(assembly, part, written, typed, of)]
    times, of = (4, "piece") if of == "quarter roll" else (1, of)
    return [Ask(assembly, part, n, times * n, of) for assembly, n in cells.items()]


def _offer(part: str, supplier: str, row: dict[str, Cell], of: str) -> Row:
    pack = _number(row["Q"]) * (4 if of == "quarter roll" else 1)
    number, link = row["P"].value, row["P"].hyperlink
    return {
        "supplier": supplier,
        "part": part,
        "supplier_part": "" if number == "Link" else number,
        "pack": f"{float(pack):g}",
        "unit": "piece" if of == "quarter roll" else of,
        "price": f"{row['R'].value:.2f}",
        "lead_days": LEAD_DAYS,
        "note": link.target if link else "",
    }


def sheets(bill: Bill, builds: int = 1, *, made: bool = False) -> Sheets:
    """Write the bill as sheets of a shop with some builds of the machine on order.

    Parameters
    ----------
    builds
        How many machines, all on one day.
    made
        What nobody sells lies on the shelf, as much as the builds need.
    """
    inside = list(dict.fromkeys(a.assembly for a in bill.asks if a.assembly != MACHINE))
    sold = {o["part"] for o in bill.offers}
    out: Sheets = {
        "parts": list(bill.parts.values()),
        "stages": [
            {"assembly": MACHINE, "stage": "cut", "name": "cut stock for machined parts"},
            {"assembly": MACHINE, "stage": "join", "name": "join the sub-assemblies",
             "after": "cut"},
            *({"assembly": a, "stage": "build", "name": a} for a in inside),
        ],
        "lines": [
            *({"assembly": MACHINE, "stage": "join", "part": a, "quantity": 1} for a in inside),
            *({"assembly": a.assembly, "stage": "cut" if a.assembly == MACHINE else "build",
               "part": a.part, "quantity": f"{float(a.quantity):g}", "unit": a.unit,
               "source": f"row {int(a.part[1:])}"} for a in bill.asks),
        ],
        "suppliers": [
            {"supplier": s, "name": s, "currency": "USD", "calendar": "every weekday"}
            for s in dict.fromkeys(o["supplier"] for o in bill.offers)
        ],
        "offers": list(bill.offers),
        "builds": [
            {"build": f"F5P-{n}", "assembly": MACHINE, "start": START}
            for n in range(1, builds + 1)
        ],
        "shop": [{"setting": "currency", "value": "USD"}],
    }  # fmt: skip
    if made:
        rest = [a for a in bill.asks if a.part not in sold]
        need: dict[str, Fraction] = {}
        for a in rest:
            need[a.part] = need.get(a.part, Fraction(0)) + a.quantity * builds
        out["stock"] = [{"part": p, "place": "made here", "quantity": q} for p, q in need.items()]
    return out

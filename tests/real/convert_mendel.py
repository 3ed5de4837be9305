"""Sheets from the bill of the Mendel90, one text file per sub-assembly and one flat matrix.

nophead/Mendel90, commit 20b6455, ``dibond/bom/**``; licence stated per part in its README, no
licence file. What the converter does:

- A file is an assembly with one stage; ``Sub-assemblies`` are lines whose part is an assembly.
- Parts have no numbers: the name is the number. Printed parts end in ``.stl``.
- ``z_motor_assembly.txt`` is headed ``z_motor_assemblies`` and lists both motors, while its parent
  asks for two. A file whose heading is a plural is taken to list all that the parent asks for, so
  it is built in once.
- The files in ``accessories`` have no parent. Each is an option of the machine, off unless chosen.
- Suppliers, prices, days of work and the start of the build are not in the bill; they are ours.
"""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import dataclass
from typing import TYPE_CHECKING

from real.folder import START

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

    from real.folder import Row, Sheets

MACHINE = "machine_assembly"
SECTIONS = ("Vitamins", "Printed", "Sub-assemblies")
_LINE = re.compile(r" *(\d+) (\S.*)")
_CELLS = re.compile(r"((?:[ \d]{2}\|)+) *(\d+) (\S.*)")


@dataclass(frozen=True)
class Page:
    """One file.

    Parameters
    ----------
    heading
        Its first line.
    bought, printed, inside
        Pieces by name: bought parts, printed parts, sub-assemblies.
    """

    heading: str
    bought: Counter[str]
    printed: Counter[str]
    inside: Counter[str]

    @property
    def lists_all(self) -> bool:
        """Tell whether the file lists all alike sub-assemblies together."""
        return self.heading.endswith("assemblies")


def read_pages(folder: Path) -> dict[str, Page]:
    """Read the file of each assembly, by its heading."""
    pages = [_page(p) for p in sorted(folder.glob("*_assembly.txt"))]
    return {page.heading: page for page in pages}


def _page(path: Path) -> Page:
    first, *rest = path.read_text(encoding="utf-8").splitlines()
    sections: dict[str, Counter[str]] = {name: Counter() for name in SECTIONS}
    section = ""
    for line in rest:
        if line.rstrip(":") in sections:
            section = line.rstrip(":")
        elif found := _LINE.fullmatch(line):
            sections[section][found[2]] += int(found[1])
        else:
            assert not line.strip(), f"{path.name}: {line}"
    return Page(first.rstrip(":"), *sections.values())


@dataclass(frozen=True)
class Matrix:
    """The flat matrix of ``bom.txt``.

    Parameters
    ----------
    bought, printed
        Totals by name.
    cells
        Pieces by column heading (written downwards in the file) and name.
    """

    bought: Counter[str]
    printed: Counter[str]
    cells: Counter[tuple[str, str]]


def read_matrix(folder: Path) -> Matrix:
    """Read the flat matrix."""
    lines = (folder / "bom.txt").read_text(encoding="utf-8").splitlines()
    totals: dict[str, Counter[str]] = {name: Counter() for name in SECTIONS}
    heads: list[str] = []
    cells: Counter[tuple[str, str]] = Counter()
    section = ""
    for line in lines:
        found = _CELLS.fullmatch(line)
        if line.rstrip(":") in totals:
            section = line.rstrip(":")
        elif found is None and section == SECTIONS[0]:
            heads.append(line)
        elif found is not None:
            totals[section][found[3]] += int(found[2])
            for i, cell in enumerate(found[1].split("|")):
                if cell.strip():
                    cells[_heading(heads, i), found[3]] += int(cell)
    return Matrix(totals["Vitamins"], totals["Printed"], cells)


def _heading(lines: list[str], column: int) -> str:
    """Read one heading downwards."""
    place = 3 * column + 1
    return "".join(line.ljust(place + 1)[place] for line in lines).strip()


def sheets(
    folder: Path,
    options: str = "",
    stock: Mapping[str, int] | None = None,
    *,
    believe_parents: bool = False,
) -> Sheets:
    """Write the bill as sheets of a shop with one machine on order.

    Parameters
    ----------
    options
        Choices of the build, such as ``light_strip=fitted``.
    stock
        Pieces on the shelf by name.
    believe_parents
        Fall into the trap: multiply what a file lists for all by what the parent asks for.
    """
    pages = read_pages(folder)
    extra = read_pages(folder / "accessories")
    lines: list[Row] = []
    for name, page in (pages | extra).items():
        asked = page.bought + page.printed
        lines += [_line(name, part, n) for part, n in asked.items()]
        for child, n in page.inside.items():
            once = pages[child].lists_all and not believe_parents
            lines.append(_line(name, child, 1 if once else n))
    lines += [_line(MACHINE, name, 1, f"{_option(name)}=fitted") for name in extra]
    everything = pages | extra
    bought = dict.fromkeys(p for page in everything.values() for p in page.bought)
    printed = dict.fromkeys(p for page in everything.values() for p in page.printed)
    shop: Sheets = {
        "parts": [
            *({"part": p, "name": p, "family": "bought"} for p in bought),
            *({"part": p, "name": p, "family": "printed"} for p in printed),
        ],
        "stages": [{"assembly": name, "stage": "build", "name": name} for name in everything],
        "lines": lines,
        "options": [
            {"assembly": MACHINE, "option": _option(name), "choices": "none; fitted",
             "default": "none"}
            for name in extra
        ],
        "builds": [
            {"build": "M90", "assembly": MACHINE, "start": START, "options": options}
        ],
    }  # fmt: skip
    if stock is not None:
        shop["stock"] = [{"part": p, "place": "shelf", "quantity": n} for p, n in stock.items()]
    return shop


def with_sellers(shop: Sheets) -> Sheets:
    """Add two invented suppliers: one sells what is bought, the other prints, a cent a piece."""
    sells = {"bought": "counter", "printed": "print room"}
    names = {"name": "", "currency": "EUR", "calendar": "every weekday"}
    return {
        **shop,
        "suppliers": [{**names, "supplier": s, "name": s} for s in sells.values()],
        "offers": [
            {"supplier": sells[str(row["family"])], "part": row["part"], "price": "0.01",
             "lead_days": 3}
            for row in shop["parts"]
        ],
    }  # fmt: skip


def _option(name: str) -> str:
    return name.removesuffix("_assembly")


def _line(assembly: str, part: str, quantity: int, when: str = "") -> Row:
    return {
        "assembly": assembly, "stage": "build", "part": part, "quantity": quantity, "when": when,
    }  # fmt: skip

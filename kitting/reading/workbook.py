"""From an xlsx or ods workbook to grids of cells.

Values come from the calamine library. It drops what would otherwise be read as blank without a
word (errors, formulas whose result was never stored) and trusts the far corner of a sheet, so the
sheets' XML is looked through first.
"""

from __future__ import annotations

import io
import re
import zipfile
from typing import TYPE_CHECKING
from xml.etree import ElementTree

from kitting.reading.doors import heading_key, sheet_called
from kitting.reading.files import too_big
from kitting.reading.grids import Grid, Limits, Spoiled, tidy
from kitting.terms.findings import Finding
from kitting.terms.words import Level

if TYPE_CHECKING:
    from pathlib import Path

    from kitting.reading.grids import Cell

LISTS = "lists"
"""Hidden tab of the template that holds its drop-down lists."""

_READ = (".xml", ".rels")
_REFERENCE = re.compile(r"([A-Z]{1,4})([0-9]{1,8})")
_FAR = re.compile(rb"""\br=["']([A-Z]{2,}[0-9]+|[A-Z]+[0-9]{6,})["']""")
_ROW = re.compile(rb"""<(?:\w+:)?row\b[^>]*?\br=["']([0-9]+)["']""")
_ERROR = re.compile(rb"""<c\b(?=[^>]*\bt=["']e["'])[^>]*?\br=["']([A-Z]+[0-9]+)["']""")
_FORMULA = re.compile(
    rb"""<c\b(?![^>]*\bt=["']str["'])[^>]*?\br=["']([A-Z]+[0-9]+)["'][^>]*>\s*"""
    rb"""<f\b(?:[^>]*/>|[^>]*>[^<]*</f>)\s*(?:<v\s*/>|<v>\s*</v>)?\s*</c>"""
)
_ODS_ERROR = re.compile(rb"<text:p>(#[A-Z/0!?]+|Err:[0-9]+)</text:p>")


class _Refused(Exception):
    """The workbook is not read; the message says why."""


def read_workbook(path: Path, limits: Limits) -> tuple[list[Grid], list[Finding]]:
    """Read every sheet of a workbook that has a known name; others are told of.

    Parameters
    ----------
    path
        An xlsx, xlsm or ods file.
    limits
        What is refused as too big.
    """
    try:
        size = path.stat().st_size
        if size > limits.file_bytes:
            raise _Refused(too_big(path.name, size, limits))
        data = path.read_bytes()
        spoiled, found = _look_through(data, limits)
        grids = _values(data, limits, spoiled)
    except _Refused as refused:
        return [], [Finding(Level.STOP, f"{path.name}: {refused}")]
    except OSError as fault:
        reason = (fault.strerror or str(fault)).lower()
        return [], [Finding(Level.STOP, f"{path.name} cannot be opened: {reason}")]
    return grids, found


def _look_through(
    data: bytes, limits: Limits
) -> tuple[dict[str, dict[tuple[int, int], Spoiled]], list[Finding]]:
    """Check sizes before anything is unpacked at large; find the cells without a value."""
    if data.startswith(b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"):
        raise _Refused("it is an old or a password-protected workbook; save it as plain xlsx")
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as packed:
            _check_sizes(packed, len(data), limits)
            members = set(packed.namelist())
            if "xl/workbook.xml" in members:
                return _look_through_sheets(packed, members, limits), []
            if "content.xml" not in members:
                raise _Refused("it is no xlsx or ods workbook; save it as xlsx")
            errors = _ODS_ERROR.findall(packed.read("content.xml"))
    except _Refused:
        raise
    except Exception as fault:  # whatever a broken archive makes the unpackers raise
        raise _Refused(f"the file is damaged ({fault}); save it again as xlsx") from fault
    message = f"{len(errors)} cells hold a formula's error; put them right"
    return {}, [Finding(Level.STOP, message)] if errors else []


def _look_through_sheets(
    packed: zipfile.ZipFile, members: set[str], limits: Limits
) -> dict[str, dict[tuple[int, int], Spoiled]]:
    """Look through the sheets that will be read, and through any that no name leads to."""
    names = {member: name for name, member in _sheet_members(packed).items()}
    marked = {}
    for member in sorted(members):
        name = names.get(member)
        if name is None and "worksheets/" in member.lower() and member.endswith(".xml"):
            _check_far(member, packed.read(member), limits)
        elif name is not None and sheet_called(name):
            xml = packed.read(member)
            _check_far(name, xml, limits)
            marked[name] = _marked_cells(xml)
    return marked


def _check_sizes(packed: zipfile.ZipFile, size: int, limits: Limits) -> None:
    unpacked = sum(member.file_size for member in packed.infolist())
    if unpacked > limits.unpacked_bytes or (
        unpacked > 50_000_000 and unpacked > size * limits.unpacked_ratio
    ):
        raise _Refused(
            f"it unpacks from {size / 1e6:,.1f} MB to {unpacked / 1e6:,.0f} MB, which no sheet of "
            "a shop does; it is not read (kitting read --most-mb)"
        )
    # A header may lie: unpacked piece by piece, what is longer than it says fails its checksum.
    for member in packed.infolist():
        if member.filename.lower().endswith(_READ):
            with packed.open(member) as pieces:
                while pieces.read(1 << 20):
                    pass


def _sheet_members(packed: zipfile.ZipFile) -> dict[str, str]:
    """Return the archive member of each sheet by its name."""
    book = ElementTree.fromstring(packed.read("xl/workbook.xml"))
    links = ElementTree.fromstring(packed.read("xl/_rels/workbook.xml.rels"))
    targets = {link.get("Id", ""): link.get("Target", "") for link in links}
    out = {}
    for sheet in book.iterfind(".//{*}sheet"):
        link = next((v for k, v in sheet.attrib.items() if k.endswith("}id")), "")
        target = targets.get(link, "")
        out[sheet.get("name", "")] = (
            target.lstrip("/") if target.startswith("/") else f"xl/{target}"
        )
    return out


def _position(reference: str) -> tuple[int, int]:
    match = _REFERENCE.fullmatch(reference)
    if match is None:
        return 10**9, 10**9
    column = 0
    for letter in match[1]:
        column = column * 26 + ord(letter) - 64
    return int(match[2]) - 1, column - 1


def _check_far(name: str, xml: bytes, limits: Limits) -> None:
    """Refuse a sheet with a cell far out, for which the reader would fill all memory."""
    for reference in {m.decode() for m in _FAR.findall(xml)}:
        row, column = _position(reference)
        if row >= limits.rows or column >= limits.columns:
            raise _Refused(
                f"sheet {name} has a cell at {reference}, far from the others; delete it, or keep "
                f"to {limits.rows:,} rows and {limits.columns} columns"
            )
    rows = [int(r) for r in _ROW.findall(xml)]
    if rows and max(rows) > limits.rows:
        raise _Refused(f"sheet {name} has more than {limits.rows:,} rows; split it")


def _marked_cells(xml: bytes) -> dict[tuple[int, int], Spoiled]:
    """Return the cells of a sheet that hold no value though they are not blank."""
    error = Spoiled("the cell holds a formula's error; put the formula right or write the value")
    lost = Spoiled(
        "the cell holds a formula whose result was never stored; open the workbook in a "
        "spreadsheet and save it, or write the value"
    )
    marked = {_position(m.decode()): error for m in _ERROR.findall(xml)}
    if b"<f" in xml:
        marked |= {_position(m.decode()): lost for m in _FORMULA.findall(xml)}
    return marked


def _values(
    data: bytes, limits: Limits, spoiled: dict[str, dict[tuple[int, int], Spoiled]]
) -> list[Grid]:
    """Read the values of every sheet; sheets of unknown names only tell whether they are empty."""
    from python_calamine import CalamineError, CalamineWorkbook

    grids = []
    try:
        with CalamineWorkbook.from_filelike(io.BytesIO(data)) as book:
            for name in book.sheet_names:
                if heading_key(name) == LISTS:
                    continue
                if sheet_called(name) is None:
                    grids.append(Grid(name, []))
                    continue
                sheet = book.get_sheet_by_name(name)
                height, width = (n + 1 for n in sheet.end or (-1, -1))
                if height > limits.rows or width > limits.columns:
                    raise _Refused(
                        f"sheet {name} has {height:,} rows and {width} columns; at most "
                        f"{limits.rows:,} and {limits.columns} are read"
                    )
                rows: list[list[Cell]] = [
                    [tidy(cell, limits.text) for cell in row]
                    for row in sheet.to_python(skip_empty_area=False)
                ]
                merged = tuple((*a, *b) for a, b in sheet.merged_cell_ranges or ())
                grids.append(Grid(name, _put(rows, spoiled.get(name, {})), merged))
    except (CalamineError, zipfile.BadZipFile, ValueError, OverflowError) as fault:
        raise _Refused(f"the file is damaged ({fault}); save it again as xlsx") from fault
    except BaseException as fault:
        # A panic of the native reader is no Exception; it is the file's fault all the same.
        if type(fault).__name__ != "PanicException":
            raise
        raise _Refused("the file is damaged; save it again as xlsx") from fault
    return grids


def _put(rows: list[list[Cell]], marked: dict[tuple[int, int], Spoiled]) -> list[list[Cell]]:
    for (row, column), why in marked.items():
        while len(rows) <= row:
            rows.append([])
        rows[row] += [""] * (column + 1 - len(rows[row]))
        rows[row][column] = why
    return rows

"""From a folder of csv files, one csv file or a workbook to grids of cells."""

from __future__ import annotations

import codecs
import csv
import io
from typing import TYPE_CHECKING

from kitting.errors import InputError
from kitting.reading.doors import DOORS, by_key, heading_key, sheet_called
from kitting.reading.grids import Grid, Limits, tidy_text
from kitting.terms.findings import Finding
from kitting.terms.words import Level

if TYPE_CHECKING:
    from pathlib import Path

    from kitting.reading.grids import Cell

TEXT_ENDINGS = (".csv", ".tsv", ".txt")
WORKBOOK_ENDINGS = (".xlsx", ".xlsm", ".ods")
_MARKS = (
    (codecs.BOM_UTF8, "utf-8-sig"),
    (codecs.BOM_UTF32_LE, "utf-32"),
    (codecs.BOM_UTF32_BE, "utf-32"),
    (codecs.BOM_UTF16_LE, "utf-16"),
    (codecs.BOM_UTF16_BE, "utf-16"),
)


def open_source(source: Path, limits: Limits) -> tuple[list[Grid], list[Finding]]:
    """Read every sheet of a source, as found.

    Parameters
    ----------
    source
        A folder of csv files, one csv file, or an xlsx or ods workbook.
    limits
        What is refused as too big.

    Raises
    ------
    InputError
        When there is nothing at that place or nothing of these kinds.
    """
    try:
        if source.is_dir():
            return _folder(source, limits)
        if not source.is_file():
            raise InputError(f"there is no file or folder {source}; check its name")
    except (OSError, ValueError) as fault:
        raise InputError(f"{source} cannot be opened: {_reason(fault)}") from fault
    ending = source.suffix.casefold()
    if ending in TEXT_ENDINGS:
        grid, findings = read_text_file(source, limits)
        return ([grid] if grid else []), findings
    if ending in WORKBOOK_ENDINGS:
        from kitting.reading.workbook import read_workbook

        return read_workbook(source, limits)
    raise InputError(
        f"{source.name} is not read; give a folder of csv files, a csv file, or a workbook saved "
        "as xlsx or ods"
    )


def _reason(fault: Exception) -> str:
    return (getattr(fault, "strerror", None) or str(fault) or type(fault).__name__).lower()


def _folder(folder: Path, limits: Limits) -> tuple[list[Grid], list[Finding]]:
    files = sorted(
        p for p in folder.iterdir() if p.suffix.casefold() in (".csv", ".tsv") and p.is_file()
    )
    if not files:
        raise InputError(
            f"the folder {folder} holds no csv file; save each sheet there as csv, or give the "
            "workbook itself"
        )
    grids, findings = [], []
    for path in files:
        grid, found = read_text_file(path, limits)
        findings += found
        if grid is not None:
            grids.append(grid)
    return grids, findings


def read_text_file(path: Path, limits: Limits) -> tuple[Grid | None, list[Finding]]:
    """Read one csv file: encoding and delimiter are found out, rows keep their numbers."""
    name = path.stem
    sheet = sheet_called(name) or name

    def stop(message: str, row: int = 0) -> tuple[None, list[Finding]]:
        return None, [Finding(Level.STOP, message, sheet, row)]

    try:
        size = path.stat().st_size
        if size > limits.file_bytes:
            return stop(too_big(path.name, size, limits))
        text, warning = decode(path.read_bytes())
    except OSError as fault:
        return stop(f"{path.name} cannot be opened: {_reason(fault)}")
    except UnicodeError as fault:
        return stop(f"{path.name} is not a text file ({fault}); save it as csv in UTF-8")
    if not text.strip():
        return stop(f"{path.name} is empty; write the headings in its first row")
    cells: list[list[Cell]] = []
    lines = csv.reader(io.StringIO(text, newline=""), delimiter=_delimiter(text, name), strict=True)
    try:
        for line in lines:
            cells.append([tidy_text(cell, limits.text) for cell in line])
            if len(cells) > limits.rows:
                return stop(f"the sheet has more than {limits.rows:,} rows; split it")
            if len(line) > limits.columns:
                return stop(f"the row has more than {limits.columns} cells", len(cells))
    except csv.Error as fault:
        return stop(f"the row cannot be read: {_csv_reason(str(fault))}", len(cells) + 1)
    findings = [Finding(Level.WARN, warning, sheet)] if warning else []
    return Grid(name, cells), findings


def too_big(name: str, size: int, limits: Limits) -> str:
    """Say that a file is refused for its size."""
    return (
        f"{name} has {size / 1e6:,.0f} MB; at most {limits.file_bytes / 1e6:,.0f} MB are read, "
        "so split it or remove pictures"
    )


def _csv_reason(fault: str) -> str:
    if "field limit" in fault:
        return "a cell never ends; look for a quotation mark that is not closed"
    if "unexpected end" in fault or "expected after" in fault:
        return (
            "a quotation mark is not closed, or text follows a closing one; inside a quoted cell "
            'write each quotation mark twice, as in "3/8"" bolt"'
        )
    return fault


def decode(data: bytes) -> tuple[str, str]:
    """Turn bytes to text; return it and a warning, blank when the encoding is certain.

    Raises
    ------
    UnicodeError
        When it is no text that can be told.
    """
    for mark, encoding in _MARKS:
        if data.startswith(mark):
            return data.decode(encoding), ""
    if data.startswith(b"PK\x03\x04"):
        raise UnicodeError("it is a workbook or an archive; give it its right ending")
    if b"\x00" in data:
        raise UnicodeError("it holds zero bytes, as UTF-16 without a mark does")
    try:
        return data.decode("utf-8"), ""
    except UnicodeDecodeError as fault:
        line = data.count(b"\n", 0, fault.start) + 1
    try:
        text = data.decode("cp1252")
    except UnicodeDecodeError as fault:
        raise UnicodeError("it is neither UTF-8 nor Western European (cp1252)") from fault
    return text, (
        f"the file is not UTF-8 (first seen in line {line}) and was read as Western European "
        "(cp1252); look at letters with accents, and save it as UTF-8"
    )


def _delimiter(text: str, name: str) -> str:
    """Choose the delimiter that gives the most known headings, then the most cells."""
    sheet = sheet_called(name)
    known = set(by_key(sheet)) if sheet else {k for s in DOORS for k in by_key(s)}
    start = text.lstrip()[:20_000]

    def score(delimiter: str) -> tuple[int, int]:
        try:
            first = next(csv.reader(io.StringIO(start, newline=""), delimiter=delimiter), [])
        except csv.Error:
            return 0, 0
        return len(known.intersection(map(heading_key, first))), len(first)

    return max((",", ";", "\t"), key=score)

"""Whatever bytes are in a sheet, reading gives findings or an ``InputError``, nothing else."""

from __future__ import annotations

import io
import tempfile
import zipfile
from datetime import date
from pathlib import Path

import openpyxl
from hypothesis import given, settings
from hypothesis import strategies as st

from kitting.errors import InputError
from kitting.reading import Reading, read_sheets
from kitting.reading.doors import DOORS
from kitting.tables.shop import BY_NAME

PARTS = b"part,name,unit,shelf_days\n0012,seal,piece,365\nRTV,sealant,ml,\n1E5,bolt,piece,\n"
LINES = (
    b"assembly,stage,joint,role,part,quantity,unit,when\n"
    b'Eng,build,cover,seal,RTV,15,ml,"cooling=air; fuel!=a,b"\nEng,build,,,0012,1/2,pair,\n'
)
PIECES = (
    *(b",", b";", b"\t", b'"', b"\n", b"\r", b"\x00", b"\xff\xfe", b"\xef\xbb\xbf", b"=", b"!"),
    *(b"1e308", b"NaN", b"-1", b"9" * 400, b"1/0", b"2026-03-09", b"\xe4", b"example:", b"#N/A"),
)


def soundly(path: Path) -> Reading | None:
    """Read; what comes back keeps its promises."""
    try:
        reading = read_sheets(path, kinds=frozenset({"cover"}))
    except InputError:
        return None
    for name, frame in reading.frames.items():
        BY_NAME[name].check(frame)
    for finding in reading.findings:
        assert finding.message
        assert finding.row >= 0
    return reading


changes = st.lists(
    st.tuples(
        st.integers(0, 10**6), st.integers(0, 12), st.binary(max_size=6) | st.sampled_from(PIECES)
    ),
    min_size=1,
    max_size=6,
)


def changed(data: bytes, how: list[tuple[int, int, bytes]]) -> bytes:
    """Exchange some stretches of bytes for others."""
    for place, length, new in how:
        at = place % (len(data) + 1)
        data = data[:at] + new + data[at + length :]
    return data


@settings(max_examples=250, deadline=None)
@given(changes, changes)
def test_changed_csv(parts: list, lines: list) -> None:
    """Bytes put in, taken out or exchanged in csv sheets."""
    with tempfile.TemporaryDirectory() as folder:
        (Path(folder) / "parts.csv").write_bytes(changed(PARTS, parts))
        (Path(folder) / "lines.csv").write_bytes(changed(LINES, lines))
        soundly(Path(folder))


@settings(max_examples=150, deadline=None)
@given(st.sampled_from(sorted(DOORS)), st.binary(max_size=200))
def test_any_bytes(sheet: str, data: bytes) -> None:
    """Bytes that were never a sheet, under headings that are."""
    headings = ",".join(d.name for d in DOORS[sheet]).encode()
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / f"{sheet}.csv"
        path.write_bytes(data)
        soundly(path)
        path.write_bytes(headings + b"\n" + data)
        soundly(path)


cells = st.one_of(
    st.text(max_size=8),
    st.floats(),
    st.integers(-(10**20), 10**20),
    st.booleans(),
    st.dates(date(1900, 3, 1), date(9999, 12, 31)),
    st.times(),
    st.timedeltas(),
    st.none(),
    st.sampled_from(["1/2", "a=b", "ml", "0012", "=1+1", "#REF!", "yes", "x" * 300, "1e308"]),
)


def workbook(rows: dict[str, list[list[object]]]) -> bytes:
    """Return a workbook of some sheets; a cell that cannot be stored is left blank."""
    book = openpyxl.Workbook()
    for name, body in rows.items():
        tab = book.create_sheet(name)
        tab.append([d.name for d in DOORS[name]])
        for row, values in enumerate(body, 2):
            for column, value in enumerate(values, 1):
                try:
                    tab.cell(row, column, value)
                except (ValueError, openpyxl.utils.exceptions.IllegalCharacterError):
                    continue
    out = io.BytesIO()
    try:
        book.save(out)
    except (ValueError, OverflowError):
        return b""
    return out.getvalue()


SHEETS = st.dictionaries(
    st.sampled_from(sorted(DOORS)), st.lists(st.lists(cells, max_size=14), max_size=3), max_size=4
)


@settings(max_examples=100, deadline=None)
@given(SHEETS)
def test_any_cells(rows: dict[str, list[list[object]]]) -> None:
    """Cells of every kind in any column of a workbook."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "shop.xlsx"
        path.write_bytes(workbook(rows))
        soundly(path)


SOUND = workbook(
    {
        "parts": [["0012", "seal"], ["RTV", "sealant", None, "ml"]],
        "builds": [["B1", "Eng", None, date(2026, 3, 9), 5]],
        "suppliers": [["Acre", "Acre", "EUR", None, "15:30", 6.5]],
    }
)


@settings(max_examples=150, deadline=None)
@given(changes)
def test_a_damaged_workbook(how: list) -> None:
    """Bytes exchanged anywhere in the file."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "shop.xlsx"
        path.write_bytes(changed(SOUND, how))
        soundly(path)


with zipfile.ZipFile(io.BytesIO(SOUND)) as _packed:
    MEMBERS = {name: _packed.read(name) for name in _packed.namelist()}


@settings(max_examples=200, deadline=None)
@given(st.sampled_from(sorted(MEMBERS)), changes)
def test_a_workbook_with_damaged_members(member: str, how: list) -> None:
    """Bytes exchanged in one of the documents inside, packed again without fault."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "shop.xlsx"
        with zipfile.ZipFile(path, "w") as packed:
            for name, data in MEMBERS.items():
                packed.writestr(name, changed(data, how) if name == member else data)
        soundly(path)

"""Standard hardware and seals: dimensions behind a designation, and equal parts.

``ISO 4762 M8x25-8.8`` and ``AS568-210 FKM`` name a part completely; the shipped tables give its
dimensions with their source.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache
from typing import TYPE_CHECKING

from kitting.reading.catalogs import read_table
from kitting.tables import hardware as tables
from kitting.terms.designations import Designation, parse_designation, same_part

if TYPE_CHECKING:
    from collections.abc import Iterable

    import pandas as pd

    from kitting.tables.contract import Table

_FOLDER = "hardware"
# Two published roundings of one inch size may differ by this much [mm].
_ROUNDING = 0.011


@dataclass(frozen=True, slots=True)
class Hardware:
    """A part of standard dimensions.

    Parameters
    ----------
    designation
        What its name says.
    dimensions
        Name and value of each known dimension [mm; stress area mm2].
    source
        Where the dimensions are from; blank when none is known.
    """

    designation: Designation
    dimensions: tuple[tuple[str, float], ...]
    source: str


@lru_cache(maxsize=16)
def table(contract: Table) -> pd.DataFrame:
    """Return one shipped table of hardware.

    Raises
    ------
    InputError
        When the shipped file breaks its contract.
    """
    return read_table(contract, _FOLDER)


def look_up(text: str) -> Hardware | None:
    """Return the standard part that a number or name designates, or ``None``.

    Raises
    ------
    InputError
        When a shipped file breaks its contract.
    """
    read = parse_designation(text)
    if read is None:
        return None
    if read.family == "o-ring":
        return _ring(read)
    of = {"ISO 4762": tables.SCREWS, "ISO 4017": tables.SCREWS}
    of |= {"ISO 4032": tables.NUTS, "ISO 7089": tables.WASHERS}
    found: list[tuple[str, float]] = []
    source = ""
    if read.standard in of:
        frame = table(of[read.standard])
        rows = frame[(frame["standard"] == read.standard) & (frame["thread"] == read.thread)]
        if len(rows):
            found, source = _numbers(rows), str(rows["source"].iloc[0])
    threads = table(tables.THREADS)
    rows = threads[threads["thread"] == read.thread]
    if len(rows) and read.pitch == rows["pitch_mm"].iloc[0]:
        read = replace(read, pitch=0.0)
    if len(rows) and not read.pitch and read.standard != "ISO 7089":
        known = {name for name, _ in found}
        found += [(name, value) for name, value in _numbers(rows) if name not in known]
        source = "; ".join(s for s in (source, str(rows["source"].iloc[0])) if s)
    return Hardware(read, tuple(found), source)


def _numbers(rows: pd.DataFrame) -> list[tuple[str, float]]:
    row = rows.select_dtypes("number").iloc[0].dropna()
    return [(str(name), float(value)) for name, value in row.items()]


def _ring(read: Designation) -> Hardware:
    frame = table(tables.O_RINGS)
    if read.dash:
        rows = frame[frame["dash"] == read.dash]
    else:
        near = (frame["inside_mm"] - read.inside).abs() < _ROUNDING
        rows = frame[near & ((frame["section_mm"] - read.section).abs() < _ROUNDING)]
    if rows.empty:
        size = (("inside_mm", read.inside), ("section_mm", read.section)) if read.inside else ()
        return Hardware(read, size, "")
    read = replace(read, dash=str(rows["dash"].iloc[0]))
    return Hardware(read, tuple(_numbers(rows)), str(rows["source"].iloc[0]))


def equal_parts(text: str, names: Iterable[str]) -> tuple[str, ...]:
    """Return which names designate a part of equal dimension, class and compound.

    A ring by its AS568 number equals one by its ISO 3601 size; compound and hardness must be
    said alike by both, for a ring of another rubber is another part. Whether an equal part may
    serve is for the maker to say: never for valve stems, fuel or turbochargers without their word.

    Raises
    ------
    InputError
        When a shipped file breaks its contract.
    """
    one = look_up(text)
    if one is None:
        return ()
    return tuple(
        name
        for name in names
        if name != text and (other := look_up(name)) is not None and _equal(one, other)
    )


def _equal(one: Hardware, other: Hardware) -> bool:
    first, second = one.designation, other.designation
    if first.family == second.family == "o-ring":
        rubber = (first.compound, first.hardness) == (second.compound, second.hardness)
        return rubber and one.dimensions == other.dimensions and bool(one.dimensions)
    return bool(first.standard) and same_part(first, second)


def storage_years(compound: str) -> str:
    """Return how many years seals of a compound may be stored, ``unlimited``, or a blank.

    As quoted by suppliers from SAE AS/ARP5316; it says nothing about installed life.

    Raises
    ------
    InputError
        When the shipped file breaks its contract.
    """
    frame = table(tables.ELASTOMERS)
    rows = frame.loc[frame["compound"] == compound.upper(), "storage_years"]
    return str(rows.iloc[0]) if len(rows) else ""

"""Consumables computed: what beads, threads, lips, films and fills take.

A line of the bill that leaves its quantity blank gets the computed one; a line with a quantity of
its own keeps it and is compared.
"""

from __future__ import annotations

import math
from collections import defaultdict
from dataclasses import dataclass
from typing import TYPE_CHECKING, Protocol

import pandas as pd

from kitting.bill.ways import Row, amount, factors, told, unit_of
from kitting.tables.flow import CAUTIONS, GAPS
from kitting.terms.units import Dimension, Unit, counted
from kitting.terms.words import Level, Way

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from kitting.tables.references import References
    from kitting.tables.shop import Shop

CHECK = "amounts"
_SOURCE = "the shop's sheet amounts"
# Rounding noise of a product of decimals; a microlitre is not added for it.
_NOISE = 1e-9
_ROW = ("assembly", "stage", "joint", "part", "way", "count", "length", "diameter", "thread")
_REST = ("quantity", "share", "source")

Place = tuple[str, str, str, str]
"""Assembly, stage (blank at a joint or when any), joint and part."""


class _Bills(Protocol):
    """The frames of some exploded builds that are read."""

    @property
    def required(self) -> pd.DataFrame: ...


@dataclass(frozen=True, slots=True)
class Computed:
    """What one place takes of one consumable, for one of its alike places.

    Parameters
    ----------
    quantity
        Base units, rounded up; 0 when it cannot be computed.
    least
        Base units below which a written quantity is called too little.
    how
        In words.
    fault
        Why it cannot be computed; blank when it can.
    source
        What the figures are worth and who says so.
    """

    quantity: int
    least: int
    how: str
    fault: str = ""
    source: str = ""


def computed(shop: Shop, references: References) -> dict[Place, Computed]:
    """Compute every place of the sheet ``amounts``.

    Parameters
    ----------
    shop
        The shop.
    references
        Tables ``ways`` and ``threads``.
    """
    if not shop.has("amounts"):
        return {}
    rows: dict[Place, list[tuple[Row, str]]] = defaultdict(list)
    frame = shop["amounts"]
    columns = (frame[c].tolist() for c in (*_ROW, *_REST))
    for assembly, stage, joint, part, way, count, *rest in zip(*columns, strict=True):
        length, diameter, thread, quantity, share, source = rest
        row = Row(way, _whole(count, 1), length, diameter, thread, _whole(quantity, 0), share)
        rows[assembly, "" if joint else stage, joint, part].append((row, source))
    by_way = factors(references["ways"])
    threads = references["threads"]
    pitches = dict(zip(threads["thread"].tolist(), threads["pitch_mm"].tolist(), strict=True))
    units = _units(shop)
    out = {}
    for place, here in rows.items():
        of = units.get(place[3], unit_of(""))
        total, least, faults = 0.0, 0.0, []
        for row, _ in here:
            try:
                one = amount(row, by_way, pitches, of)
            except ValueError as fault:
                faults.append(str(fault))
            else:
                total += one
                least += one * (1 - by_way[row.way].tolerance)
        marks = {(by_way[r.way].mark, by_way[r.way].source) for r, _ in here if r.way in by_way}
        sources = [f"{mark}: {source}" for mark, source in sorted(marks)]
        sources += dict.fromkeys(source for _, source in here if source)
        out[place] = Computed(
            0 if faults else _up(total),
            _up(least),
            ", ".join(told(row, of) for row, _ in here),
            "; ".join(dict.fromkeys(faults)),
            "; ".join(sources),
        )
    return out


def with_amounts(shop: Shop, references: References) -> Shop:
    """Return the shop with blank quantities of its bill filled in.

    A line is blank when it names a part and its quantity is 0. It gets what the sheet ``amounts``
    computes for its joint, or for its stage when it has none; failing that, a line without a joint
    gets one fill of the circuit whose fluid it is. What cannot be computed stays 0 and is told by
    ``short_amounts``.

    Parameters
    ----------
    shop
        The shop; one without blank lines is returned as it is.
    references
        Tables ``ways`` and ``threads``.
    """
    lines = shop["lines"]
    blank = (lines["quantity"].to_numpy() == 0) & (lines["part"].to_numpy(dtype=object) != "")
    if not blank.any():
        return shop
    places, fills = computed(shop, references), _fills(shop)
    quantity = lines["quantity"].to_numpy().copy()
    at = blank.nonzero()[0]
    names = (lines[c].iloc[at].tolist() for c in ("assembly", "stage", "joint", "part"))
    for row, line in zip(at.tolist(), zip(*names, strict=True), strict=True):
        found = _of_line(places, line)
        quantity[row] = found.quantity if found else _fill(fills, line)
    return shop.replaced(lines=lines.assign(quantity=quantity))


def short_amounts(shop: Shop, bills: _Bills, references: References) -> pd.DataFrame:
    """Compare the quantities of the bill with the computed ones.

    Parameters
    ----------
    shop
        The shop, with or without its blank quantities filled in.
    bills
        The exploded builds.
    references
        Tables ``ways`` and ``threads``.

    Returns
    -------
    DataFrame
        Table ``gaps``: warn where a line brings less than is computed, stop where a blank
        quantity cannot be computed.
    """
    places = computed(shop, references)
    if not places and not shop.has("circuits"):
        return GAPS.empty()
    fills, units = _fills(shop), _units(shop)
    names = dict(zip(shop["parts"]["part"].tolist(), shop["parts"]["name"].tolist(), strict=True))
    written = dict(
        zip(shop["lines"]["line"].tolist(), shop["lines"]["quantity"].tolist(), strict=True)
    )
    rows = []
    for (build, line), (role, numbers) in _lines(bills, {p[3] for p in places}, fills).items():
        have = sum(written.get(number, 0) for number in numbers)
        found = _of_line(places, line)
        called = f"{names.get(line[3]) or line[3]} ({line[3]})"
        where = (build, line[0], line[1], line[2], role)
        if found is None or (not found.fault and have >= found.least):
            if have == 0 and (found.quantity if found else _fill(fills, line)) == 0:
                rows.append((*where, *_cannot(called, "no quantity"), _SOURCE))
            continue
        if found.fault and have == 0:
            rows.append((*where, *_cannot(called, found.fault), found.source))
        elif not found.fault and have > 0:
            of = units.get(line[3], unit_of(""))
            message = (
                f"{called}: the bill brings {_amount(have, of)} and {_amount(found.quantity, of)} "
                f"is computed ({found.how}); write more, or leave the quantity blank"
            )
            rows.append((*where, str(Level.WARN), message, CHECK, found.source))
    return GAPS.conform(pd.DataFrame(rows, columns=GAPS.names)) if rows else GAPS.empty()


def _cannot(called: str, why: str) -> tuple[str, str, str]:
    message = (
        f"{called}: the quantity is blank and cannot be computed: {why}; put the sheet amounts "
        "right, or write the quantity"
    )
    return str(Level.STOP), message, CHECK


def mix_cautions(shop: Shop, bills: _Bills, references: References) -> pd.DataFrame:
    """Tell how cold each mix of coolant stays liquid.

    Parameters
    ----------
    shop, bills
        The shop and the exploded builds.
    references
        Table ``freezing``.

    Returns
    -------
    DataFrame
        Table ``cautions``: a note for each mix; warn outside the shares that the chart holds.
    """
    if not shop.has("amounts"):
        return CAUTIONS.empty()
    amounts = shop["amounts"]
    mixes = amounts[amounts["way"] == Way.MIX]
    if not len(mixes):
        return CAUTIONS.empty()
    chart = _chart(references)
    used: dict[tuple[str, str], dict[str, None]] = defaultdict(dict)
    required = bills.required
    columns = (required[c].tolist() for c in ("assembly", "part", "build"))
    wanted = set(zip(mixes["assembly"].tolist(), mixes["part"].tolist(), strict=True))
    for assembly, part, build in zip(*columns, strict=True):
        if (assembly, part) in wanted:
            used[assembly, part][build] = None
    rows = []
    columns = (mixes[c].tolist() for c in ("assembly", "part", "share"))
    for assembly, part, share in dict.fromkeys(zip(*columns, strict=True)):
        level, message, source = _freezing(share, chart)
        rows += [
            (build, part, str(level), f"{100 * share:g} % concentrate: {message}", source)
            for build in used[assembly, part]
        ]
    return (
        CAUTIONS.conform(pd.DataFrame(rows, columns=CAUTIONS.names)) if rows else (CAUTIONS.empty())
    )


def _chart(references: References) -> list[tuple[float, float, str]]:
    frame = references["freezing"]
    return sorted(zip(*(frame[c].tolist() for c in ("share", "freezes", "source")), strict=True))


def _freezing(share: float, chart: Sequence[tuple[float, float, str]]) -> tuple[Level, str, str]:
    """Say what the chart holds for a share of concentrate."""
    if not chart or share != share:
        return Level.WARN, "no chart gives its freezing point; ask the maker", ""
    for known, freezes, source in chart:
        if abs(known - share) < 0.005:
            return Level.NOTE, f"liquid to about {freezes:g} C; the maker's chart decides", source
    (low, warm, source), (high, cold, last) = chart[0], chart[-1]
    if share < low:
        message = f"thinner than {100 * low:g} %, which freezes at {warm:g} C; mix it stronger"
        return Level.WARN, f"{message} unless the maker says so", source
    if share > high:
        message = f"above {100 * high:g} % ({cold:g} C) it cools and protects worse, not better"
        return Level.WARN, f"{message}; mix it thinner unless the maker says so", last
    above = next(n for n, row in enumerate(chart) if row[0] > share)
    (low, warm, source), (high, cold, _) = chart[above - 1], chart[above]
    message = f"liquid to between {warm:g} C ({100 * low:g} %) and {cold:g} C ({100 * high:g} %)"
    return Level.NOTE, f"{message}; the maker's chart decides", source


def _whole(value: object, blank: int) -> int:
    return value if isinstance(value, int) else blank


def _up(total: float) -> int:
    """Round up to whole base units."""
    return math.ceil(total * (1 - _NOISE))


def _amount(quantity: int, of: Unit) -> str:
    """Write base units so that a small part of a unit can still be told."""
    small = {Dimension.VOLUME: "ml", Dimension.MASS: "g"}.get(of.dimension)
    if small and quantity < of.factor:
        of = unit_of(small)
    return counted(quantity, of)


def _units(shop: Shop) -> dict[str, Unit]:
    parts = shop["parts"]
    numbers, names = parts["part"].tolist(), parts["unit"].tolist()
    by_name = {name: unit_of(name) for name in set(names)}
    return {part: by_name[name] for part, name in zip(numbers, names, strict=True)}


def _of_line(places: Mapping[Place, Computed], line: tuple[str, ...]) -> Computed | None:
    """Return what is computed for a line: assembly, stage, joint and part."""
    assembly, stage, joint, part = line
    if joint:
        return places.get((assembly, "", joint, part))
    return places.get((assembly, stage, "", part)) or places.get((assembly, "", "", part))


def _fills(shop: Shop) -> dict[tuple[str, str, str], int]:
    """Return one fill by (assembly, stage, part); a blank stage stands for any."""
    if not shop.has("circuits"):
        return {}
    found: dict[tuple[str, str, str], int] = {}
    frame = shop["circuits"]
    columns = (frame[c].tolist() for c in ("assembly", "stage", "part", "quantity"))
    for assembly, stage, part, quantity in zip(*columns, strict=True):
        if one := _whole(quantity, 0):
            found[assembly, stage, part] = found.get((assembly, stage, part), 0) + one
            found.setdefault((assembly, "", part), one)
    return found


def _fill(fills: Mapping[tuple[str, str, str], int], line: tuple[str, ...]) -> int:
    assembly, stage, joint, part = line
    if joint:
        return 0
    return fills.get((assembly, stage, part), fills.get((assembly, "", part), 0))


_Line = tuple[str, tuple[str, str, str, str]]


def _lines(
    bills: _Bills, parts: set[str], fills: Mapping[tuple[str, str, str], int]
) -> dict[_Line, tuple[str, set[int]]]:
    """Return, by build and place, the role and the lines of the bill that serve it."""
    wanted = parts | {part for _, _, part in fills}
    required = bills.required
    names = ("build", "assembly", "stage", "joint", "part", "role", "line")
    found: dict[_Line, tuple[str, set[int]]] = {}
    for build, assembly, stage, joint, part, role, line in zip(
        *(required[n].tolist() for n in names), strict=True
    ):
        if part in wanted and line > 0:
            found.setdefault((build, (assembly, stage, joint, part)), (role, set()))[1].add(line)
    return found

"""Figures: a torque has value, unit, source and page, or is blank and asked for.

A figure is never replaced. One that lies outside what the thread and its class can plausibly take
is told, with the reckoning; the maker's manual decides.
"""

from __future__ import annotations

import math
from collections import defaultdict
from dataclasses import dataclass
from typing import TYPE_CHECKING, Protocol

import pandas as pd

from kitting.tables.flow import GAPS
from kitting.terms.designations import parse_designation
from kitting.terms.torque import NEWTON_METRES, newton_metres, torque_unit
from kitting.terms.words import Level, Role

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from kitting.tables.references import References
    from kitting.tables.shop import Shop

CHECK = "torque figures"
# Nut factor of dry, plain steel; clamp load as a share of the proof load. Both: common practice.
DRY, OF_PROOF = 0.20, 0.75
# Published tables for one thread and class differ by three to one. Strict above, since too much
# breaks the screw.
LOW, HIGH = 0.34, 1.15
# Units that are mistaken for one another: pound-force inches and feet differ by twelve.
_MISTAKEN = {
    "lbf ft": "lbf in",
    "lbf in": "lbf ft",
    "N m": "lbf in",
    "kgf m": "kgf cm",
    "kgf cm": "kgf m",
}
# Classes between which a screw without a class is judged.
_USUAL = ("8.8", "12.9")
_DECIDES = "the maker's manual decides, this only warns"
_SOURCE = (
    "T = K F d with K 0.20 and F = 0.75 x proof stress x stress area (ISO 898-1); band 0.34 to "
    "1.15 of it, from the spread of published tables"
)
_FIGURE = ("assembly", "joint", "what", "thread", "class", "value", "unit", "source", "page")


class _Bills(Protocol):
    """The frames of some exploded builds that are read."""

    @property
    def joints(self) -> pd.DataFrame: ...


@dataclass(frozen=True, slots=True)
class Figure:
    """One row of table ``figures``."""

    assembly: str
    joint: str
    what: str
    thread: str
    grade: str
    value: float
    unit: str
    source: str
    page: str

    @property
    def written(self) -> str:
        """The figure as it stands in the sheet."""
        return f"{self.value:g} {self.unit}".strip()


@dataclass(frozen=True, slots=True)
class Steel:
    """What threads and classes can take.

    Parameters
    ----------
    threads
        Coarse pitch [mm] and nominal stress area [mm2] by thread.
    strengths
        Proof stress up to M16 and above it [MPa], by class.
    """

    threads: Mapping[str, tuple[float, float]]
    strengths: Mapping[str, tuple[float, float]]

    def proof_load(self, thread: str, grade: str) -> float:
        """Return the proof load of a screw [N]; 0 when thread or class is not known.

        A fine thread's stress area is ``pi/4 (d - 0.9382 P)2`` (ISO 898-1).
        """
        found = parse_designation(thread)
        if found is None or grade not in self.strengths or not found.thread:
            return 0.0
        diameter = float(found.thread[1:])
        pitch, area = self.threads.get(found.thread, (0.0, 0.0))
        if found.pitch and found.pitch != pitch:
            area = math.pi / 4 * (diameter - 0.9382 * found.pitch) ** 2
        to_16, above = self.strengths[grade]
        return area * (to_16 if diameter <= 16 else above)

    def dry_torque(self, thread: str, grade: str) -> float:
        """Return K F d for a dry screw [N m]; 0 when thread or class is not known."""
        found = parse_designation(thread)
        load = self.proof_load(thread, grade)
        if found is None or not load:
            return 0.0
        return DRY * OF_PROOF * load * float(found.thread[1:]) / 1000


def steel(references: References) -> Steel:
    """Return the tables ``threads`` and ``strengths``, laid out to look things up."""
    threads, strengths = references["threads"], references["strengths"]
    columns = (threads[c].tolist() for c in ("thread", "pitch_mm", "stress_area_mm2"))
    names = ("grade", "proof_stress_to_m16_mpa", "proof_stress_over_m16_mpa")
    classes = (strengths[n].tolist() for n in names)
    return Steel(
        {name: (pitch, area) for name, pitch, area in zip(*columns, strict=True)},
        {name: (to_16, above) for name, to_16, above in zip(*classes, strict=True)},
    )


def figure_gaps(shop: Shop, bills: _Bills, references: References) -> pd.DataFrame:
    """Find figures that are asked for, and torques that are hard to believe.

    Parameters
    ----------
    shop
        The shop; one without the sheet ``figures`` has no findings.
    bills
        The exploded builds.
    references
        Tables ``threads`` and ``strengths``.

    Returns
    -------
    DataFrame
        Table ``gaps``, role figure: a note for a figure to look up, warn for the rest; nothing
        stops a build.
    """
    if not shop.has("figures"):
        return GAPS.empty()
    at = _joints(bills)
    if not at:
        return GAPS.empty()
    frame, known = shop["figures"], steel(references)
    rows = []
    for row in zip(*(frame[c].tolist() for c in _FIGURE), strict=True):
        figure = Figure(*row)
        for build, stage in at.get((figure.assembly, figure.joint), ()):
            for level, message, source in judge(figure, known):
                where = (build, figure.assembly, stage, figure.joint, str(Role.FIGURE))
                rows.append((*where, str(level), message, CHECK, source))
    return GAPS.conform(pd.DataFrame(rows, columns=GAPS.names)) if rows else GAPS.empty()


def _joints(bills: _Bills) -> dict[tuple[str, str], list[tuple[str, str]]]:
    """Return build and stage of each joint."""
    found: dict[tuple[str, str], list[tuple[str, str]]] = defaultdict(list)
    columns = (bills.joints[c].tolist() for c in ("assembly", "joint", "build", "stage"))
    for assembly, joint, build, stage in zip(*columns, strict=True):
        found[assembly, joint].append((build, stage))
    return found


def judge(figure: Figure, known: Steel) -> Iterator[tuple[Level, str, str]]:
    """Yield level, message and source of whatever is to be said about a figure.

    Parameters
    ----------
    figure
        The figure.
    known
        What threads and classes can take.
    """
    if figure.value != figure.value:
        yield from _asked_for(figure)
        return
    lacks = [n for n in ("unit", "source", "page") if not getattr(figure, n)]
    if lacks:
        message = (
            f"{figure.what} {figure.written} has no {' and no '.join(lacks)}; write where it "
            "stands, or leave the value blank"
        )
        yield Level.WARN, message, "a figure without its page is a figure from memory"
    unit = torque_unit(figure.unit)
    if not unit:
        if figure.unit and "torque" in figure.what.casefold():
            message = (
                f'{figure.what} {figure.written}: "{figure.unit}" is not a unit of torque; write '
                f"one of {', '.join(NEWTON_METRES)}"
            )
            yield Level.WARN, message, "NIST SP 811"
        return
    if figure.thread:
        yield from _judge_torque(figure, unit, known)


def _asked_for(figure: Figure) -> Iterator[tuple[Level, str, str]]:
    where = ", page ".join(p for p in (figure.source, figure.page) if p)
    what = f"{figure.what}{' for ' + figure.thread if figure.thread else ''}"
    if where and figure.page:
        yield Level.NOTE, f"look up the {what}: {where}", where
    else:
        lacks = "page" if figure.source else "source"
        message = (
            f"the {what} has neither value nor {lacks}; find it in the manual before the stage"
        )
        yield Level.WARN, message, "a figure has value, unit, source and page, or is asked for"


def _judge_torque(figure: Figure, unit: str, known: Steel) -> Iterator[tuple[Level, str, str]]:
    """Judge a torque against the band of its thread and class."""
    torque = newton_metres(figure.value, unit)
    grades = (figure.grade, figure.grade) if figure.grade else _USUAL
    low, high = (known.dry_torque(figure.thread, grade) for grade in grades)
    if not low or not high:
        return
    of = (
        f"{figure.thread} of class {grades[0]}"
        if figure.grade
        else (f"{figure.thread} of class {grades[0]} to {grades[1]} (none is written)")
    )
    said = figure.written if unit == "N m" else f"{figure.written} = {torque:.1f} N m"
    if torque > HIGH * high:
        word, dry = "high", high
    elif torque < LOW * low:
        word, dry = "low", low
    else:
        return
    message = (
        f"{figure.what} {said} is {word} for an {of}: {100 * torque / dry:.0f} % of the dry "
        f"figure {dry:.1f} N m (plausible {LOW * low:.1f} to {HIGH * high:.1f} N m)"
    )
    slip = _slip(figure, unit, (LOW * low, HIGH * high))
    ask = f"read {figure.source or 'the manual'}{', page ' + figure.page if figure.page else ''}"
    yield Level.WARN, f"{message}{slip}; {ask} again; {_DECIDES}", _SOURCE


def _slip(figure: Figure, unit: str, band: tuple[float, float]) -> str:
    """Say when the figure would be plausible in the unit that this one is mistaken for."""
    other = _MISTAKEN.get(unit)
    if other is None:
        return ""
    meant = newton_metres(figure.value, other)
    if not band[0] <= meant <= band[1]:
        return ""
    return f"; {figure.value:g} {other} = {meant:.1f} N m would fit: was the unit mixed up?"

"""Bag labels with a QR code, laid out in millimetres on common label sheets."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import groupby
from typing import TYPE_CHECKING, Any

import segno

from kitting.outputs.kit import together
from kitting.outputs.pages import page
from kitting.terms.units import show

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from kitting.outputs.kit import Kit, Taken

QUIET = 4
"""Blank modules around a code (ISO/IEC 18004)."""


@dataclass(frozen=True, slots=True)
class LabelSheet:
    """How the labels of an A4 sheet lie; lengths in mm.

    Parameters
    ----------
    across, down
        Labels side by side, and below each other.
    width, height
        Of one label.
    left, top
        Margins of the sheet before the first label.
    gap
        Between two labels side by side; they follow below each other without one.
    """

    across: int
    down: int
    width: float
    height: float
    left: float
    top: float
    gap: float

    @property
    def count(self) -> int:
        """Labels on a sheet."""
        return self.across * self.down


# Common practice, from memory; hold a print against the light before the first sheet.
LABEL_SHEETS: dict[str, LabelSheet] = {
    "3x7": LabelSheet(3, 7, 63.5, 38.1, 7.21, 15.15, 2.54),
    "3x8": LabelSheet(3, 8, 63.5, 33.9, 7.21, 12.9, 2.54),
}


def code_text(build: str, one: Taken) -> str:
    """Return what the code of a bag says: a field a line, its name, a space and its value.

    The fields are ``build``, ``assembly``, ``stage``, ``part``, ``quantity`` (a number in the unit
    that follows it) and ``lot``, always in this order; a blank value leaves the name alone. A name
    holds no space and a value no line break, so that a reader splits at the first space. UTF-8.
    """
    assembly, stage = one.stages[0]
    fields = {
        "build": build,
        "assembly": assembly,
        "stage": stage,
        "part": one.part,
        "quantity": f"{show(one.quantity, one.unit)} {one.unit.name}",
        "lot": one.lot,
    }
    return "\n".join(f"{name} {value}".rstrip() for name, value in fields.items())


def label_page(kit: Kit, sheet: str, skip: int = 0) -> tuple[str, int]:
    """Return a page of bag labels, and how many they are.

    Parameters
    ----------
    kit
        Whose bags; what is on its way has a label without a lot.
    sheet
        A sheet of ``LABEL_SHEETS``.
    skip
        Labels that are gone from the first sheet.
    """
    lying = LABEL_SHEETS[sheet]
    labels = list(_labels(kit))
    blank: list[dict[str, Any] | None] = [None] * (skip % lying.count)
    sheets = list(_split([*blank, *labels], lying.count))
    return page("labels.html", kit=kit, lying=lying, sheets=sheets), len(labels)


def _labels(kit: Kit) -> Iterator[dict[str, Any]]:
    """Return what stands on each label, in the order of the bags."""
    several = len({s.assembly for s in kit.stages}) > 1
    for stage in kit.stages:
        bagged = [t for t in together(stage.taken) if t.bag]
        for one in sorted(bagged, key=lambda t: int(t.bag.rpartition("-")[2])):
            yield {
                "bag": one.bag,
                "stage": f"{stage.assembly} {stage.stage}" if several else stage.stage,
                "one": one,
                "code": code_path(code_text(kit.build, one)),
            }


def code_path(text: str) -> dict[str, Any] | None:
    """Return the dark modules of a code as the path of a drawing, and its width in modules.

    Level M mends up to 15 % of a code that oil has spoiled (ISO/IEC 18004). ``None`` when the text
    is longer than a code can hold, 2331 bytes.
    """
    try:
        matrix = segno.make(text, error="m", micro=False).matrix
    except segno.DataOverflowError:
        return None
    rows = []
    for y, row in enumerate(matrix, start=QUIET):
        x = QUIET
        for dark, run in groupby(row):
            wide = len(list(run))
            if dark:
                rows.append(f"M{x} {y}h{wide}v1h-{wide}z")
            x += wide
    return {"path": "".join(rows), "modules": len(matrix) + 2 * QUIET}


def _split(labels: Sequence[Any], count: int) -> Iterator[Sequence[Any]]:
    for start in range(0, len(labels), count):
        yield labels[start : start + count]

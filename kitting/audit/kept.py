"""What the shop decided to keep on its shelf, held against what is there."""

from __future__ import annotations

from typing import TYPE_CHECKING

from kitting.tables.decided import last_accepted
from kitting.terms.findings import Finding
from kitting.terms.units import counted, show, unit
from kitting.terms.words import Lesson, Level

if TYPE_CHECKING:
    import pandas as pd

    from kitting.tables.shop import Shop


def below_kept(shop: Shop, decided: pd.DataFrame) -> tuple[Finding, ...]:
    """Return a note for each part of which less is on the shelf than was decided to keep.

    Parameters
    ----------
    shop
        Reads ``stock``; lots that are held for a build, or owned by others, do not count.
    decided
        Table ``proposals``; of a part, the last decision counts.
    """
    kept = last_accepted(decided, Lesson.KEEP)
    stock = shop["stock"]
    ours = stock[(stock["held_for"] == "") & (stock["owner"] == "")]
    free = ours.groupby("part")["quantity"].sum()
    found = []
    for part, quantity, of, day, by in kept[
        ["part", "quantity", "unit", "day", "by"]
    ].itertuples(index=False, name=None):  # fmt: skip
        have = int(free.get(part, 0))
        if have < quantity:
            written = unit(of)
            message = (
                f"{counted(have, written)} on the shelf, and {show(quantity, written)} "
                f"are to be kept there ({by}, {day.date().isoformat()}); order more"
            )
            found.append(Finding(Level.NOTE, message, "stock", about=part))
    return tuple(found)

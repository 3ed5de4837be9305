"""The optional sheets of castings, circuits, temporary things and outwork, as the checks see them.

A shop without one of them has an empty frame here, and the checks that need it find nothing.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from kitting.tables.extra_sheets import OPENINGS
from kitting.terms.conditions import holds, parse_when

if TYPE_CHECKING:
    import pandas as pd

    from kitting.bill.survey import Survey
    from kitting.tables.contract import Table


@dataclass(frozen=True, slots=True)
class Opening:
    """One row of table ``openings``."""

    assembly: str
    casting: str
    opening: str
    size: str
    opens_to: str
    ends_in: str
    count: int
    when: str

    @property
    def ends(self) -> tuple[str, ...]:
        """The joints that may close it, one of them by the options of the build; at least one."""
        return tuple(e.strip() for e in self.ends_in.split(";") if e.strip()) or ("",)

    def there(self, choices: dict[str, str]) -> bool:
        """Tell whether a build with these choices has the opening."""
        return holds(parse_when(self.when), choices)


def extra(seen: Survey, table: Table) -> pd.DataFrame:
    """Return an optional sheet, or an empty frame."""
    frame = seen.shop.tables.get(table.name)
    return table.empty() if frame is None else frame


def openings(seen: Survey) -> tuple[Opening, ...]:
    """Return every opening of the shop's castings."""
    frame = extra(seen, OPENINGS).fillna({"count": 1})
    columns = ("assembly", "casting", "opening", "size", "opens_to", "ends_in", "count", "when")
    rows = zip(*(frame[c].tolist() for c in columns), strict=True)
    return tuple(
        Opening(assembly, casting, opening, size, to, end, int(count), when)
        for assembly, casting, opening, size, to, end, count, when in rows
    )

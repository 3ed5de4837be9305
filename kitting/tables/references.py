"""The tables of published limits and of the trade's rules of thumb, each row with its source.

``mark`` says what a row is worth: ``source`` (read in the named source), ``from memory`` (of the
named source), ``computed``, ``common practice`` or ``assumption``.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from kitting.tables.contract import Column, Kind, Table
from kitting.tables.hardware import STRENGTHS, THREADS

if TYPE_CHECKING:
    from collections.abc import Mapping

    import pandas as pd


# fmt: off
def _c(name: str, kind: Kind, meaning: str, unit: str = "") -> Column:
    return Column(name, kind, meaning, unit)


_MARK = _c("mark", "text", "source, from memory, computed, common practice or assumption")
_SOURCE = _c("source", "text", "who says so")

WAYS = Table("ways", "how the amount of a consumable is computed", "reading", (
    _c("way", "text", "bead, thread, lip, film, clean, fill or mix"),
    _c("of", "text", "what the factor multiplies"),
    _c("factor", "real", "how much for one of that", "mm, mm2, ul/mm or none"),
    _c("waste", "real", "share that is lost beyond it"),
    _c("density", "real", "of what is used so, where the part is weighed", "mg/ul"),
    _c("tolerance", "real", "share by which a written amount may be less without a warning"),
    _MARK, _SOURCE,
), ("way",))

FREEZING = Table("freezing", "freezing point of coolant by share of concentrate", "reading", (
    _c("share", "real", "share of the concentrate by volume"),
    _c("freezes", "real", "freezing point", "C"),
    _MARK, _SOURCE,
), ("share",))

SPARE_RULES = Table("spare_rules", "how many spares to think of; the first that fits", "reading", (
    _c("rule", "text", "name of the rule"),
    _c("families", "text", "families of parts, ; between; blank = any"),
    _c("kinds", "text", "joint kinds, ; between; blank = any"),
    _c("words", "text", "words of the joint, ; between; blank = any"),
    _c("single_use", "text", "never, measure or reuse; blank = any"),
    _c("thread_up_to", "whole or blank", "largest thread", "mm"),
    _c("price_from", "whole or blank", "least price of one", "cents"),
    _c("price_below", "whole or blank", "price of one must be below", "cents"),
    _c("sellers_up_to", "whole or blank", "at most so many suppliers offer it", "suppliers"),
    _c("add", "whole", "spares", "pieces"),
    _c("times", "real", "need times this, before the spares are added"),
    _c("pack", "yes or no", "round up to the pack"),
    _c("why", "text", "why"),
    _MARK, _SOURCE,
), ("rule",))

VISCOSITY = Table("viscosity", "limits of viscosity by grade", "reading", (
    _c("system", "text", "SAE J300, SAE J306 or ISO 3448"),
    _c("grade", "text", "grade without its system: 40, 15W, 90, 46"),
    _c("at", "whole", "temperature of the limits", "C"),
    _c("least", "real", "least kinematic viscosity", "mm2/s"),
    _c("most", "real", "greatest kinematic viscosity; blank = none", "mm2/s"),
    _c("most_counts", "yes or no", "the greatest is itself within the grade"),
    _c("note", "text", "anything else"),
    _MARK, _SOURCE,
), ("system", "grade"))

PHOSPHORUS = Table("phosphorus", "phosphorus of oils with a fuel-saving licence", "reading", (
    _c("standard", "text", "word in the oil's specification"),
    _c("least", "whole", "least phosphorus by mass", "ppm"),
    _c("most", "whole", "most phosphorus by mass", "ppm"),
    _c("grades", "text", "grades that the licence covers, ; between; blank = not known"),
    _MARK, _SOURCE,
), ("standard",))

FLUID_RULES = Table("fluid_rules", "what a fluid must be, by the use of the build", "reading", (
    _c("rule", "text", "name of the rule"),
    _c("kind", "text", "kind of fluid, as in the sheet fluids"),
    _c("use", "text", "words of the build's use, ; between; blank = any"),
    _c("when", "text", "conditions on the build's options"),
    _c("property", "text", "column of the sheet fluids, or alone = no other oil follows it"),
    _c("words", "text", "words of which the column must hold one, ; between"),
    _c("least", "whole or blank", "least number", "ppm"),
    _c("most", "whole or blank", "greatest number", "ppm"),
    _c("level", "text", "warn or note"),
    _c("message", "text", "what conflicts"),
    _MARK, _SOURCE,
), ("rule",))

EMISSIONS = Table("emissions", "how a removed emission control is told", "reading", (
    _c("means", "text", "device, removal, lack, denial, off road, road; caution = the caution"),
    _c("word", "text", "the word or words; blank for the caution"),
    _c("says", "text", "what the device is called, or the caution"),
    _MARK, _SOURCE,
), ("means", "word"))

REFERENCES: tuple[Table, ...] = (
    WAYS, FREEZING, SPARE_RULES, VISCOSITY, PHOSPHORUS, FLUID_RULES, EMISSIONS, THREADS, STRENGTHS,
)
# fmt: on


_BY_NAME = {table.name: table for table in REFERENCES}


@dataclass(frozen=True)
class References:
    """The reference tables that were read; one that was not is empty.

    Parameters
    ----------
    tables
        Frame by table name.
    """

    tables: Mapping[str, pd.DataFrame]

    def __getitem__(self, name: str) -> pd.DataFrame:
        """Return a table, empty when it was not read."""
        found = self.tables.get(name)
        return _BY_NAME[name].empty() if found is None else found

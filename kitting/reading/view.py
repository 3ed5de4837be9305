"""What the shop would hold after a reading: the ground on which sheets are checked together."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property, lru_cache
from typing import TYPE_CHECKING

from kitting.reading.doors import FACTS
from kitting.tables.shop import BY_NAME
from kitting.terms.findings import Finding
from kitting.terms.words import Level

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    import pandas as pd

    from kitting.reading.sheets import Sheet
    from kitting.tables.shop import Shop


@lru_cache(maxsize=len(BY_NAME))
def _empty(name: str) -> pd.DataFrame:
    return BY_NAME[name].empty()


@dataclass
class View:
    """Sheets that were read, over the tables that the shop already holds.

    Parameters
    ----------
    sheets
        Sheets that could be understood.
    unread
        Sheets that were there and could not: nothing is judged by them.
    known
        The shop as it is; ``None`` = a new one.
    findings
        Findings about tables that the shop already holds.
    """

    sheets: Mapping[str, Sheet]
    unread: frozenset[str]
    known: Shop | None
    findings: list[Finding] = field(default_factory=list)

    @cached_property
    def read(self) -> dict[str, pd.DataFrame]:
        """Frames of the sheets that were read, rows at fault too."""
        return {name: sheet.frame() for name, sheet in self.sheets.items()}

    @cached_property
    def frames(self) -> dict[str, pd.DataFrame]:
        """Frame by table name as the shop would hold it, rows at fault too."""
        return {name: self._frame(name) for name in BY_NAME}

    def _frame(self, name: str) -> pd.DataFrame:
        import pandas as pd

        held = None if self.known is None else self.known[name]
        if name not in self.sheets:
            return _empty(name) if held is None else held
        read = self.read[name]
        if held is None or not len(held) or name not in FACTS:
            return read
        return pd.concat([held, read], ignore_index=True)

    def rows(self, name: str) -> pd.DataFrame:
        """Return the rows of a table that are to be checked: of facts, only those just read."""
        if name in FACTS:
            return self.read.get(name, _empty(name))
        return self.frames[name]

    def judged(self, *names: str) -> bool:
        """Tell whether all these tables are known well enough to judge by them."""
        return not self.unread.intersection(names)

    def touched(self, *names: str) -> bool:
        """Tell whether this reading brings any of these sheets."""
        return any(name in self.sheets for name in names)

    def missing(self, *names: str) -> bool:
        """Tell whether neither this reading nor the shop has a row of these tables."""
        return not any(len(self.frames[name]) for name in names)

    def tell(
        self,
        sheet: str,
        column: str,
        faults: Mapping[str, Iterable[int]],
        level: Level = Level.STOP,
    ) -> None:
        """Note faults by message and position; of a table not just read, without its rows."""
        if not faults:
            return
        if sheet in self.sheets:
            self.sheets[sheet].log.cells(level, faults, column)
            return
        self.findings += [
            Finding(level, f"in what the shop holds: {message}", sheet, 0, column)
            for message in faults
        ]

    @cached_property
    def parts(self) -> tuple[str, ...]:
        """Part numbers."""
        return tuple(self.frames["parts"]["part"])

    @cached_property
    def assemblies(self) -> tuple[str, ...]:
        """Names of assemblies: whatever has stages, joints or lines."""
        names: dict[str, None] = {}
        for table in ("stages", "joints", "lines"):
            names |= dict.fromkeys(self.frames[table]["assembly"].unique())
        names.pop("", None)
        return tuple(names)

    @cached_property
    def children(self) -> dict[str, list[str]]:
        """Assemblies that each assembly has built in."""
        lines = self.frames["lines"]
        known = set(self.assemblies)
        built_in = lines[lines["part"].isin(known)]
        out: dict[str, list[str]] = {}
        for parent, child in zip(built_in["assembly"], built_in["part"], strict=True):
            out.setdefault(parent, []).append(child)
        return out

    @cached_property
    def _reached(self) -> dict[str, frozenset[str]]:
        return {}

    def reach(self, assembly: str) -> frozenset[str]:
        """Return an assembly and all that is built into it, at any depth."""
        found = self._reached.get(assembly)
        if found is None:
            seen, todo = {assembly}, [assembly]
            while todo:
                for child in self.children.get(todo.pop(), ()):
                    if child not in seen:
                        seen.add(child)
                        todo.append(child)
            found = self._reached[assembly] = frozenset(seen)
        return found

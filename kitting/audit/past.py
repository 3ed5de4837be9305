"""Finished builds, grouped by what they hold: on how many could a thing have been forgotten."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from kitting.audit.reach import Reach

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping

    import pandas as pd
    from numpy.typing import NDArray

    from kitting.audit.reach import Held
    from kitting.tables.shop import Shop

    Key = tuple[str, str]


class PastBuilds:
    """Finished builds in groups of equal assembly and choices, so that each is looked at once.

    Parameters
    ----------
    shop
        Reads the bill.
    finished
        Rows of ``builds`` that count in rates.
    """

    def __init__(self, shop: Shop, finished: pd.DataFrame) -> None:
        reach = Reach(shop)
        kinds = [
            (top, reach.choices(top, options, use))
            for top, options, use in zip(
                *(finished[c].tolist() for c in ("assembly", "options", "use")), strict=True
            )
        ]
        groups = {kind: n for n, kind in enumerate(dict.fromkeys(kinds))}
        self.tops = [top for top, _ in groups]
        self.held = [reach.held(*kind) for kind in groups]
        self.group = np.array([groups[kind] for kind in kinds], dtype="int64")
        self.sizes = np.bincount(self.group, minlength=len(groups))
        self._number = {build: n for n, build in enumerate(finished["build"].tolist())}

    def numbers(self, builds: Iterable[str]) -> NDArray[np.int64]:
        """Return the number of each build; below zero when it is not finished."""
        return np.array([self._number.get(build, -1) for build in builds], dtype="int64")

    def could(
        self, on: Mapping[Key, NDArray[np.int64]], held: Callable[[Held], Iterable[Key]] | None
    ) -> dict[Key, int]:
        """Return on how many builds each thing could have been forgotten.

        Parameters
        ----------
        on
            Numbers of the builds on which each thing was forgotten.
        held
            Which things of this sort a group holds; ``None`` when each can come up on all.
        """
        if held is None:
            return dict.fromkeys(on, len(self.group))
        holding: dict[Key, set[int]] = {key: set() for key in on}
        for number, what in enumerate(self.held):
            for key in held(what):
                if key in holding:
                    holding[key].add(number)
        return {key: self._one(holding[key], self.group[builds]) for key, builds in on.items()}

    def holders(self, held: Callable[[Held], Iterable[Key]]) -> dict[Key, int]:
        """Return on how many builds each thing of this sort is held, forgotten or not."""
        found: dict[Key, int] = {}
        for size, what in zip(self.sizes.tolist(), self.held, strict=True):
            for key in held(what):
                found[key] = found.get(key, 0) + size
        return found

    def _one(self, holding: set[int], on: NDArray[np.int64]) -> int:
        """Count the builds of the groups that hold it, and of assemblies where none does.

        A build on which it was forgotten counts in any case.
        """
        strange = {self.tops[n] for n in set(on.tolist())} - {self.tops[n] for n in holding}
        groups = list(holding | {n for n, top in enumerate(self.tops) if top in strange})
        return int(self.sizes[groups].sum()) + int((~np.isin(on, groups)).sum())

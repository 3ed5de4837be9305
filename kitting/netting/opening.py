"""Sets that no bill asks for as such: what they contain serves as if it were loose."""

from __future__ import annotations

from collections import defaultdict
from typing import TYPE_CHECKING

import pandas as pd

from kitting.tables.flow import SUPPLY
from kitting.terms.words import Fits

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping


def open_sets(supply: pd.DataFrame, needs: pd.DataFrame, sets: pd.DataFrame) -> pd.DataFrame:
    """Return the supply with sets beyond their own need opened, where a content is needed.

    Of the lots and orders of a set, the earliest stay closed until they cover what is asked of the
    set itself. Contents keep the days, the order and the keeping of their set, come after loose
    lots that are alike, and name the set in ``from_set``; contents that are left over or do not
    fit serve nothing. What lies in a kit stays as it is.

    Parameters
    ----------
    supply, needs
        Tables of those names.
    sets
        Table ``sets``; sets in sets are opened too.
    """
    inside = _contents(sets)
    wanted = set(needs["part"])
    useful = [name for name, held in inside.items() if wanted & held.keys()]
    mine = supply["part"].isin(useful) & (supply["kit"] == "")
    if not mine.any():
        return supply
    rows = supply[mine].sort_values("from_day", kind="stable")
    asked = needs.groupby("part")["quantity"].sum()
    own = rows["part"].map(asked).fillna(0).astype("int64")
    before = rows.groupby("part")["quantity"].cumsum() - rows["quantity"]
    closed = (own - before).clip(lower=0).clip(upper=rows["quantity"])
    opened = rows.assign(quantity=rows["quantity"] - closed)
    opened = opened[opened["quantity"] > 0]
    if opened.empty:
        return supply
    loose = pd.DataFrame(
        row | {"part": part, "quantity": row["quantity"] * each, "from_set": row["part"]}
        for row in opened.to_dict("records")
        for part, each in inside[row["part"]].items()
        if part in wanted
    )
    first = int(supply["supply"].max()) + 1
    loose = loose.assign(supply=range(first, first + len(loose)))
    left = supply["quantity"] - opened["quantity"].reindex(supply.index, fill_value=0)
    kept = supply.assign(quantity=left)[left > 0]
    return SUPPLY.conform(pd.concat([kept, SUPPLY.conform(loose)], ignore_index=True))


def _contents(sets: pd.DataFrame) -> dict[str, dict[str, int]]:
    """Return what one of each set holds that is needed, sets in sets opened."""
    listed: dict[str, list[tuple[str, int]]] = defaultdict(list)
    needed = sets[sets["fits"].isin(["", Fits.NEEDED])]
    for name, part, each in zip(*(needed[c] for c in ("set", "part", "quantity")), strict=True):
        listed[name].append((part, int(each)))
    return {name: _opened(listed, name, ()) for name in listed}


def _opened(
    listed: Mapping[str, Iterable[tuple[str, int]]], name: str, outer: tuple[str, ...]
) -> dict[str, int]:
    """Add up what one of a set holds; a set inside itself is not opened again."""
    found: dict[str, int] = defaultdict(int)
    for part, each in listed[name]:
        if part in listed and part not in (*outer, name):
            for content, number in _opened(listed, part, (*outer, name)).items():
                found[content] += number * each
        else:
            found[part] += each
    return dict(found)

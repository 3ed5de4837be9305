"""Sets: what they contain, which required rows they cover, and what they leave over."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from kitting.bill.columns import columns_of, text
from kitting.bill.totals import distinct, levels, product, ranges, total_requirements
from kitting.terms.words import Fits

if TYPE_CHECKING:
    import pandas as pd
    from numpy.typing import NDArray

    from kitting.bill.columns import Columns

    Whole = NDArray[np.int64]
    Text = NDArray[np.object_]

# A content of a content fits no better than what it comes in: the larger number wins.
_FITS = (Fits.NEEDED, Fits.LEFT_OVER, Fits.DO_NOT_FIT)
_STATES = len(_FITS)


@dataclass(frozen=True)
class Cover:
    """What sets do for required rows.

    Parameters
    ----------
    row
        The required row that each piece belongs to, in order of rows.
    quantity
        Quantity of the piece [base units]; the pieces of a row add up to the row.
    from_set
        The set that supplies the piece; blank = bought alone.
    left_overs
        variant, set, part, quantity, fits: what the sets bring beyond the need.
    """

    row: Whole
    quantity: Whole
    from_set: Text
    left_overs: Columns


@dataclass(frozen=True)
class _Contents:
    """Everything inside one of each set, sets in sets opened: rows sorted by set number."""

    names: tuple[str, ...]
    opened: frozenset[str]
    first: Whole
    part: Text
    state: Whole
    quantity: Whole


def cover(
    sets: pd.DataFrame, variant: Whole, part: Text, quantity: Whole, last: NDArray[np.bool_]
) -> Cover:
    """Let the sets that are asked for supply the parts that are asked for beside them.

    Contents that are needed cover rows of the same variant in the order given, ``last`` ones
    after the others. A set inside a set counts as there, and is opened. The set that is named is
    the one that is bought: the outermost.

    Parameters
    ----------
    sets
        Table ``sets``.
    variant, part, quantity, last
        The required rows in order of work; quantities in [base units].

    Raises
    ------
    LoopError
        When sets contain themselves.
    InputError
        When a quantity does not fit into 64 bits.
    """
    rows = np.arange(len(part), dtype=np.int64)
    asked = set(part.tolist())
    tops = [s for s in dict.fromkeys(sets["set"].tolist()) if s in asked]
    if not tops:
        blank = np.full(len(part), "", dtype=object)
        empty = _left_overs(rows[:0], part[:0], part[:0], rows[:0], rows[:0])
        return Cover(rows, quantity, blank, empty)
    contents = _open(sets, tops)
    number = {name: n for n, name in enumerate(contents.names)}
    which, bought = _bought(contents, number, (variant, part, quantity))
    begin, end = contents.first[which % len(number)], contents.first[which % len(number) + 1]
    inside = ranges(begin, end)
    copies = end - begin
    supply_variant = np.repeat(which // len(number), copies)
    supply_set = np.array(contents.names, dtype=object)[np.repeat(which % len(number), copies)]
    supply = product(contents.quantity[inside], np.repeat(bought, copies))
    supply_part, state = contents.part[inside], contents.state[inside]
    fit = state == 0
    supplied = set(supply_part[fit].tolist())
    order = rows[[p in supplied for p in part.tolist()] & (quantity > 0)]
    order = order[np.lexsort((order, last[order]))]
    pieces, sources, sizes, rest = _match(
        (variant[order], part[order], quantity[order]),
        (supply_variant[fit], supply_part[fit], supply[fit]),
    )
    spare = supply.copy()
    spare[fit] = rest
    opened = np.array([p in contents.opened for p in supply_part.tolist()], dtype=bool)
    keep = (spare > 0) & ~opened
    whole = np.setdiff1d(rows, order)
    row = np.concatenate([order[pieces], whole])
    from_set = np.full(len(row), "", dtype=object)
    from_set[: len(pieces)] = np.where(sources >= 0, np.append(supply_set[fit], "")[sources], "")
    size = np.concatenate([sizes, quantity[whole]])
    sort = np.argsort(row, kind="stable")
    return Cover(
        row[sort],
        size[sort],
        from_set[sort],
        _left_overs(
            supply_variant[keep], supply_set[keep], supply_part[keep], spare[keep], state[keep]
        ),
    )


def _open(sets: pd.DataFrame, tops: list[str]) -> _Contents:
    """Open the sets that are asked for, the outermost first."""
    every = columns_of(sets, ("set", "part", "quantity", "fits"))
    inside: dict[str, list[str]] = {}
    for name, part in zip(every["set"].tolist(), every["part"].tolist(), strict=True):
        inside.setdefault(name, []).append(part)
    found = dict.fromkeys(tops)
    todo = list(tops)
    while todo:
        fresh = [p for p in inside[todo.pop()] if p in inside and p not in found]
        found |= dict.fromkeys(fresh)
        todo += fresh
    kept = np.array([name in found for name in every["set"]], dtype=bool)
    rows = {column: values[kept] for column, values in every.items()}
    nodes = list(dict.fromkeys([*found, *rows["part"]]))
    code = {name: n for n, name in enumerate(nodes)}
    up = np.array([code[s] for s in rows["set"]], dtype=np.int64)
    down = np.array([code[p] for p in rows["part"]], dtype=np.int64)
    worst = np.array([_FITS.index(Fits(f)) if f else 0 for f in rows["fits"]], dtype=np.int64)
    depth = levels(up, down, len(nodes), nodes, "sets")
    tops = sorted(tops, key=lambda name: int(depth[code[name]]))
    states = np.arange(_STATES)[:, None]
    demand = np.zeros((len(nodes) * _STATES, len(tops)), dtype=np.int64)
    starts = np.array([code[t] * _STATES for t in tops])
    demand[starts, np.arange(len(tops))] = 1
    total = total_requirements(
        (up * _STATES + states).ravel(),
        (down * _STATES + np.maximum(worst, states)).ravel(),
        np.tile(rows["quantity"], _STATES),
        demand,
        [name for name in nodes for _ in _FITS],
        "sets",
    )
    top, node = np.nonzero((total - demand).T)
    first = np.searchsorted(top, np.arange(len(tops) + 1)).astype(np.int64)
    named = np.array(nodes, dtype=object)[node // _STATES]
    return _Contents(tuple(tops), frozenset(found), first, named, node % _STATES, total[node, top])


def _bought(
    contents: _Contents, number: dict[str, int], rows: tuple[Whole, Text, Whole]
) -> tuple[Whole, Whole]:
    """Return packed (variant, set) and how many are bought that no outer set brings along."""
    variant, part, quantity = rows
    mine = np.array([number.get(p, -1) for p in part.tolist()], dtype=np.int64)
    here = mine >= 0
    count = int(variant.max()) + 1
    asked = np.zeros((count, len(number)), dtype=np.int64)
    np.add.at(asked, (variant[here], mine[here]), quantity[here])
    brought = np.zeros_like(asked)
    for n in range(len(number)):
        asked[:, n] = np.maximum(asked[:, n] - brought[:, n], 0)
        for at in range(int(contents.first[n]), int(contents.first[n + 1])):
            inner = number.get(contents.part[at])
            if inner is not None and contents.state[at] == 0:
                one = np.full(count, contents.quantity[at])
                brought[:, inner] += product(asked[:, n], one)
    packed = np.flatnonzero(asked.ravel() > 0)
    return packed, asked.ravel()[packed]


def _match(
    need: tuple[Whole, Text, Whole], supply: tuple[Whole, Text, Whole]
) -> tuple[Whole, Whole, Whole, Whole]:
    """Lay needs and supplies of each variant and part end to end and cut where either ends.

    Returns
    -------
    piece, source, size, rest
        For each piece the number of its need and of its supply (-1 = none) and its size; for
        each supply what is left of it.
    """
    needs = len(need[0])
    names: dict[str, int] = {}
    part = [names.setdefault(p, len(names)) for p in (*need[1].tolist(), *supply[1].tolist())]
    packed = np.concatenate([need[0], supply[0]]) * len(names) + np.array(part, dtype=np.int64)
    group = np.unique(packed, return_inverse=True)[1].reshape(-1)
    groups = int(group.max(initial=-1)) + 1
    need_order = np.argsort(group[:needs], kind="stable")
    supply_order = np.argsort(group[needs:], kind="stable")
    asked = np.zeros(groups, dtype=np.int64)
    there = np.zeros(groups, dtype=np.int64)
    np.add.at(asked, group[:needs], need[2])
    np.add.at(there, group[needs:], supply[2])
    room = np.maximum(asked, there)
    offset = np.cumsum(room) - room
    need_end = _ends(need[2][need_order], group[:needs][need_order], asked, offset)
    supply_end = _ends(supply[2][supply_order], group[needs:][supply_order], there, offset)
    need_begin = need_end - need[2][need_order]
    supply_begin = supply_end - supply[2][supply_order]
    cuts = distinct(np.concatenate([need_begin, need_end, supply_begin, supply_end]))
    size = np.diff(cuts)
    by_need = _inside(cuts[:-1], need_begin, need_end)
    by_supply = _inside(cuts[:-1], supply_begin, supply_end)
    rest = supply[2].copy()
    both = (by_need >= 0) & (by_supply >= 0)
    np.subtract.at(rest, supply_order[by_supply[both]], size[both])
    taken = by_need >= 0
    source = np.where(by_supply >= 0, np.append(supply_order, -1)[by_supply], -1)
    return need_order[by_need[taken]], source[taken], size[taken], rest


def _ends(size: Whole, group: Whole, total: Whole, offset: Whole) -> Whole:
    """Return where each interval ends when those of a group start at the group's offset."""
    return np.cumsum(size) + (offset - (np.cumsum(total) - total))[group]


def _inside(at: Whole, begin: Whole, end: Whole) -> Whole:
    """Return the interval that holds each point, -1 for none; intervals are in order."""
    if not len(end):
        return np.full(len(at), -1, dtype=np.int64)
    found = np.minimum(np.searchsorted(end, at, side="right"), len(end) - 1)
    return np.where((begin[found] <= at) & (at < end[found]), found, -1)


def _left_overs(variant: Whole, name: Text, part: Text, spare: Whole, state: Whole) -> Columns:
    fits = text([f.value for f in _FITS])[state]
    return {"variant": variant, "set": name, "part": part, "quantity": spare, "fits": fits}

"""From chosen takes to the tables ``buys`` and ``buy_needs``."""

from __future__ import annotations

from collections import defaultdict
from fractions import Fraction
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from kitting.sourcing.market import FAR
from kitting.sourcing.simple import by_deal
from kitting.tables.flow import BUY_NEEDS, BUYS

if TYPE_CHECKING:
    from collections.abc import Sequence

    from kitting.sourcing.demand import Take


def frames(takes: tuple[Take, ...]) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Write the tables ``buys`` and ``buy_needs``, in order of supplier and part.

    Parameters
    ----------
    takes
        What was chosen; takes of one deal become one buy.
    """
    joined = by_deal(takes)
    joined.sort(key=lambda t: (t.deal.seller.name, t.deal.part, t.deal.usable, t.deal.pack))
    rows: list[tuple[str | int | bool, ...]] = []
    pairs: list[tuple[int, int, int]] = []
    for take in joined:
        pairs += _pairs(take, first=len(rows) + 1)
        rows += [(len(rows) + place, *row) for place, row in enumerate(_lines(take), start=1)]
    buys = _frame(BUYS.names, rows)
    for column in ("day", "arrives", "usable"):
        buys[column] = days(buys[column].tolist())
    return BUYS.conform(buys), BUY_NEEDS.conform(_frame(BUY_NEEDS.names, pairs))


def _lines(take: Take) -> list[tuple[str | int | bool, ...]]:
    """Write the lines of one take in the columns of ``buys`` after the number.

    There is one line, or one for each price step where breaks are incremental.
    """
    deal, quote = take.deal, take.deal.quote(take.units)
    day = min(need.day for need, _ in take.covers)
    left = take.units
    lines: list[tuple[str | int | bool, ...]] = []
    for step, packs, cost in deal.chunks(quote.step, quote.packs):
        needed = min(left, packs * deal.pack)
        left -= needed
        price = (step.price, step.per, cost, deal.seller.currency)
        when = (day, deal.arrives, deal.usable, deal.usable <= day)
        what = (deal.seller.name, deal.part, deal.supplier_part, step.offer)
        lines.append((*what, packs, deal.pack, packs * deal.pack, needed, *price, *when, take.why))
    return lines


def _pairs(take: Take, first: int) -> list[tuple[int, int, int]]:
    """Write which line of a take covers which need, the first line first."""
    quote = take.deal.quote(take.units)
    chunks = take.deal.chunks(quote.step, quote.packs)
    covered: dict[int, int] = defaultdict(int)
    for need, quantity in take.covers:
        covered[need.need] += quantity
    if len(chunks) == 1:
        return [(first, need, quantity) for need, quantity in covered.items()]
    found: list[tuple[int, int, int]] = []
    line, share = 0, Fraction(sum(covered.values()), take.units)
    room = chunks[0][1] * take.deal.pack * share
    for number, quantity in covered.items():
        left = quantity
        while left:
            here = left if line + 1 == len(chunks) else min(left, int(room))
            if here:
                found.append((first + line, number, here))
            left, room = left - here, room - here
            if left:
                line += 1
                room += chunks[line][1] * take.deal.pack * share
    return found


def _frame(names: list[str], rows: Sequence[tuple[str | int | bool, ...]]) -> pd.DataFrame:
    columns = zip(*rows, strict=True) if rows else ([] for _ in names)
    return pd.DataFrame({name: list(cells) for name, cells in zip(names, columns, strict=True)})


def days(numbers: list[int]) -> np.ndarray[tuple[int], np.dtype[np.datetime64]]:
    """Turn days after 1970-01-01 into dates; far ones are blank."""
    values = np.array(numbers, dtype="int64")
    dates = np.where(values >= FAR, 0, values).astype("datetime64[D]")
    dates[values >= FAR] = np.datetime64("NaT")
    return dates.astype("datetime64[s]")

"""From chosen takes to the tables ``buys`` and ``buy_needs``."""

from __future__ import annotations

from collections import defaultdict
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
    rows, pairs = [], []
    for buy, take in enumerate(joined, start=1):
        rows.append((buy, *_row(take)))
        covered: dict[int, int] = defaultdict(int)
        for need, quantity in take.covers:
            covered[need.need] += quantity
        pairs += [(buy, need, quantity) for need, quantity in covered.items()]
    buys = _frame(BUYS.names, rows)
    for column in ("day", "arrives", "usable"):
        buys[column] = _days(buys[column].tolist())
    return BUYS.conform(buys), BUY_NEEDS.conform(_frame(BUY_NEEDS.names, pairs))


def _row(take: Take) -> tuple[str | int | bool, ...]:
    """Write one buy in the columns of ``buys`` after its number."""
    deal, quote = take.deal, take.deal.quote(take.units)
    day = min(need.day for need, _ in take.covers)
    return (
        deal.seller.name,
        deal.part,
        deal.supplier_part,
        quote.step.offer,
        quote.packs,
        deal.pack,
        quote.packs * deal.pack,
        take.units,
        quote.step.price,
        quote.step.per,
        quote.cost,
        deal.seller.currency,
        day,
        deal.arrives,
        deal.usable,
        deal.usable <= day,
        take.why,
    )


def _frame(names: list[str], rows: Sequence[tuple[str | int | bool, ...]]) -> pd.DataFrame:
    columns = zip(*rows, strict=True) if rows else ([] for _ in names)
    return pd.DataFrame({name: list(cells) for name, cells in zip(names, columns, strict=True)})


def _days(numbers: list[int]) -> np.ndarray[tuple[int], np.dtype[np.datetime64]]:
    """Turn days after 1970-01-01 into dates; far ones are blank."""
    values = np.array(numbers, dtype="int64")
    dates = np.where(values >= FAR, 0, values).astype("datetime64[D]")
    dates[values >= FAR] = np.datetime64("NaT")
    return dates.astype("datetime64[s]")

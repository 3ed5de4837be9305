"""What to do today: what to order before waiting costs confidence, whom to chase, what to find."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np
import pandas as pd

from kitting.tables.outlook import TODAY
from kitting.timing.deliveries import NO_SOURCE

if TYPE_CHECKING:
    from collections.abc import Iterator
    from datetime import date

    from numpy.typing import NDArray

    from kitting.tables.shop import Shop
    from kitting.timing.deliveries import Deliveries
    from kitting.timing.outlook import Planned

    Whole = NDArray[np.int64]

_ORDER, _CHASE, _FIND, _ASK = "order", "chase", "find", "ask"
_RANK = {_FIND: 0, _ASK: 1, _CHASE: 2, _ORDER: 3}
_NEVER = np.datetime64("NaT", "s")


def today(
    shop: Shop,
    planned: Planned,
    deliveries: Deliveries,
    pairs: tuple[Whole, Whole],
    day: date,
    confidence: float,
) -> pd.DataFrame:
    """Return what to do today so that no build moves.

    Deferred needs, which never hold the bench, are left out. An order on the way is to be chased
    when its promise has passed, or when it is there in time with less than the shop's confidence.

    Parameters
    ----------
    shop
        Reads ``parts``.
    planned
        The frames of the plan.
    deliveries
        From ``deliveries``.
    pairs
        From ``covered_by``.
    day
        The day of the plan.
    confidence
        The shop's confidence.

    Returns
    -------
    DataFrame
        Table ``today``: what has no source first, then what to chase and to order, the least
        sure first.
    """
    wanted = _Wanted.of(planned.needs, deliveries)
    need, delivery = pairs
    held = wanted.held[need]
    waits = list(zip(delivery[held].tolist(), need[held].tolist(), strict=True))
    rows = [
        *_to_find(shop, wanted, [n for d, n in waits if d == NO_SOURCE]),
        *_to_chase(planned, deliveries, wanted, waits, np.datetime64(day, "s"), confidence),
        *_to_order(planned, deliveries, wanted, np.datetime64(day, "s")),
    ]
    if not rows:
        return TODAY.empty()
    rows.sort(key=lambda row: (_RANK[row["do"]], np.nan_to_num(row["chance"], nan=1.0)))
    return TODAY.conform(pd.DataFrame(rows))


class _Wanted(NamedTuple):
    """The columns of needs that are looked at, and by which day of the scale each is due."""

    build: list[str]
    stage: list[str]
    part: list[str]
    day: NDArray[np.datetime64]
    by: list[int]
    held: NDArray[np.bool_]

    @classmethod
    def of(cls, needs: pd.DataFrame, deliveries: Deliveries) -> _Wanted:
        """Read them from table ``needs``."""
        by = np.minimum(deliveries.scale.at(needs["day"]), deliveries.arrives.shape[1] - 1)
        return cls(
            build=needs["build"].tolist(),
            stage=needs["stage"].tolist(),
            part=needs["part"].tolist(),
            day=needs["day"].to_numpy("datetime64[s]"),
            by=by.tolist(),
            held=~needs["deferred"].to_numpy("bool"),
        )

    def about(self, row: int) -> dict[str, Any]:
        """Tell for whom a need is."""
        return {"build": self.build[row], "stage": self.stage[row], "needed": self.day[row]}


def _to_find(shop: Shop, wanted: _Wanted, bare: list[int]) -> Iterator[dict[str, Any]]:
    """Yield each part that nobody brings, for the first need of each build."""
    if not bare:
        return
    own = shop["parts"]
    brought = set(own.loc[own["customer_supplied"], "part"])
    told = set()
    for row in sorted(bare, key=lambda n: (wanted.by[n], n)):
        part, build = wanted.part[row], wanted.build[row]
        if (part, build) in told:
            continue
        told.add((part, build))
        yield wanted.about(row) | {
            "do": _ASK if part in brought else _FIND,
            "supplier": "",
            "order": "",
            "part": part,
            "by": _NEVER,
            "chance": 0.0,
            "tomorrow": np.nan,
        }


def _to_chase(
    planned: Planned,
    deliveries: Deliveries,
    wanted: _Wanted,
    waits: list[tuple[int, int]],
    day: np.datetime64,
    confidence: float,
) -> Iterator[dict[str, Any]]:
    """Yield each order line on the way that is overdue or too unsure for its first need."""
    coming = planned.coming
    first: dict[tuple[int, str], int] = {}
    for delivery, at in sorted(waits, key=lambda w: (wanted.by[w[1]], w[1])):
        first.setdefault((delivery, wanted.part[at]), at)
    promised = coming["promised"].to_numpy("datetime64[s]")
    columns = (coming[c].tolist() for c in ("order", "supplier", "part", "build"))
    for row, (order, supplier, part, build) in enumerate(zip(*columns, strict=True)):
        of = int(deliveries.of_line[row])
        need = first.get((of, part))
        chance = np.nan if need is None else float(deliveries.arrives[of, wanted.by[need]])
        if promised[row] < day or chance < confidence:
            nobody = {"build": build, "stage": "", "needed": _NEVER}
            yield (nobody if need is None else wanted.about(need)) | {
                "do": _CHASE,
                "supplier": supplier,
                "order": order,
                "part": part,
                "by": promised[row],
                "chance": chance,
                "tomorrow": np.nan,
            }


def _to_order(
    planned: Planned, deliveries: Deliveries, wanted: _Wanted, day: np.datetime64
) -> Iterator[dict[str, Any]]:
    """Yield each buy whose last day to order, with confidence, is today or has passed."""
    row_of = {number: row for row, number in enumerate(planned.needs["need"].tolist())}
    first: dict[int, int] = {}
    pegs = planned.buy_needs
    for buy, number in zip(pegs["buy"].tolist(), pegs["need"].tolist(), strict=True):
        at = row_of[number]
        if wanted.held[at] and wanted.by[at] < wanted.by[first.setdefault(buy, at)]:
            first[buy] = at
    limits = planned.order_by["order_by"].to_numpy("datetime64[s]")
    limit_of = dict(zip(planned.order_by["buy"].tolist(), limits, strict=True))
    columns = (planned.buys[c].tolist() for c in ("buy", "supplier", "part"))
    for row, (buy, supplier, part) in enumerate(zip(*columns, strict=True)):
        if buy in first and limit_of[buy] <= day:
            of, by = deliveries.of_buy[row], wanted.by[first[buy]]
            yield wanted.about(first[buy]) | {
                "do": _ORDER,
                "supplier": supplier,
                "order": "",
                "part": part,
                "by": limit_of[buy],
                "chance": deliveries.arrives[of, by],
                "tomorrow": deliveries.tomorrow[of, by],
            }

"""What to do today: what to order before waiting costs confidence, whom to chase, what to find."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from kitting.tables.outlook import TODAY
from kitting.timing.outlook import NO_SOURCE, covered_by

if TYPE_CHECKING:
    from collections.abc import Iterator
    from datetime import date

    from numpy.typing import NDArray

    from kitting.tables.shop import Shop
    from kitting.timing.deliveries import Deliveries
    from kitting.timing.outlook import Planned

    Whole = NDArray[np.int64]

_ORDER, _CHASE, _FIND, _ASK = "order", "chase", "find", "ask"


def today(
    shop: Shop,
    planned: Planned,
    deliveries: Deliveries,
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
    needs = planned.needs
    need, delivery = covered_by(planned, deliveries)
    held = ~needs["deferred"].to_numpy("bool")[need]
    need, delivery = need[held], delivery[held]
    by = np.minimum(deliveries.scale.at(needs["day"])[need], deliveries.arrives.shape[1] - 1)
    first = np.lexsort((need, by, delivery))
    pairs = need[first], delivery[first], by[first]
    own = shop["parts"]
    brought = set(own.loc[own["customer_supplied"], "part"])
    rows = [
        *_to_find(needs, need[delivery == NO_SOURCE], brought),
        *_to_chase(planned, deliveries, pairs, day, confidence),
        *_to_order(planned, deliveries, day),
    ]
    if not rows:
        return TODAY.empty()
    frame = TODAY.conform(pd.DataFrame(rows))
    rank = frame["do"].map({_FIND: 0, _ASK: 1, _CHASE: 2, _ORDER: 3})
    return (
        frame.assign(rank=rank)
        .sort_values(["rank", "chance", "by"], kind="stable")
        .drop(columns="rank")
        .reset_index(drop=True)
    )


def _of_need(needs: pd.DataFrame, row: int) -> dict[str, Any]:
    names = ("build", "stage", "day")
    build, stage, needed = (needs[n].iat[row] for n in names)
    return {"build": build, "stage": stage, "needed": needed}


def _to_find(needs: pd.DataFrame, bare: Whole, brought: set[str]) -> Iterator[dict[str, Any]]:
    """Yield each part that nobody brings, for the first need of each build."""
    told = set()
    for row in bare:
        part, about = needs["part"].iat[row], _of_need(needs, row)
        if (part, about["build"]) in told:
            continue
        told.add((part, about["build"]))
        yield about | {
            "do": _ASK if part in brought else _FIND,
            "supplier": "",
            "order": "",
            "part": part,
            "by": pd.NaT,
            "chance": 0.0,
            "tomorrow": np.nan,
        }


def _to_chase(
    planned: Planned,
    deliveries: Deliveries,
    pairs: tuple[Whole, Whole, Whole],
    day: date,
    confidence: float,
) -> Iterator[dict[str, Any]]:
    """Yield each order line on the way that is overdue or too unsure for its first need."""
    need, delivery, by = pairs
    coming, needs = planned.coming, planned.needs
    passed = (coming["promised"] < pd.Timestamp(day)).to_numpy()
    parts = needs["part"].to_numpy(dtype=object)[need]
    for row, of in enumerate(deliveries.of_line):
        waits = np.flatnonzero((delivery == of) & (parts == coming["part"].iat[row]))
        chance = deliveries.arrives[of, by[waits[0]]] if len(waits) else np.nan
        if not passed[row] and not chance < confidence:
            continue
        nobody = {"build": coming["build"].iat[row], "stage": "", "needed": pd.NaT}
        yield (_of_need(needs, need[waits[0]]) if len(waits) else nobody) | {
            "do": _CHASE,
            "supplier": coming["supplier"].iat[row],
            "order": coming["order"].iat[row],
            "part": coming["part"].iat[row],
            "by": coming["promised"].iat[row],
            "chance": chance,
            "tomorrow": np.nan,
        }


def _to_order(
    planned: Planned,
    deliveries: Deliveries,
    day: date,
) -> Iterator[dict[str, Any]]:
    """Yield each buy whose last day to order, with confidence, is today or has passed."""
    buys, needs = planned.buys, planned.needs
    limits = planned.order_by.set_index("buy")["order_by"].reindex(buys["buy"])
    due = np.flatnonzero((limits <= pd.Timestamp(day)).to_numpy())
    of_need = pd.Index(needs["need"])
    pegs = planned.buy_needs
    served = of_need.get_indexer(pegs["need"])
    buy_of = pegs["buy"].to_numpy()
    held = ~needs["deferred"].to_numpy("bool")[served]
    days = deliveries.scale.at(needs["day"])
    for row in due:
        mine = served[held & (buy_of == buys["buy"].iat[row])]
        if not len(mine):
            continue
        first = mine[np.argmin(days[mine])]
        by_day = min(int(days[first]), deliveries.arrives.shape[1] - 1)
        of = deliveries.of_buy[row]
        yield _of_need(needs, first) | {
            "do": _ORDER,
            "supplier": buys["supplier"].iat[row],
            "order": "",
            "part": buys["part"].iat[row],
            "by": limits.iat[row],
            "chance": deliveries.arrives[of, by_day],
            "tomorrow": deliveries.tomorrow[of, by_day],
        }

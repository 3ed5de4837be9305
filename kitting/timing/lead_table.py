"""What each supplier states, and what is to be expected of it, as a table to look at."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pandas as pd

from kitting.tables.outlook import LEAD_TIMES
from kitting.timing.lead_times import classes_of, weights
from kitting.timing.survival import EARLIEST, quantile

if TYPE_CHECKING:
    from datetime import date

    from kitting.tables.shop import Shop
    from kitting.timing.lead_times import LeadTimes


def lead_table(shop: Shop, times: LeadTimes, day: date) -> pd.DataFrame:
    """Return what each supplier states and what is to be expected, by class of offer.

    Parameters
    ----------
    shop
        Reads ``offers``.
    times
        From ``lead_times``.
    day
        The day of the plan.

    Returns
    -------
    DataFrame
        Table ``lead_times``.
    """
    stated = shop["offers"][["supplier", "lead_days"]].rename(columns={"lead_days": "stated"})
    both = pd.concat([stated, times.past[["supplier", "stated"]]])
    if both.empty:
        return LEAD_TIMES.empty()
    both = both.assign(of=classes_of(both, times.classes, times.kinds))
    usual = both.groupby(["supplier", "of"], sort=False)["stated"].median()
    lines = times.past.assign(
        of=classes_of(times.past, times.classes, times.kinds),
        weight=weights(times.past, day),
        parts=times.past["first_days"] < times.past["days"],
    )
    seen_of = dict(list(lines.groupby(["supplier", "of"], sort=False)))
    rows = []
    for (supplier, name), middle in usual.items():
        share, days = times.share(supplier, name), int(middle)
        seen = seen_of.get((supplier, name), lines.iloc[:0])
        whole = seen[seen["came"]]
        learned = "own orders" if len(seen) else "orders of its class"
        rows.append(
            {
                "supplier": supplier,
                "class": name,
                "stated": days,
                "orders": seen["weight"].sum(),
                "lines": len(seen),
                "open": len(seen) - len(whole),
                "on_time": share[-EARLIEST],
                "in_parts": whole["parts"].mean(),
                "unusable": whole["unusable"].mean(),
                "basis": learned if (name,) in times.learned else "assumption",
            }
            | {f"p{p}": max(days + quantile(share, p / 100), 0) for p in (50, 80, 90)}
        )
    return LEAD_TIMES.check(LEAD_TIMES.conform(pd.DataFrame(rows)))

"""How the known shortages of a part would best be ordered: one order, or some later."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

import pandas as pd

from kitting.sourcing.lot_sizes import lots

if TYPE_CHECKING:
    from datetime import date

WEEKS = 52


def best_lots(short: pd.DataFrame, day: date, costs: tuple[float, float], pack: int) -> str:
    """Say in which weeks to have how many packs, so that orders and holding cost least.

    Parameters
    ----------
    short
        Rows of table ``shortages`` of one part; those without a day, or past due, are for now.
    day
        The day of the plan.
    costs
        Cost of an order, and of holding a base unit for a year [cents].
    pack
        Contents of a pack [base units].

    Returns
    -------
    str
        Such as ``2 packs for 2026-03-16; 1 pack for 2026-04-20``; blank without shortages.
    """
    if short.empty:
        return ""
    monday = pd.Timestamp(day - timedelta(days=day.weekday()))
    weeks = ((short["day"].fillna(monday) - monday).dt.days // 7).clip(lower=0)
    needs = [0.0] * (int(weeks.max()) + 1)
    for week, quantity in zip(weeks.tolist(), short["quantity"].tolist(), strict=True):
        needs[week] += quantity
    fixed, holding = costs
    plan, _ = lots(needs, [fixed] * len(needs), holding / WEEKS)
    said, packs, total = [], 0, 0
    for week, quantity in enumerate(plan):
        total += round(quantity)
        more = -(-total // pack) - packs
        if more > 0:
            packs += more
            first = short.loc[weeks >= week, "day"].min()
            when = f" for {first:%Y-%m-%d}" if pd.notna(first) else ""
            said.append(f"{more} {'pack' if more == 1 else 'packs'}{when}")
    return "; ".join(said)

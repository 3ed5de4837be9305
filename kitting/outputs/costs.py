"""What some builds still cost: what is to be ordered, and what is ordered and has not come."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING

import pandas as pd

if TYPE_CHECKING:
    from collections.abc import Sequence

    from kitting.tables.plan import Plan


@dataclass(slots=True)
class Cost:
    """Goods from one supplier in one currency [cents].

    Parameters
    ----------
    to_order, on_way
        Whole lines that serve the builds, to be ordered; the builds' share of what is ordered.
    lines
        How many lines are to be ordered.
    shared
        How many of those serve other builds or the shelf as well.
    unpriced
        Lines on the way whose price nobody noted.
    """

    supplier: str
    currency: str
    to_order: int = 0
    on_way: int = 0
    lines: int = 0
    shared: int = 0
    unpriced: int = 0


def costs(plan: Plan, builds: Sequence[str]) -> list[Cost]:
    """Return what some builds still cost, by supplier; freight and charges are left out.

    Parameters
    ----------
    plan
        A plan that covers them.
    builds
        Their names.
    """
    suppliers = plan.shop["suppliers"]
    currency = dict(zip(suppliers["supplier"], suppliers["currency"], strict=True))
    found: dict[str, Cost] = {}

    def of(supplier: str) -> Cost:
        return found.setdefault(supplier, Cost(supplier, currency.get(supplier, "")))

    whose = plan.needs.set_index("need")["build"]
    pegs = plan.buy_needs.assign(own=plan.buy_needs["need"].map(whose).isin(builds))
    served = pegs.groupby("buy").agg(own=("own", "any"), only=("own", "all"))
    asked = pegs[pegs["own"]].groupby("buy")["quantity"].sum()
    for buy in plan.buys.itertuples():
        if not served["own"].get(buy.buy, False):
            continue
        cost = of(buy.supplier)
        cost.to_order += int(buy.cost)
        cost.lines += 1
        cost.shared += not served["only"][buy.buy] or int(asked[buy.buy]) < int(buy.quantity)
    for supplier, cents, unpriced in _on_the_way(plan, builds):
        cost = of(supplier)
        cost.on_way += cents
        cost.unpriced += unpriced
    return sorted(found.values(), key=lambda c: (-(c.to_order + c.on_way), c.supplier))


def _on_the_way(plan: Plan, builds: Sequence[str]) -> list[tuple[str, int, int]]:
    """Return supplier, cents and lines without a price of what is ordered for some builds."""
    lots = plan.supply.loc[plan.supply["order"] != "", ["supply", "order", "part"]]
    needs = plan.needs.loc[plan.needs["build"].isin(builds), ["need"]]
    picks = plan.picks.merge(lots, on=["supply", "part"]).merge(needs, on="need")
    if picks.empty:
        return []
    taken = picks.groupby(["order", "part"], as_index=False)["quantity"].sum()
    orders = plan.shop["orders"]
    lines = orders.drop_duplicates(["order", "part"])[
        ["order", "part", "supplier", "quantity", "price"]
    ]
    rows = taken.merge(lines, on=["order", "part"], suffixes=("", "_ordered"))
    out = []
    for row in rows.itertuples():
        if pd.isna(row.price) or not row.quantity_ordered:
            out.append((row.supplier, 0, 1))
        else:
            share = Fraction(int(row.quantity), int(row.quantity_ordered))
            out.append((row.supplier, round(min(share, Fraction(1)) * int(row.price)), 0))
    return out

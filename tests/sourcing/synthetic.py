"""Synthetic shops for the figures of sourcing: invented parts, packs, breaks, minimums, freight."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from sourcing.shops import days, shop, short

if TYPE_CHECKING:
    import pandas as pd

    from kitting.tables.shop import Shop


def synthetic(
    parts: int, sellers: int, seed: int = 1, share: float = 0.4
) -> tuple[Shop, pd.DataFrame, pd.DataFrame]:
    """Make a shop in which each supplier offers a share of all parts.

    A part costs about 1.00 a piece, lognormal; suppliers differ by 6 %, their offers by another
    12 %. Packs hold 1, 5 or 10; half of the offers have a break of 5 to 15 % at 3, 5 or 10 packs.
    Freight is 6 to 25, free from 75 to 250; the least order is 0, 25 or 50. Each part is short by
    1 to 29 pieces and everything comes in time.

    Returns
    -------
    tuple
        The shop, its shortages and the days of its offers.
    """
    chance = np.random.default_rng(seed)
    base = np.exp(chance.normal(4.6, 1.1, parts))
    suppliers = [
        {
            "supplier": f"S{number:02}",
            "freight": int(chance.integers(600, 2500)),
            "free_freight_above": int(chance.integers(7500, 25000)),
            "least_order": int(chance.choice([0, 0, 2500, 5000])),
        }
        for number in range(sellers)
    ]
    level = chance.normal(1, 0.06, sellers)
    offers = []
    for part in range(parts):
        offering = np.flatnonzero(chance.random(sellers) < share)
        for number in offering if len(offering) else [int(chance.integers(sellers))]:
            pack = int(chance.choice([1, 1, 5, 10]))
            price = base[part] * level[number] * chance.normal(1, 0.12) * pack**0.95
            row = {
                "supplier": f"S{number:02}",
                "part": f"P{part}",
                "pack": pack,
                "least_packs": int(chance.choice([1, 1, 1, 2])),
                "price": max(1, int(price)),
                "lead_days": 3,
            }
            offers.append(row)
            if chance.random() < 0.5:
                lower = max(1, int(price * chance.uniform(0.85, 0.95)))
                offers.append({**row, "from_packs": int(chance.choice([3, 5, 10])), "price": lower})
    wants = short(*((f"P{part}", int(chance.integers(1, 30)), 9) for part in range(parts)))
    the_shop = shop(suppliers, offers)
    return the_shop, wants, days(the_shop)

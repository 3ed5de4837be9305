"""How long offers take, as chances of each number of days."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from kitting.tables.outlook import LEAD_SPREAD
from kitting.timing.calendars import inspection_days
from kitting.timing.roads import carriers_of_offers
from kitting.timing.survival import EARLIEST, LATEST

if TYPE_CHECKING:
    from collections.abc import Collection

    from kitting.tables.shop import Shop
    from kitting.timing.lead_times import LeadTimes

_LEAST = 1e-6


def lead_spread(shop: Shop, times: LeadTimes, parts: Collection[str]) -> pd.DataFrame:
    """Return the chance of each number of days from order to use, table ``lead_spread``.

    The supplier's and the carrier's working days count as the shop's. What comes later than the
    distribution knows counts at its end.

    Parameters
    ----------
    shop
        Reads ``offers``, ``suppliers``, ``carriers`` and ``shop`` (setting ``goods_in_days``).
    times
        From ``lead_times``.
    parts
        Whose offers to look at.

    Raises
    ------
    InputError
        When the setting ``goods_in_days`` is not a whole number.
    """
    offers = shop.with_known_offers()["offers"]
    offers = offers[offers["part"].isin(list(parts))]
    if offers.empty:
        return LEAD_SPREAD.empty()
    goods_in = inspection_days(shop, offers["supplier"]).tolist()
    known: dict[tuple[str, int, str], pd.DataFrame] = {}
    frames = []
    columns = (offers[c].tolist() for c in ("offer", "supplier", "lead_days"))
    brings = carriers_of_offers(shop, offers)
    for offer, supplier, stated, carrier, after in zip(*columns, brings, goods_in, strict=True):
        key = supplier, stated, carrier
        if key not in known:
            share = times.share(supplier, times.class_of(supplier, stated), carrier)
            chance = np.diff(np.clip(share, 0.0, 1.0), prepend=0.0)
            chance[-1] += 1.0 - chance.sum()
            days = np.maximum(stated + np.arange(EARLIEST, LATEST + 1), 0) + after
            found = pd.DataFrame({"days": days, "chance": chance}).groupby("days").sum()
            found = found[found["chance"] > _LEAST].reset_index()
            known[key] = found
        frames.append(known[key].assign(offer=offer))
    return LEAD_SPREAD.conform(pd.concat(frames, ignore_index=True))

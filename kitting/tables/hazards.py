"""Which offers are of hazardous parts that do not come that way."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from kitting.terms.conditions import split_list

if TYPE_CHECKING:
    import pandas as pd
    from numpy.typing import NDArray

    from kitting.tables.shop import Shop


def refused(shop: Shop, offers: pd.DataFrame) -> tuple[NDArray[np.bool_], list[str]]:
    """Tell which offers of hazardous parts a seller or a carrier does not bring.

    Sellers are those of the setting ``hazard_not_by``; a carrier is the offer's own, else the
    supplier's.

    Parameters
    ----------
    shop
        Reads ``parts``, ``suppliers``, ``carriers`` and ``shop`` (setting ``hazard_not_by``).
    offers
        Has ``part``, ``supplier`` and ``carrier``.

    Returns
    -------
    tuple
        By row: whether it is refused, and by which carrier; blank = by the seller, or not at all.
    """
    parts, suppliers, carriers = shop["parts"], shop["suppliers"], shop["carriers"]
    hazardous = offers["part"].isin(parts.loc[parts["hazard"] != "", "part"]).to_numpy()
    careful = set(split_list(shop.setting("hazard_not_by")))
    no_hazard = set(carriers.loc[carriers["no_hazard"], "carrier"])
    usual = dict(zip(suppliers["supplier"], suppliers["carrier"], strict=True))
    pairs = zip(offers["supplier"].tolist(), offers["carrier"].tolist(), strict=True)
    brings = [(supplier, carrier or usual.get(supplier, "")) for supplier, carrier in pairs]
    by_carrier = [c if c in no_hazard and s not in careful else "" for s, c in brings]
    none = np.array([s in careful or bool(c) for (s, _), c in zip(brings, by_carrier, strict=True)])
    return hazardous & none.astype(bool), by_carrier

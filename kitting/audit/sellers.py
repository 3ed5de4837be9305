"""Whose delivery a forgotten part would have come by."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import pandas as pd

    from kitting.tables.shop import Shop


def sellers(events: pd.DataFrame, shop: Shop) -> list[str]:
    """Return the supplier of each forgotten part; blank when it cannot be told.

    The supplier of the order line that was for the build; otherwise of the last line of the part
    ordered up to the day it was noted; otherwise the only supplier that offers the part.

    Parameters
    ----------
    events
        Forgotten parts with ``build``, ``part`` and ``noted``.
    shop
        Reads ``orders`` and ``offers``.
    """
    orders = shop["orders"]
    orders = orders[orders["cancelled"].isna() & orders["part"].isin(events["part"])]
    orders = orders.sort_values("ordered", kind="stable", na_position="first")
    own = {
        (build, part): supplier
        for build, part, supplier in zip(
            orders["build"].tolist(), orders["part"].tolist(), orders["supplier"].tolist(),
            strict=True,
        )
        if build
    }  # fmt: skip
    earlier: dict[str, list[tuple[pd.Timestamp, str]]] = {}
    for part, day, supplier in zip(
        orders["part"].tolist(), orders["ordered"].tolist(), orders["supplier"].tolist(),
        strict=True,
    ):  # fmt: skip
        earlier.setdefault(part, []).append((day, supplier))
    offers = shop["offers"][["part", "supplier"]].drop_duplicates()
    alone = offers.drop_duplicates("part", keep=False)
    only = dict(zip(alone["part"].tolist(), alone["supplier"].tolist(), strict=True))
    found = []
    for build, part, noted in zip(
        events["build"].tolist(), events["part"].tolist(), events["noted"].tolist(), strict=True
    ):
        last = [s for day, s in earlier.get(part, ()) if not day > noted]
        found.append(own.get((build, part)) or (last[-1] if last else only.get(part, "")))
    return found

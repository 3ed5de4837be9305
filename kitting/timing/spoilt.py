"""Which order lines brought something that could not be used."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np
    import pandas as pd

    from kitting.tables.shop import Shop

# Words in a receipt's note by which something came that could not be used.
_UNUSABLE = r"\b(?:wrong|defective|faulty|damaged|broken|cracked|sent back|returned)\b"
_BAD = ("wrong", "damaged")


def spoilt(
    shop: Shop, orders: pd.DataFrame, receipts: pd.DataFrame, today: np.datetime64
) -> list[bool]:
    """Tell of each order line whether something came that could not be used.

    By a claim for wrong or damaged goods, unless they were kept after all or it was a slip; or by
    the note of a receipt. Goods that are claimed are no receipt.

    Parameters
    ----------
    shop
        Reads ``claims``.
    orders
        The order lines.
    receipts
        Receipts known on the day.
    today
        Claims after this day are not known yet.
    """
    claims = shop["claims"]
    claims = claims[claims["day"].to_numpy() <= today]
    kept = set(claims["claim"][claims["event"].isin(["kept", "withdrawn"])])
    bad = claims[(claims["event"] == "opened") & claims["what"].isin(_BAD)]
    bad = bad[~bad["claim"].isin(kept)]
    claimed = set(zip(bad["order"], bad["line"], strict=True))
    noted = receipts[receipts["note"] != ""]
    noted = noted[noted["note"].str.contains(_UNUSABLE, case=False)]
    told = set(zip(noted["order"], noted["part"], strict=True))
    columns = (orders[c].tolist() for c in ("order", "line", "part"))
    return [(o, n) in claimed or (o, p) in told for o, n, p in zip(*columns, strict=True)]

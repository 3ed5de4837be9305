"""Tools and figures are bought once: what one stage puts back serves every other."""

from __future__ import annotations

import pandas as pd

from kitting.tables.flow import BUY_NEEDS
from kitting.terms.words import LENT_ROLES


def ask_once(shortages: pd.DataFrame) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Keep one shortage of each lent part: the most that is asked at once, by the earliest day.

    Returns
    -------
    tuple
        Table ``shortages`` with one row for each lent part, and the shortages of lent parts that
        it stands for (``need``, ``stands_in`` = the need that was kept, ``quantity``).
    """
    lent = shortages[shortages["role"].isin(LENT_ROLES)]
    if lent.empty:
        return shortages, pd.DataFrame({"need": [], "stands_in": [], "quantity": []}, dtype="int64")
    rows = lent.sort_values(["deferred", "day", "need"], kind="stable")
    kept = rows.drop_duplicates("part").assign(
        quantity=lambda f: f["part"].map(lent.groupby("part")["quantity"].max())
    )
    served = lent[["need", "part", "quantity"]].merge(
        kept[["part", "need"]].rename(columns={"need": "stands_in"}), on="part"
    )
    consumed = shortages[~shortages["role"].isin(LENT_ROLES)]
    asked = pd.concat([consumed, kept]).sort_values("need", kind="stable", ignore_index=True)
    return asked, served[["need", "stands_in", "quantity"]]


def lend_on(buy_needs: pd.DataFrame, served: pd.DataFrame) -> pd.DataFrame:
    """Let each buy of a lent part cover every need that its kept need stands for.

    Parameters
    ----------
    buy_needs
        Table ``buy_needs`` for the shortages that ``ask_once`` kept.
    served
        The second answer of ``ask_once``.
    """
    if served.empty:
        return buy_needs
    others = buy_needs[~buy_needs["need"].isin(served["stands_in"])]
    lent = served.merge(
        buy_needs.rename(columns={"need": "stands_in", "quantity": "bought"}), on="stands_in"
    )
    before = lent.groupby("need")["bought"].cumsum() - lent["bought"]
    lent["quantity"] = (lent["quantity"] - before).clip(lower=0)
    lent["quantity"] = lent[["quantity", "bought"]].min(axis=1)
    return BUY_NEEDS.conform(pd.concat([others, lent[lent["quantity"] > 0]]))

"""Parts that the record put into a bin, where a count would have shown that they were not there."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pandas as pd

if TYPE_CHECKING:
    from kitting.tables.shop import Shop

_LOT = ["part", "lot", "place", "held_for", "owner"]


def miscounted(pairs: pd.DataFrame, shop: Shop) -> dict[tuple[str, str], str]:
    """Return, by build and part, what a count before the build would have shown, in words.

    Two things must be on record: before the build started, the bin was one that the check names to
    be counted first, since its last count had found another quantity than the record or was older
    than the setting ``count_days``; and the first count after that found less than the record.

    Parameters
    ----------
    pairs
        Columns ``build`` and ``part``.
    shop
        Reads ``builds``, ``counts`` and ``shop`` (setting ``count_days``).
    """
    counts = shop["counts"]
    if counts.empty:
        return {}
    starts = shop["builds"].dropna(subset=["start"])[["build", "start"]]
    rows = pairs.merge(starts, on="build").merge(counts, on="part")
    rows = rows.sort_values(["day", "count"], kind="stable")
    before = rows[rows["day"] < rows["start"]].drop_duplicates(["build", *_LOT], keep="last")
    after = rows[rows["day"] >= rows["start"]].drop_duplicates(["build", *_LOT])
    both = before.merge(after[["build", *_LOT, "day", "before", "after"]], on=["build", *_LOT])
    text = shop.setting("count_days")
    days = int(text) if text.isdecimal() else 0
    wrong = (both["before_x"] != both["after_x"]) & (both["before_x"] > 0)
    old = both["start"] - both["day_x"] > pd.Timedelta(days=days) if days else wrong & False
    found = both[(wrong | old) & (both["after_y"] < both["before_y"])]
    return {
        (row.build, row.part): (
            f"{row.place} was last counted {row.day_x:%Y-%m-%d}"
            f"{', when the record was wrong' if row.before_x != row.after_x else ''}, so the check "
            f"names it to be counted first; the count of {row.day_y:%Y-%m-%d} found less than the "
            "record"
        )
        for row in found.itertuples(index=False)
    }

"""Orders on the way that come too late for the need they could have covered."""

from __future__ import annotations

from typing import TYPE_CHECKING

from kitting.terms.findings import Finding
from kitting.terms.words import Level

if TYPE_CHECKING:
    import pandas as pd


def come_late(
    shortages: pd.DataFrame, supply: pd.DataFrame, picks: pd.DataFrame
) -> tuple[Finding, ...]:
    """Tell which coming orders hold a short part that they bring after its day.

    What is short is bought again, in time; a person decides whether to chase the order, to do
    without the new one or to call the old one off.

    Parameters
    ----------
    shortages, supply, picks
        The tables of those names.
    """
    taken = picks.groupby("supply")["quantity"].sum()
    left = supply["quantity"] - supply["supply"].map(taken).fillna(0).astype("int64")
    spare = supply[(supply["order"] != "") & (left > 0)]
    both = shortages[["part", "build", "stage", "day"]].merge(
        spare[["part", "order", "from_day", "held_for"]], on="part"
    )
    both = both[both["from_day"] > both["day"]]
    both = both[(both["held_for"] == "") | (both["held_for"] == both["build"])]
    first = both.sort_values("day", kind="stable").drop_duplicates(["part", "order", "build"])
    return tuple(
        Finding(
            Level.WARN,
            f"order {row.order} brings it on {row.from_day:%Y-%m-%d}, after {row.build} "
            f"{row.stage} needs it on {row.day:%Y-%m-%d}: chase it, or call it off once a "
            "sooner one is sent",
            sheet="orders",
            about=str(row.part),
            column=str(row.part),
        )
        for row in first.itertuples()
    )

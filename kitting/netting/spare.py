"""Spares that neither the shelf nor a coming order has left, after all needs are served."""

from __future__ import annotations

import pandas as pd

from kitting.tables.flow import NEEDS


def spare_needs(
    needs: pd.DataFrame, supply: pd.DataFrame, picks: pd.DataFrame, spares: pd.DataFrame
) -> pd.DataFrame:
    """Return the spares that would have to be bought, as needs that hold no bench.

    What is left of a part when every need is served goes first to the build that it is kept for,
    then to the builds in their order of service. Supply that is past its use-by day when the part
    is needed counts for none.

    Parameters
    ----------
    needs, supply, picks
        Tables of these names.
    spares
        Table ``spares``, in order of builds.

    Returns
    -------
    DataFrame
        Table ``needs``, numbered after the last need; stage, joint and day are those of the first
        need for the part in the build.
    """
    if spares.empty or needs.empty:
        return NEEDS.empty()
    first = needs.sort_values(["day", "need"], kind="stable").drop_duplicates(["build", "part"])
    wanted = spares[["build", "part", "spare"]].merge(
        first.drop(columns="quantity"), on=["build", "part"]
    )
    gone = supply["supply"].map(picks.groupby("supply")["quantity"].sum()).fillna(0)
    left = supply.assign(left=supply["quantity"] - gone.astype("int64"))
    usable = wanted[["build", "part", "day"]].merge(left[left["left"] > 0], on="part")
    usable = usable[~(usable["use_by"] < usable["day"])]
    own = usable[usable["held_for"] == usable["build"]].groupby(["build", "part"])["left"].sum()
    anyone = usable[usable["held_for"] == ""].groupby(["build", "part"])["left"].sum()
    keys = pd.MultiIndex.from_frame(wanted[["build", "part"]])
    lacking = (wanted["spare"] - own.reindex(keys, fill_value=0).to_numpy()).clip(lower=0)
    before = lacking.groupby(wanted["part"]).cumsum() - lacking
    there = (anyone.reindex(keys, fill_value=0).to_numpy() - before).clip(lower=0)
    short = (lacking - there).clip(lower=0)
    wanted = wanted.assign(quantity=short, deferred=True)[short > 0]
    start = int(needs["need"].max()) + 1
    wanted = wanted.assign(need=range(start, start + len(wanted)))
    return NEEDS.conform(wanted[list(NEEDS.names)].reset_index(drop=True))

"""What the bill said on the day on which a part was missed, where its versions reach so far."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from kitting.terms.units import show, unit

if TYPE_CHECKING:
    import pandas as pd

    from kitting.tables.shop import Shop

_PLACE = ["assembly", "stage", "part"]


def bill_then(events: pd.DataFrame, shop: Shop, history: pd.DataFrame) -> dict[int, str]:
    """Return what the bill of that day said of each forgotten part, in words.

    The quantity of a line then is that of today less what came since and plus what went since.
    Of days before a bill that was first read with the first version, nothing is known; a line that
    came with a later version is told all the same.

    Parameters
    ----------
    events
        Forgotten parts, from ``counted``.
    shop
        Reads ``lines``.
    history
        Table ``line_history``.

    Returns
    -------
    dict
        By entry; entries of which nothing is known are absent.
    """
    if history.empty:
        return {}
    asked = events[["entry", "joint", "unit", "noted", *_PLACE]].dropna(subset=["noted"])
    now = _at_joint(asked.merge(shop["lines"][[*_PLACE, "joint", "quantity"]], on=_PLACE))
    sums = now.groupby("entry")["quantity"].sum()
    first = history.iloc[0]
    begun = len(shop["lines"]) == history["came"].sum() - (~history["came"]).sum()
    changes = _at_joint(asked.merge(history, on=_PLACE))
    since = changes[changes["day"] > changes["noted"]]
    since = since[since["version"] > first["version"]] if begun else since
    signed = since["quantity"].where(since["came"], -since["quantity"])
    gained = signed.groupby(since["entry"]).sum()
    last = since[since["came"]].drop_duplicates("entry", keep="last").set_index("entry")
    found = {}
    for entry, of, noted in asked[["entry", "unit", "noted"]].itertuples(index=False, name=None):
        today = int(sums.get(entry, 0))
        then = today - int(gained.get(entry, 0))
        known = not begun or first["day"] <= noted
        if today > then and entry in last.index:
            found[entry] = _changed(last.loc[entry], then if known else None, of)
        elif today and today == then and known:
            found[entry] = "the bill of that day asked for as much"
    return found


def _at_joint(rows: pd.DataFrame) -> pd.DataFrame:
    """Return the rows at the entry's joint; either may leave the joint open."""
    one, other = rows["joint_x"], rows["joint_y"]
    return rows[(one == other) | (one == "") | (other == "")]


def _changed(change: pd.Series[Any], then: int | None, of: str) -> str:
    """Tell since when the bill asks for more; ``then`` = how much it asked for, if known."""
    by = f" by {change['by']}" if change["by"] else ""
    made = f"since version {change['version']} of {change['day']:%Y-%m-%d}{by}"
    if then is None:
        return made
    if then <= 0:
        return f"{made}; the bill of that day did not have it there"
    written = unit(of)
    much = show(then, written) + ("" if written.name == "piece" else f" {written.name}")
    return f"{made}; the bill of that day asked for {much} there"

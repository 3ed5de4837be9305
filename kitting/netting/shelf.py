"""Supply: lots on the shelf and orders on the way, with the days between which each is usable."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pandas as pd

from kitting.tables.flow import SUPPLY
from kitting.terms.findings import Finding
from kitting.terms.units import counted, unit
from kitting.terms.words import InKit, Level

if TYPE_CHECKING:
    from datetime import date

    from kitting.tables.shop import Shop

_ORDER = ["part", "order", "line", "place", "lot", "held_for", "assembly", "stage", "owner"]


def supply(shop: Shop, coming: pd.DataFrame, day: date) -> pd.DataFrame:
    """List what may serve needs from a day on: lots on the shelf and in kits, and what is coming.

    Lots that are past their use-by or their opened life, and order lines without a usable day,
    are left out. A lot is usable up to the earlier of its use-by and the day its part's opened
    life ends, that day included.

    Parameters
    ----------
    shop
        The shop as of ``day``.
    coming
        Table ``coming``.
    day
        First day on which the shelf can be used.

    Returns
    -------
    pandas.DataFrame
        Table ``supply``, numbered by part, shelf before order, order, line, place and lot.
    """
    today = pd.Timestamp(day)
    lots = _lots(shop)
    lots = lots[(lots["kit"] == InKit.FITTED) | ~(lots["use_by"] < today)]
    lots = lots.assign(from_day=today, order="", line=0, from_set="")
    ways = coming[(coming["quantity"] > 0) & coming["usable"].notna()]
    ways = ways.rename(columns={"usable": "from_day", "build": "held_for"}).assign(
        use_by=pd.NaT, lot="", place="", owner="", assembly="", stage="", kit="", from_set=""
    )
    names = [c for c in SUPPLY.names if c != "supply"] + ["line"]
    frames = [f[names].astype({"use_by": "datetime64[s]"}) for f in (lots, ways) if len(f)]
    if not frames:
        return SUPPLY.empty()
    rows = pd.concat(frames, ignore_index=True).sort_values(_ORDER, kind="stable")
    return SUPPLY.conform(rows.assign(supply=range(1, len(rows) + 1)))


def expired(shop: Shop, day: date) -> tuple[Finding, ...]:
    """Warn of every lot on the shelf that is past its use-by or its opened life.

    Parameters
    ----------
    shop
        The shop as of ``day``.
    day
        The day; a lot may still be used on its last day.

    Returns
    -------
    tuple of Finding
        Which lot, where, since when, and what to do; by part, place and lot.
    """
    lots = _lots(shop)
    past = lots[(lots["kit"] != InKit.FITTED) & (lots["use_by"] < pd.Timestamp(day))]
    past = past.sort_values(["part", "place", "lot", "held_for"], kind="stable")
    return tuple(
        Finding(Level.WARN, _why(row), sheet="stock", about=str(row["part"]))
        for row in past.to_dict("records")
    )


def _lots(shop: Shop) -> pd.DataFrame:
    """Return the lots with something in them; ``use_by`` is the earlier of the two limits.

    What lies in a kit is held for its build; what was fitted can no longer spoil.
    """
    stock = shop["stock"].assign(assembly="", stage="", kit="")
    kitted = shop["kitted"]
    if len(kitted):
        state = kitted["fitted"].map({False: str(InKit.PICKED), True: str(InKit.FITTED)})
        place = "kit of " + kitted["build"] + " " + kitted["stage"]
        kitted = kitted.assign(held_for=kitted["build"], place=place, kit=state)
        stock = pd.concat([stock, kitted[stock.columns]], ignore_index=True)
    there = stock[stock["quantity"] > 0]
    open_days = there["part"].map(shop["parts"].set_index("part")["open_days"])
    life = pd.to_timedelta(open_days.astype("Float64").astype("float64"), unit="D")
    printed = there["use_by"]
    opened = (there["opened"] + life).astype("datetime64[s]")
    earlier = printed.mask(printed.isna() | (opened < printed), opened)
    fitted = there["kit"] == InKit.FITTED
    return there.assign(use_by=earlier.mask(fitted, pd.NaT), printed=printed)


def _why(row: dict[str, object]) -> str:
    """Say which lot is past it and what to do."""
    measure = unit(str(row["unit"]))
    mark = f"lot {row['lot']}" if row["lot"] else "the unmarked lot"
    place = f" at {row['place']}" if row["place"] else ""
    kept = f", kept for {row['held_for']}," if row["held_for"] else ""
    end = f"{row['use_by']:%Y-%m-%d}"
    limit = (
        f"passed its use-by {end}"
        if row["use_by"] == row["printed"]
        else f"was opened {row['opened']:%Y-%m-%d} and its opened life ended {end}"
    )
    quantity = counted(int(str(row["quantity"])), measure)
    return (
        f"{mark} of {row['part']}{place}{kept} ({quantity}) {limit}; nothing is picked from it: "
        "take it off the shelf and count it out"
    )

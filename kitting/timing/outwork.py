"""Jobs that are sent out: when they go, when they are back, and what was taken off."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from kitting.tables.times import OUTWORK_DAYS, TAKEN_OFF
from kitting.terms.conditions import split_list
from kitting.terms.findings import Finding
from kitting.terms.words import Level
from kitting.timing.arrivals import through_goods_in
from kitting.timing.calendars import SHOP, by_supplier
from kitting.timing.workdays import add_days, as_days, count

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from numpy.typing import NDArray

    from kitting.tables.shop import Shop
    from kitting.terms.days import Calendar

FAMILY = "outwork"
_KEY = ["build", "assembly", "stage"]
_CHECKS = {
    "returns": "look that it is fitted again",
    "comes back": "count it; it comes back loose and is ours to fit",
    "bought": "fit a new one; it does not come back",
}
_ASK = "nobody said whether it returns; ask before the job goes out"


def outwork_days(
    shop: Shop,
    required: pd.DataFrame,
    stage_days: pd.DataFrame,
    coming: pd.DataFrame,
    calendars: Mapping[str, Calendar],
) -> pd.DataFrame:
    """Return when each job goes out, comes back, and is wanted again.

    A job is a part of the family outwork, or one that the sheet ``outwork`` names. It goes out on
    the first day of the stage whose line asks for it, after the stages which that one follows, and
    is back after its own lead time in the working days of who does it: the offer by which it is
    back first. Where it is ordered for the build, the promise of that order counts instead. It is
    wanted by the first bench stage of its assembly that follows.

    Parameters
    ----------
    shop
        Reads ``parts``, ``outwork``, ``stages``, ``offers``, ``suppliers`` and ``shop`` (setting
        ``goods_in_days``). For learned lead times, give a shop whose offers carry them.
    required, stage_days, coming
        The tables of those names.
    calendars
        From ``calendars``.

    Returns
    -------
    DataFrame
        Table ``outwork_days``.

    Raises
    ------
    UnknownName
        When an offer's supplier is not in ``suppliers``.
    InputError
        When the setting ``goods_in_days`` is not a whole number.
    """
    asked = _jobs(shop, required)
    if asked.empty:
        return OUTWORK_DAYS.empty()
    rows = asked.merge(stage_days[[*_KEY, "start"]], how="left", on=_KEY, validate="m:1")
    rows = rows.rename(columns={"start": "out", "part": "job"})
    best = _offered(shop, rows, calendars)
    ordered = _ordered(coming, rows)
    use = ~np.isnat(ordered["back"])
    back = np.where(use, ordered["back"], best["back"])
    usable = np.where(
        use, ordered["usable"], through_goods_in(best["back"], shop, calendars)
    ).astype("datetime64[D]")
    needed = _needed(shop, rows, stage_days)
    known = ~(np.isnat(usable) | np.isnat(needed))
    late = np.zeros(len(rows), dtype="int64")
    behind = np.flatnonzero(known & (usable > needed))
    if len(behind):
        late[behind] = count(needed[behind], usable[behind], calendars[SHOP])
    names = shop["parts"].set_index("part")["name"]
    frame = rows.assign(
        name=rows["job"].map(names).fillna(""),
        supplier=np.where(use, ordered["supplier"], best["supplier"]),
        back=back.astype("datetime64[s]"),
        usable=usable.astype("datetime64[s]"),
        needed=needed.astype("datetime64[s]"),
        lead_days=pd.array(np.where(use, pd.NA, best["lead"]), dtype="Int64"),
        in_time=np.isnat(needed) | (known & (late == 0)),
        days_late=late,
    )
    return OUTWORK_DAYS.check(OUTWORK_DAYS.conform(frame))


def taken_off(shop: Shop, build_joints: pd.DataFrame, days: pd.DataFrame) -> pd.DataFrame:
    """Return what each job takes off, and what to look for when it is back.

    A joint that the build does not have takes nothing off.

    Parameters
    ----------
    shop
        Reads ``outwork``, ``joints`` and ``parts``.
    build_joints
        Table ``build_joints``.
    days
        Table ``outwork_days``.

    Returns
    -------
    DataFrame
        Table ``taken_off``: by build and job, in the order of the sheet.
    """
    sheet = shop["outwork"]
    jobs = days.drop_duplicates(["build", "assembly", "job"])
    if sheet.empty or jobs.empty:
        return TAKEN_OFF.empty()
    rows = jobs[["build", "assembly", "job", "usable"]].merge(sheet, on=["assembly", "job"])
    key = ["build", "assembly", "joint"]
    closed = pd.MultiIndex.from_frame(build_joints[key])
    named = pd.MultiIndex.from_frame(shop["joints"][["assembly", "joint"]])
    here = pd.MultiIndex.from_frame(rows[key]).isin(closed)
    unknown = ~pd.MultiIndex.from_frame(rows[["assembly", "joint"]]).isin(named)
    rows = rows[here | unknown]
    names = shop["parts"].set_index("part")["name"]
    frame = rows.assign(
        name=rows["part"].map(names).fillna(""),
        check=[_CHECKS.get(fate, _ASK) for fate in rows["fate"]],
        day=rows["usable"],
    )
    return TAKEN_OFF.check(TAKEN_OFF.conform(frame))


def outwork_findings(days: pd.DataFrame) -> Iterator[Finding]:
    """Find jobs that come back too late, and jobs that nobody offers.

    Parameters
    ----------
    days
        Table ``outwork_days``.
    """
    for row in days[~days["in_time"]].itertuples(index=False):
        what = f"build {row.build}: {row.name or row.job}"
        if not row.supplier:
            message = f"{what} has no offer, so nobody knows when it is back; add who does it"
        elif pd.isna(row.usable):
            message = f"{what} has no day to be back; give the build a start, or check its lead"
        else:
            message = (
                f"{what} goes out {row.out:%Y-%m-%d} and is back from {row.supplier} and usable "
                f"{row.usable:%Y-%m-%d}, {row.days_late} working days after the next stage wants "
                f"it ({row.needed:%Y-%m-%d}); send it earlier, ask for express, or give the stage "
                f"{row.stage} more days"
            )
        yield Finding(Level.WARN, message, "offers", column="lead_days", about=str(row.build))


def _jobs(shop: Shop, required: pd.DataFrame) -> pd.DataFrame:
    """Return each job that a stage of a build asks for, once."""
    parts = shop["parts"]
    family = parts["family"].str.strip().str.casefold() == FAMILY
    jobs = {*parts.loc[family, "part"], *shop["outwork"]["job"]}
    asked = required[required["part"].isin(jobs)]
    return asked[[*_KEY, "part"]].drop_duplicates().reset_index(drop=True)


def _offered(
    shop: Shop, rows: pd.DataFrame, calendars: Mapping[str, Calendar]
) -> dict[str, NDArray[Any]]:
    """Return, for each row, who is back first, when, and the lead time."""
    offers = shop["offers"]
    whose = by_supplier(offers["supplier"], shop, calendars)
    out = as_days(rows["out"].to_numpy())
    back = np.full(len(rows), np.datetime64("NaT", "D"))
    supplier = np.full(len(rows), "", dtype=object)
    lead = np.full(len(rows), None, dtype=object)
    for job, at in rows.groupby("job", sort=False).indices.items():
        own = offers[offers["part"] == job].sort_values(["lead_days", "offer"])
        for name, days in zip(own["supplier"], own["lead_days"], strict=True):
            there = add_days(out[at], int(days), whose[name], blank_outside=True)
            first = (supplier[at] == "") | (there < back[at])
            back[at] = np.where(first, there, back[at])
            supplier[at] = np.where(first, name, supplier[at])
            lead[at] = np.where(first, int(days), lead[at])
    return {"back": back, "supplier": supplier, "lead": lead}


def _ordered(coming: pd.DataFrame, rows: pd.DataFrame) -> dict[str, NDArray[Any]]:
    """Return, for each row, the promise of the order for its build; the latest of several."""
    promised = coming.dropna(subset=["promised", "usable"]).sort_values("promised", kind="stable")
    last = promised[promised["build"] != ""].drop_duplicates(["build", "part"], keep="last")
    found = rows[["build", "job"]].merge(
        last[["build", "part", "supplier", "promised", "usable"]],
        how="left",
        left_on=["build", "job"],
        right_on=["build", "part"],
        validate="m:1",
    )
    return {
        "back": as_days(found["promised"].to_numpy()),
        "usable": as_days(found["usable"].to_numpy()),
        "supplier": found["supplier"].fillna("").to_numpy(dtype=object),
    }


def _needed(shop: Shop, rows: pd.DataFrame, stage_days: pd.DataFrame) -> NDArray[np.datetime64]:
    """Return the first day of the first bench stage that follows each row's stage."""
    stages = shop["stages"]
    then: dict[tuple[str, str], list[str]] = {}
    columns = (stages[c].tolist() for c in ("assembly", "stage", "after", "deferred"))
    for assembly, stage, after, deferred in zip(*columns, strict=True):
        if not deferred:
            for other in split_list(after):
                then.setdefault((assembly, other), []).append(stage)
    keys = zip(*(stage_days[c].tolist() for c in _KEY), strict=True)
    start = dict(zip(keys, as_days(stage_days["start"].to_numpy()), strict=True))
    needed = np.full(len(rows), np.datetime64("NaT", "D"))
    for n, key in enumerate(zip(*(rows[c].tolist() for c in _KEY), strict=True)):
        build, assembly, stage = key
        days = [start.get((build, assembly, s)) for s in then.get((assembly, stage), ())]
        known = [d for d in days if d is not None and not np.isnat(d)]
        if known:
            needed[n] = min(known)
    return needed

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
from kitting.timing.away import FAMILY
from kitting.timing.calendars import SHOP
from kitting.timing.roads import Roads, carriers_of_offers, carriers_of_orders
from kitting.timing.workdays import add_days, as_days, count

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from numpy.typing import NDArray

    from kitting.tables.shop import Shop
    from kitting.terms.days import Calendar

_KEY = ["build", "assembly", "stage"]
_NEVER = np.datetime64("NaT", "D")
_NO_DAYS = (_NEVER, _NEVER)
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

    A job is a part of the family outwork, or one that the sheet ``outwork`` names. The stage whose
    line asks for it wants it back on its first day, as it wants its other parts. It goes out when
    the nearest stage before that one begins in which nothing is done on the bench (no joints, and
    no lines but jobs); without such a stage, on the day after the first stages are finished, since
    they take apart what is sent. A job of a stage that follows none sends nothing of the build and
    is left out. Where the stage that asks is itself one in which nothing is done, the job is out
    in it and is wanted by the first bench stage that follows.

    A job is back after its own lead time in the working days of who does it and of who brings it
    (``roads``): the offer by which it can be used first. Where it is ordered for the build, the
    promise of that order counts instead, but not before it could go out.

    Parameters
    ----------
    shop
        Reads ``parts``, ``outwork``, ``stages``, ``joints``, ``lines``, ``offers``, ``suppliers``,
        ``carriers`` and ``shop`` (setting ``goods_in_days``). For learned lead times, give a shop
        whose offers carry them.
    required, stage_days, coming
        The tables of those names; of the first the rows that are not back yet.
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
    rows = _sent(shop, asked.rename(columns={"part": "job"}), stage_days, calendars[SHOP])
    if rows.empty:
        return OUTWORK_DAYS.empty()
    best = _offered(shop, rows, calendars)
    ordered = _ordered(shop, coming, rows)
    out, needed = (as_days(rows[c].to_numpy()) for c in ("out", "needed"))
    use = ~np.isnat(ordered["back"]) & ~(ordered["back"] <= out)
    back = np.where(use, ordered["back"], best["back"])
    usable = np.where(use, ordered["usable"], best["usable"]).astype("datetime64[D]")
    known = ~(np.isnat(usable) | np.isnat(needed))
    late = np.zeros(len(rows), dtype="int64")
    behind = np.flatnonzero(known & (usable > needed))
    if len(behind):
        late[behind] = count(needed[behind], usable[behind], calendars[SHOP])
    names = shop["parts"].set_index("part")["name"]
    frame = rows.assign(
        name=rows["job"].map(names).fillna(""),
        supplier=np.where(use, ordered["supplier"], best["supplier"]),
        carrier=np.where(use, ordered["carrier"], best["carrier"]),
        order=np.where(use, ordered["order"], ""),
        back=back.astype("datetime64[s]"),
        usable=usable.astype("datetime64[s]"),
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
    columns = (build_joints[c].tolist() for c in ("build", "assembly", "joint"))
    closed = set(zip(*columns, strict=True))
    named = set(zip(shop["joints"]["assembly"], shop["joints"]["joint"], strict=True))
    names = dict(zip(shop["parts"]["part"], shop["parts"]["name"], strict=True))
    listed: dict[tuple[str, str], list[dict[str, Any]]] = {}
    for taken in sheet.to_dict("records"):
        listed.setdefault((taken["assembly"], taken["job"]), []).append(taken)
    rows = []
    columns = (jobs[c].tolist() for c in ("build", "assembly", "job", "usable"))
    for build, assembly, job, day in zip(*columns, strict=True):
        for taken in listed.get((assembly, job), ()):
            joint = taken["joint"]
            if (assembly, joint) in named and (build, assembly, joint) not in closed:
                continue
            check = _CHECKS.get(taken["fate"], _ASK)
            name = names.get(taken["part"], "")
            rows.append({**taken, "build": build, "name": name, "check": check, "day": day})
    return TAKEN_OFF.conform(pd.DataFrame(rows)) if rows else TAKEN_OFF.empty()


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
            days_word = "working day" if row.days_late == 1 else "working days"
            message = (
                f"{what} goes out {row.out:%Y-%m-%d} and is back from {row.supplier} and usable "
                f"{row.usable:%Y-%m-%d}, {row.days_late} {days_word} after it is wanted "
                f"({row.needed:%Y-%m-%d}); ask for it sooner, or give it more days before "
                f"{row.stage}"
            )
        yield Finding(Level.WARN, message, "offers", column="lead_days", about=str(row.build))


def _names(shop: Shop) -> set[str]:
    """Return the parts that are jobs."""
    parts = shop["parts"]
    family = [f.strip().casefold() == FAMILY for f in parts["family"].tolist()]
    return {*parts.loc[family, "part"], *shop["outwork"]["job"]}


def _jobs(shop: Shop, required: pd.DataFrame) -> pd.DataFrame:
    """Return each job that a stage of a build asks for, once."""
    asked = required[required["part"].isin(_names(shop))]
    return asked[[*_KEY, "part"]].drop_duplicates().reset_index(drop=True)


def _offered(
    shop: Shop, rows: pd.DataFrame, calendars: Mapping[str, Calendar]
) -> dict[str, NDArray[Any]]:
    """Return, for each row, by whom it can be used first, when, and the lead time."""
    offers = shop["offers"].dropna(subset="lead_days")
    offers = offers[offers["part"].isin(rows["job"].unique())]
    roads = Roads(shop, calendars, offers["supplier"])
    by_job: dict[str, list[tuple[int, int, str, str]]] = {}
    columns = (offers[c].tolist() for c in ("part", "lead_days", "offer", "supplier"))
    for job, *offer in zip(*columns, carriers_of_offers(shop, offers), strict=True):
        by_job.setdefault(job, []).append((*offer,))
    out = as_days(rows["out"].to_numpy())
    back = np.full(len(rows), np.datetime64("NaT", "D"))
    usable = back.copy()
    supplier, brings = (np.full(len(rows), "", dtype=object) for _ in range(2))
    lead = np.full(len(rows), None, dtype=object)
    jobs = np.array(rows["job"].tolist(), dtype=object)
    for job, own in by_job.items():
        at = np.flatnonzero(jobs == job)
        for days, _, name, carrier in sorted(own):
            there = roads.of(name, carrier).at_door(out[at], days)
            whose = pd.Series([name] * len(at), dtype="str")
            then = through_goods_in(there, whose, shop, calendars)
            first = (supplier[at] == "") | (then < usable[at])
            back[at] = np.where(first, there, back[at])
            usable[at] = np.where(first, then, usable[at])
            supplier[at] = np.where(first, name, supplier[at])
            brings[at] = np.where(first, carrier, brings[at])
            lead[at] = np.where(first, days, lead[at])
    return {
        "back": back,
        "usable": usable,
        "supplier": supplier,
        "carrier": brings,
        "lead": lead,
    }


def _ordered(shop: Shop, coming: pd.DataFrame, rows: pd.DataFrame) -> dict[str, NDArray[Any]]:
    """Return, for each row, the promise of the order for its build; the latest of several."""
    known = coming[coming["part"].isin(rows["job"].unique()) & (coming["build"] != "")]
    known = known.dropna(subset=["promised", "usable"]).sort_values("promised", kind="stable")
    keys = zip(known["build"], known["part"], strict=True)
    days = as_days(known[["promised", "usable"]].to_numpy())
    whom = zip(known["supplier"], carriers_of_orders(shop, known), known["order"], strict=True)
    last = {key: (*pair, *by) for key, pair, by in zip(keys, days, whom, strict=True)}
    asked = zip(rows["build"].tolist(), rows["job"].tolist(), strict=True)
    found = [last.get(key, (*_NO_DAYS, "", "", "")) for key in asked]
    return {
        "back": np.array([f[0] for f in found], dtype="datetime64[D]"),
        "usable": np.array([f[1] for f in found], dtype="datetime64[D]"),
        **{
            name: np.array([f[n] for f in found], dtype=object)
            for n, name in enumerate(("supplier", "carrier", "order"), 2)
        },
    }


def _sent(
    shop: Shop, asked: pd.DataFrame, stage_days: pd.DataFrame, calendar: Calendar
) -> pd.DataFrame:
    """Add the day on which each job goes out and the one on which it is wanted back."""
    work = _Work(shop)
    keys = zip(*(stage_days[c].tolist() for c in _KEY), strict=True)
    days = as_days(stage_days[["start", "finish"]].to_numpy())
    at = dict(zip(keys, days, strict=True))
    rows, out, needed, after, wants = [], [], [], [], []
    for n, (build, assembly, stage) in enumerate(
        zip(*(asked[c].tolist() for c in _KEY), strict=True)
    ):

        def day_of(one: str, which: int, build: str = build, assembly: str = assembly) -> Any:
            return at.get((build, assembly, one), _NO_DAYS)[which]

        if (assembly, stage) in work.away:
            goes, first = day_of(stage, 0), [stage]
            following = work.then.get((assembly, stage), [])
            later = [day_of(s, 0) for s in following]
            wanted = min((d for d in later if not np.isnat(d)), default=_NEVER)
        else:
            before = work.before(assembly, stage)
            if not before:
                continue
            wanted, following = day_of(stage, 0), [stage]
            empty = [s for s in before if (assembly, s) in work.away]
            if empty:
                goes, first = day_of(empty[0], 0), empty[:1]
            else:
                first = [s for s in before if not work.after[assembly, s]]
                finished = max((day_of(s, 1) for s in first), default=_NEVER)
                goes = add_days(finished, 1, calendar, blank_outside=True)[0]
        rows.append(n)
        out.append(goes)
        needed.append(wanted)
        after.append("; ".join(first))
        wants.append("; ".join(following))
    return asked.iloc[rows].assign(
        out=np.array(out, dtype="datetime64[s]"),
        needed=np.array(needed, dtype="datetime64[s]"),
        after=after,
        wanted=wants,
    )


class _Work:
    """What each stage follows, and those in which nothing is done on the bench.

    Parameters
    ----------
    shop
        Reads ``stages``, ``joints``, ``lines``, ``parts`` and ``outwork``.
    """

    def __init__(self, shop: Shop) -> None:
        stages = shop["stages"]
        names = ("assembly", "stage", "after", "deferred")
        self.after: dict[tuple[str, str], tuple[str, ...]] = {}
        self.then: dict[tuple[str, str], list[str]] = {}
        bench: set[tuple[str, str]] = set()
        for assembly, stage, after, deferred in zip(
            *(stages[c].tolist() for c in names), strict=True
        ):
            self.after[assembly, stage] = split_list(after)
            if deferred:
                continue
            bench.add((assembly, stage))
            for other in split_list(after):
                self.then.setdefault((assembly, other), []).append(stage)
        lines = shop["lines"]
        other = lines[~lines["part"].isin(_names(shop))]
        busy = {
            pair
            for frame in (shop["joints"], other)
            for pair in zip(frame["assembly"], frame["stage"], strict=True)
        }
        self.away = bench - busy

    def before(self, assembly: str, stage: str) -> list[str]:
        """Return the stages that must be finished before one, the nearest first."""
        found: dict[str, None] = {}
        queue = list(self.after.get((assembly, stage), ()))
        while queue:
            one = queue.pop(0)
            if one not in found and (assembly, one) in self.after:
                found[one] = None
                queue += self.after[assembly, one]
        return list(found)

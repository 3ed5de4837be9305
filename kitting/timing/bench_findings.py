"""What a coordinator should know of a schedule: dates that do not hold, and who waits for what."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from kitting.terms.benches import PEOPLE
from kitting.terms.findings import Finding
from kitting.terms.nearest import nearest
from kitting.terms.words import Level
from kitting.timing.workdays import add_days
from kitting.timing.workload import PER_DAY, limits

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from kitting.tables.shop import Shop
    from kitting.terms.days import Calendar
    from kitting.timing.workload import Workload


@dataclass(frozen=True, slots=True)
class Line:
    """Working days counted from the first day, and their dates.

    Parameters
    ----------
    first
        Day 0.
    calendar
        The shop's.
    """

    first: np.datetime64
    calendar: Calendar

    def day(self, number: int) -> str:
        """Return the date of a working day by its number, in words."""
        found = add_days(self.first, number, self.calendar, blank_outside=True)[0]
        return "a day beyond the years that are planned" if np.isnat(found) else str(found)


def bench_findings(
    shop: Shop,
    names: Sequence[str],
    schedule: pd.DataFrame,
    load: Workload,
    starts: Sequence[int],
    calendar: Calendar,
) -> tuple[Finding, ...]:
    """Return what is odd about a schedule.

    Parameters
    ----------
    shop
        Reads ``stages``, ``dates`` and ``shop`` (setting ``benches``).
    schedule
        Table ``schedule``.
    names
        Names of the builds.
    load, starts
        The workload and the start of each of its jobs [ticks].
    calendar
        The shop's.
    """
    alone = load.jobs.earliest()
    return (
        *_strange_benches(shop),
        *_beyond(schedule),
        *_late(names, load, (starts, alone), Line(load.first, calendar)),
        *_waiting(schedule),
        *_shared(shop, schedule),
    )


def _strange_benches(shop: Shop) -> Iterator[Finding]:
    """Find names in the setting benches at which no stage is worked."""
    places = set(shop["stages"]["place"]) - {""}
    for name in limits(shop).benches:
        if name not in places:
            yield Finding(
                Level.WARN,
                f'no stage is worked at "{name}", which the setting benches names'
                f"{nearest(name, places)}",
                "shop",
                column="value",
                about=name,
            )


def _beyond(schedule: pd.DataFrame) -> Iterator[Finding]:
    out = schedule["finish"].isna() & schedule["ends"].notna()
    for build, rows in schedule[out].groupby("build", sort=False):
        yield Finding(
            Level.STOP,
            f"build {build}: stage {rows['stage'].iloc[0]} would end {rows['ends'].iloc[0]:.0f} "
            "working days after the first build's start, beyond the years that are planned; check "
            "work_days, and the settings benches and people",
            "stages",
            column="work_days",
            about=str(build),
        )


def _late(
    names: Sequence[str], load: Workload, plan: tuple[Sequence[int], Sequence[int]], line: Line
) -> Iterator[Finding]:
    """Find builds and stages that end after their date, and tell whether they could do else."""
    starts, alone = plan
    by_build: dict[int, list[int]] = {}
    for job, (at, _) in enumerate(load.places):
        by_build.setdefault(at, []).append(job)
    for at, jobs in by_build.items():
        named = {(names[at], *load.places[job][1]): [job] for job in jobs}
        for key, own in {(names[at], "", ""): jobs, **named}.items():
            due = load.dates.due.get(key)
            if due is None:
                continue
            ends, could = (
                max(load.last_day(start[j] + load.jobs.ticks[j]) for j in own)
                for start in (starts, alone)
            )
            last = due // PER_DAY - 1
            if ends > last:
                yield _too_late(key, (last, ends, could), line)


def _too_late(key: tuple[str, str, str], days: tuple[int, int, int], line: Line) -> Finding:
    """Say by how much a date is missed and what would help."""
    build, assembly, stage = key
    last, ends, could = days
    what = f"build {build}: stage {stage} of {assembly}" if stage else f"build {build}"
    due, ready, early = (line.day(n) for n in (last, ends, could))
    if could > last:
        message = (
            f"{what} cannot be finished by {due}: with every bench and everybody free it takes "
            f"until {early}, {_count(could - last)} longer; start earlier, shorten its "
            "stages, or agree a later day"
        )
    else:
        message = (
            f"{what} is finished on {ready}, {_count(ends - last)} after its date {due}; "
            f"alone on the benches it would be on {early}: give it a better priority, another "
            "bench or more people, or agree a later day"
        )
    return Finding(Level.WARN, message, "dates", column="not_after", about=build)


def _waiting(schedule: pd.DataFrame) -> Iterator[Finding]:
    """Tell of each build and each bench, or people, which stage waits longest."""
    held = schedule[schedule["waits_for"] != ""]
    for (build, what), rows in held.groupby(["build", "waits_for"], sort=False):
        longest = rows.loc[rows["waits"].idxmax()]
        others = [b for b in longest["behind"].split("; ") if b != build]
        who = f"behind {', '.join(others)}" if others else "behind the build's own stages"
        more = f"; {len(rows) - 1} more of its stages wait too" if len(rows) > 1 else ""
        yield Finding(
            Level.NOTE,
            f"stage {longest['stage']} of build {build} waits {_count(longest['waits'])} "
            f"for {what} {who}, and starts {_day(longest['start'])}{more}",
            "stages",
            column="people" if what == PEOPLE else "place",
            about=str(build),
        )


def _shared(shop: Shop, schedule: pd.DataFrame) -> Iterator[Finding]:
    """Ask which places hold one build at a time, where none is said and two builds meet."""
    if shop.setting("benches").strip():
        return
    work = schedule[~schedule["deferred"] & (schedule["place"] != "")].dropna(subset="begins")
    work = work[work["ends"] > work["begins"]].sort_values("begins", kind="stable")
    met: dict[str, tuple[str, str]] = {}
    for place, rows in work.groupby("place", sort=False):
        columns = (rows[c].tolist() for c in ("build", "begins", "ends"))
        there: list[tuple[str, float]] = []
        for build, begins, ends in zip(*columns, strict=True):
            there = [(b, e) for b, e in there if e > begins]
            others = [b for b, _ in there if b != build]
            if others and str(place) not in met:
                met[str(place)] = (others[0], build)
            there.append((build, ends))
    if met:
        place, (one, other) = next(iter(met.items()))
        listed = ", ".join(met)
        yield Finding(
            Level.NOTE,
            f"{listed}: two builds are there at once ({one} and {other} at {place}), since no "
            f'place is limited; write those that hold one build in the setting benches, "{place}"',
            "shop",
            column="value",
        )


def _day(day: pd.Timestamp) -> str:
    return f"{day:%Y-%m-%d}" if not pd.isna(day) else "beyond the years that are planned"


def _count(days: float) -> str:
    return f"{days:.3g} working day{'' if days == 1 else 's'}"

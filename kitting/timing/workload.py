"""The open builds as jobs: whose stage takes which bench, how many people, and how long."""

from __future__ import annotations

from dataclasses import dataclass, field
from math import ceil, gcd
from typing import TYPE_CHECKING

import numpy as np

from kitting.errors import InputError
from kitting.terms.benches import PEOPLE, parse_benches, parse_people
from kitting.terms.findings import Finding
from kitting.terms.words import Level
from kitting.timing.calendars import SHOP
from kitting.timing.network import linked, steps_of
from kitting.timing.serial import Jobs
from kitting.timing.stage_days import SLIVER, built_in_by_build
from kitting.timing.workdays import as_days, count, outside, roll

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    import pandas as pd

    from kitting.tables.shop import Shop
    from kitting.terms.days import Calendar
    from kitting.timing.network import Key, Network, Step

# Four minutes of eight hours: halves, thirds (0.33 too), quarters, eighths and tenths are whole.
PER_DAY = 120


@dataclass(frozen=True, slots=True)
class Limits:
    """What a shop has one or few of.

    Parameters
    ----------
    benches
        How many stages each named place holds at once.
    people
        How many people there are; 0 = no limit.
    """

    benches: Mapping[str, int]
    people: int


def limits(shop: Shop) -> Limits:
    """Read the settings ``benches`` (``bay 1; run stand; bench = 3``) and ``people``.

    Raises
    ------
    InputError
        When one of them cannot be understood.
    """
    try:
        return Limits(parse_benches(shop.setting("benches")), parse_people(shop.setting("people")))
    except ValueError as fault:
        raise _refused(str(fault)) from fault


def _refused(message: str) -> InputError:
    return InputError(message, (Finding(Level.STOP, message, "shop", column="value"),))


@dataclass
class Workload:
    """The jobs of all builds, and where each came from.

    Parameters
    ----------
    jobs
        The jobs, in ticks of ``tick`` / ``PER_DAY`` working days.
    tick
        How many 120ths of a day a tick is.
    resources
        Names of the benches, and people, by number.
    places
        Position of the build and key of the stage, by job.
    networks
        Network of each build.
    first
        First day: tick 0 is its beginning.
    groups
        Positions of the builds that have days, by group of ``jobs``.
    dates
        Days to keep.
    """

    jobs: Jobs
    tick: int
    resources: tuple[str, ...]
    places: list[tuple[int, Key]]
    networks: list[Network]
    first: np.datetime64
    groups: list[int]
    dates: Dates

    def last_day(self, end: int) -> int:
        """Return the number of the working day on which something that ends at a tick ends."""
        return max(ceil(end * self.tick / PER_DAY - SLIVER) - 1, 0)


@dataclass
class Dates:
    """Days to keep, as 120ths of a day after the first day.

    Parameters
    ----------
    release, due
        By build, assembly and stage; blank assembly and stage = the whole build.
    findings
        Days that the calendar does not know, and stages that want more people than there are.
    """

    release: dict[tuple[str, str, str], int] = field(default_factory=dict)
    due: dict[tuple[str, str, str], int] = field(default_factory=dict)
    findings: list[Finding] = field(default_factory=list)


def workload(
    shop: Shop,
    builds: pd.DataFrame,
    built_in: pd.DataFrame,
    calendars: Mapping[str, Calendar],
    ready: pd.DataFrame | None,
) -> Workload:
    """Make jobs of every bench stage of every build that has a start.

    Parameters
    ----------
    shop, builds, built_in, calendars, ready
        As for ``benches.schedule``.

    Raises
    ------
    LoopError
        When stages follow each other in a circle.
    UnknownName
        When a stage follows one that its assembly does not have.
    InputError
        When the setting ``benches`` or ``people`` cannot be understood.
    """
    calendar, limited = calendars[SHOP], limits(shop)
    steps, inside = steps_of(shop["stages"]), built_in_by_build(built_in)
    names, assemblies = builds["build"].tolist(), builds["assembly"].tolist()
    made: dict[tuple[str, frozenset[tuple[str, str, str]]], Network] = {}
    networks = []
    for build, assembly in zip(names, assemblies, strict=True):
        structure = (assembly, inside.get(build, frozenset()))
        if structure not in made:
            made[structure] = linked(assembly, sorted(structure[1]), steps)
        networks.append(made[structure])
    starts = as_days(builds["start"].to_numpy())
    starts = roll(
        np.where(outside(starts, calendar), np.datetime64("NaT", "D"), starts),
        calendar,
        blank_outside=True,
    )
    groups = np.flatnonzero(~np.isnat(starts)).tolist()
    first = starts[groups].min() if groups else np.datetime64("NaT", "D")
    dates = Dates()
    if groups:
        begin = count(np.full(len(groups), first), starts[groups], calendar) * PER_DAY
        for at, ticks in zip(groups, begin.tolist(), strict=True):
            dates.release[names[at], "", ""] = ticks
        read_dates(dates, shop["dates"], ready, first, calendar)
    gathered = _Gathered(limited, dates)
    for group, at in enumerate(groups):
        gathered.add(group, at, names[at], networks[at])
    priority = [int(builds["priority"].iloc[at]) for at in groups]
    jobs, tick = gathered.jobs([1 << (10 - min(max(p, 1), 10)) for p in priority])
    return Workload(jobs, tick, gathered.resources, gathered.places, networks, first, groups, dates)


def read_dates(
    dates: Dates,
    sheet: pd.DataFrame,
    ready: pd.DataFrame | None,
    first: np.datetime64,
    calendar: Calendar,
) -> None:
    """Add the days of the sheet ``dates``, and those on which kits are ready."""
    keys = list(zip(*(sheet[c].tolist() for c in ("build", "assembly", "stage")), strict=True))
    for key, days in _counted(keys, sheet["not_before"], (first, calendar, False), dates.findings):
        dates.release[key] = max(dates.release.get(key, 0), days * PER_DAY)
    for key, days in _counted(keys, sheet["not_after"], (first, calendar, True), dates.findings):
        dates.due[key] = (days + 1) * PER_DAY
    if ready is not None:
        keys = list(zip(*(ready[c].tolist() for c in ("build", "assembly", "stage")), strict=True))
        held = (~ready["state"].isin(["deferred"])).to_numpy()
        keys = [k for k, h in zip(keys, held, strict=True) if h]
        for key, days in _counted(keys, ready.loc[held, "ready"], (first, calendar, False), []):
            dates.release[key] = max(dates.release.get(key, 0), days * PER_DAY)


def _counted(
    keys: Iterable[tuple[str, str, str]],
    days: pd.Series[pd.Timestamp],
    line: tuple[np.datetime64, Calendar, bool],
    findings: list[Finding],
) -> list[tuple[tuple[str, str, str], int]]:
    """Count working days from the first day to each; what the calendar does not know is told."""
    first, calendar, back = line
    found = []
    for key, day in zip(keys, as_days(days.to_numpy()), strict=True):
        if np.isnat(day):
            continue
        rolled = np.datetime64("NaT", "D")
        if not outside(np.array([day]), calendar)[0]:
            rolled = roll(day, calendar, back=back, blank_outside=True)[0]
        if np.isnat(rolled):
            message = (
                f"build {key[0]}: {day} lies outside the years that are planned, so it is not "
                "kept; check the year"
            )
            findings.append(Finding(Level.WARN, message, "dates", about=key[0]))
            continue
        ends = sorted((first, rolled))
        days_between = int(count(ends[0], ends[1], calendar)[0])
        found.append((key, days_between if rolled >= first else -days_between))
    return found


class _Gathered:
    """Jobs while they are gathered, build by build."""

    def __init__(self, limited: Limits, dates: Dates) -> None:
        self.limited, self.dates = limited, dates
        self.resources = (*limited.benches, *((PEOPLE,) if limited.people else ()))
        self.at = {name: n for n, name in enumerate(self.resources)}
        self.places: list[tuple[int, Key]] = []
        self.rows: list[tuple[int, tuple[int, ...], tuple[tuple[int, int], ...], int, int]] = []
        self.due: list[int | None] = []
        self.holder: list[int] = []
        self.holders: dict[tuple[int, str], int] = {}

    def add(self, group: int, at: int, build: str, network: Network) -> None:
        """Add the bench stages of a build."""
        release, due = self.dates.release, self.dates.due
        number: dict[Key, int] = {}
        for key in network.order:
            if key not in network.bench_follows:
                continue
            number[key] = len(self.rows)
            step = network.nodes[key]
            days = [due[k] for k in ((build, "", ""), (build, *key)) if k in due]
            self.rows.append(
                (
                    ticks_of(step.work_days),
                    tuple(sorted(number[other] for other in network.bench_follows[key])),
                    self._demands(step, build),
                    max(release[build, "", ""], release.get((build, *key), 0)),
                    group,
                )
            )
            self.due.append(min(days) if days else None)
            # What is assembled stands on the bench, so several may work on it there at once.
            self.holder.append(self.holders.setdefault((at, key[0]), len(self.holders)))
            self.places.append((at, key))

    def _demands(self, step: Step, build: str) -> tuple[tuple[int, int], ...]:
        found = [(self.at[step.place], 1)] if step.place in self.limited.benches else []
        people = step.people
        if self.limited.people and people > self.limited.people:
            message = (
                f"stage {step.stage} of {step.assembly} takes {people} people and the shop has "
                f"{self.limited.people}, so all are planned for it; correct people in stages, or "
                "in the sheet shop"
            )
            finding = Finding(Level.WARN, message, "stages", column="people", about=build)
            if all(f.message != message for f in self.dates.findings):
                self.dates.findings.append(finding)
            people = self.limited.people
        if self.limited.people and people:
            found.append((self.at[PEOPLE], people))
        return tuple(found)

    def jobs(self, weight: list[int]) -> tuple[Jobs, int]:
        """Return the jobs in the coarsest ticks that hold every length and start."""
        ticks, before, demands, release, group = (
            zip(*self.rows, strict=True) if self.rows else ((), (), (), (), ())
        )
        tick = gcd(*ticks, *release) or PER_DAY
        # A stage that ends within the day's first minutes ends on the day before.
        sliver = int(SLIVER * PER_DAY)
        return Jobs(
            ticks=tuple(t // tick for t in ticks),
            before=tuple(before),
            demands=tuple(demands),
            release=tuple(r // tick for r in release),
            group=tuple(group),
            due=tuple(None if d is None else (d + sliver) // tick for d in self.due),
            capacity=(
                *self.limited.benches.values(),
                *((self.limited.people,) if self.limited.people else ()),
            ),
            weight=tuple(weight),
            holder=tuple(self.holder),
            shared=tuple(name != PEOPLE for name in self.resources),
        ), tick


def ticks_of(work_days: float) -> int:
    """Return working days as 120ths of a day; what is above nothing takes one at least."""
    return max(round(work_days * PER_DAY), 1 if work_days > 0 else 0)

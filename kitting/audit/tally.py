"""What is forgotten most: by part, family, joint, stage and cause, and over time."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from kitting.audit.events import counted
from kitting.audit.past import PastBuilds
from kitting.audit.rates import wilson
from kitting.tables.audit import TALLY, TREND

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping

    from numpy.typing import NDArray

    from kitting.audit.reach import Held
    from kitting.tables.shop import Shop

    Key = tuple[str, str]
    Whole = NDArray[np.int64]

RECENT = 5
ANY = "any part"


def tally(shop: Shop) -> dict[str, pd.DataFrame]:
    """Count the forgotten parts of all builds.

    A rate is the share of finished builds on which a thing was forgotten among those on which it
    could have been: the builds whose bill, by today's sheets and the build's own options, holds
    the part (alone or in a set), a part of the family, the joint or the stage. A thing that no
    bill of an assembly holds could have been forgotten on every finished build of the assemblies
    on which it was. A cause, and any part at all, could come up on every finished build. Builds
    that are not finished give events and losses, but no rates.

    Parameters
    ----------
    shop
        Reads ``forgotten``, ``builds``, ``parts`` and the bill.

    Returns
    -------
    dict
        ``all``, ``part``, ``family``, ``joint``, ``stage`` and ``cause``: table ``tally``, most
        forgotten first, then dearest; things without a name (no family, no joint) are left out.
        ``trend``: table ``trend``.

    Raises
    ------
    ValueError
        When a condition or a build's options cannot be read.
    """
    events = counted(shop)
    finished = shop["builds"].dropna(subset="finished")
    past = PastBuilds(shop, finished)
    family = dict(shop["parts"][["part", "family"]].to_numpy().tolist())
    build = past.numbers(events["build"].tolist())
    losses = events["hours_lost"].to_numpy(), events["money_lost"].to_numpy()
    own = events["assembly"].tolist()
    no = [""] * len(events)

    def made(
        by: str,
        keys: list[Key],
        held: Callable[[Held], Iterable[Key]] | None = None,
        labels: Mapping[Key, str] | None = None,
    ) -> pd.DataFrame:
        counts = _Counts(keys, build, losses)
        return counts.ranked(by, past.could(counts.on, held), labels or {})

    def keys(assembly: list[str], column: str) -> list[Key]:
        return list(zip(assembly, events[column].tolist(), strict=True))

    parts = keys(no, "part")
    return {
        "all": made("all", [("", ANY)] * len(events)),
        "part": made(
            "part",
            parts,
            lambda h: (("", p) for p in h.parts),
            dict(zip(parts, events["label"].tolist(), strict=True)),
        ),
        "family": made(
            "family", keys(no, "family"), lambda h: {("", family.get(p, "")) for p in h.parts}
        ),
        "joint": made(
            "joint",
            keys(own, "joint"),
            lambda h: h.joints,
            _labels(shop["joints"], "joint", "joins"),
        ),
        "stage": made(
            "stage",
            keys(own, "stage"),
            lambda h: h.stages,
            _labels(shop["stages"], "stage", "name"),
        ),
        "cause": made("cause", keys(no, "cause")),
        "trend": _trend(events, finished),
    }


def _labels(frame: pd.DataFrame, name: str, label: str) -> dict[Key, str]:
    columns = (frame[c].tolist() for c in ("assembly", name, label))
    return {(assembly, key): text for assembly, key, text in zip(*columns, strict=True)}


class _Counts:
    """Events, builds and losses of each thing that has a name.

    Parameters
    ----------
    keys
        Assembly and name, by event.
    build
        Number of the finished build, by event; below zero for an open one.
    losses
        Hours and money, by event.
    """

    def __init__(
        self, keys: list[Key], build: Whole, losses: tuple[NDArray[np.float64], Whole]
    ) -> None:
        numbers: dict[Key, int] = {}
        code = np.array(
            [numbers.setdefault(k, len(numbers)) if k[1] else -1 for k in keys], dtype="int64"
        )
        kept = code >= 0
        code, build = code[kept], build[kept]
        self.names = list(numbers)
        n = len(numbers)
        self.events = np.bincount(code, minlength=n)
        self.hours = np.bincount(code, losses[0][kept], n)
        self.money = np.zeros(n, dtype="int64")
        np.add.at(self.money, code, losses[1][kept])
        past = build >= 0
        width = int(build.max(initial=0)) + 1
        pairs = np.unique(code[past] * width + build[past])
        self.builds = np.bincount(pairs // width, minlength=n)
        ends = np.cumsum(self.builds)
        on = np.split(pairs % width, ends[:-1]) if n else []
        self.on = dict(zip(self.names, on, strict=True))

    def ranked(self, by: str, could: Mapping[Key, int], labels: Mapping[Key, str]) -> pd.DataFrame:
        """Return table ``tally``, most forgotten first."""
        of = np.array([could[key] for key in self.names], dtype="int64")
        low, high = wilson(self.builds, of)
        frame = pd.DataFrame(
            {
                "by": by,
                "assembly": [assembly for assembly, _ in self.names],
                "name": [name for _, name in self.names],
                "label": [labels.get(key, "") for key in self.names],
                "events": self.events,
                "builds": self.builds,
                "could": of,
                "rate": np.where(of > 0, self.builds / np.maximum(of, 1), np.nan),
                "low": low,
                "high": high,
                "hours_lost": self.hours,
                "money_lost": self.money,
            }
        )
        frame = frame.sort_values(
            ["events", "builds", "money_lost", "hours_lost", "assembly", "name"],
            ascending=[False, False, False, False, True, True],
        )
        return TALLY.check(TALLY.conform(frame))


def _trend(events: pd.DataFrame, finished: pd.DataFrame) -> pd.DataFrame:
    """Return the finished builds in order of finish, with what each forgot."""
    builds = finished.sort_values(["finished", "build"], ignore_index=True)
    sums = events.groupby("build").agg(
        events=("entry", "size"), hours_lost=("hours_lost", "sum"), money_lost=("money_lost", "sum")
    )
    own = sums.reindex(builds["build"]).fillna(0).reset_index(drop=True)
    position = np.arange(1, len(builds) + 1)
    return TREND.conform(
        pd.concat([builds[["build", "assembly", "finished"]], own], axis=1).assign(
            position=position,
            so_far=own["events"].cumsum() / position,
            recent=own["events"].rolling(RECENT, min_periods=1).mean(),
        )
    )

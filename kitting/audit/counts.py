"""Events, builds and losses of each thing that has a name, as rows of table ``tally``."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from kitting.audit.expected import expected
from kitting.audit.rates import wilson
from kitting.tables.audit import TALLY

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping, Sequence

    from numpy.typing import NDArray

    from kitting.audit.past import PastBuilds
    from kitting.audit.reach import Held

    Key = tuple[str, str]
    Whole = NDArray[np.int64]


@dataclass(frozen=True)
class Aspect:
    """One way to count forgotten parts.

    Parameters
    ----------
    by
        What is counted.
    keys
        Assembly and name, by event; those without a name are left out.
    held
        Which things of this sort a build holds; ``None`` when each can come up on any.
    known
        The names that can come up, where no build tells.
    labels
        What the shop calls them.
    group
        Name of a thing's like, towards whose rate its own is drawn.
    """

    by: str
    keys: list[Key]
    held: Callable[[Held], Iterable[Key]] | None = None
    known: Sequence[str] = ()
    labels: Mapping[Key, str] = field(default_factory=dict)
    group: Callable[[Key], str] | None = None


@dataclass(frozen=True)
class Losses:
    """What each event cost.

    Parameters
    ----------
    build
        Number of the finished build; below zero for an open one.
    hours, money
        Work hours and cents lost.
    hour_rate
        What one hour costs [cents].
    """

    build: Whole
    hours: NDArray[np.float64]
    money: Whole
    hour_rate: int


def counted_by(aspect: Aspect, losses: Losses, past: PastBuilds) -> pd.DataFrame:
    """Return table ``tally`` of one aspect, most forgotten first, then dearest."""
    counts = _Counts(aspect.keys, losses)
    could = past.could(counts.on, aspect.held)
    of = np.array([could[key] for key in counts.names], dtype="int64")
    if aspect.held is None:
        others = {("", name): len(past.group) for name in aspect.known}
    else:
        others = past.holders(aspect.held)
    pairs = dict(
        zip(counts.names, zip(counts.builds.tolist(), of.tolist(), strict=True), strict=True)
    )
    toward, mean, lowest, highest = expected(pairs, others, aspect.group)
    low, high = wilson(counts.builds, of)
    cents = np.floor(counts.hours * losses.hour_rate + 0.5).astype("int64") + counts.money
    frame = pd.DataFrame(
        {
            "by": aspect.by,
            "assembly": [assembly for assembly, _ in counts.names],
            "name": [name for _, name in counts.names],
            "label": [aspect.labels.get(key, "") for key in counts.names],
            "events": counts.events,
            "builds": counts.builds,
            "could": of,
            "rate": np.where(of > 0, counts.builds / np.maximum(of, 1), np.nan),
            "low": low,
            "high": high,
            "hours_lost": counts.hours,
            "money_lost": counts.money,
            "toward": toward,
            "expected": mean,
            "expected_low": lowest,
            "expected_high": highest,
            "cost": cents,
            "share": counts.events / max(int(counts.events.sum()), 1),
        }
    )
    frame = frame.sort_values(
        ["events", "builds", "cost", "hours_lost", "assembly", "name"],
        ascending=[False, False, False, False, True, True],
    )
    frame["running"] = frame["share"].cumsum().clip(upper=1.0)
    return TALLY.check(TALLY.conform(frame))


class _Counts:
    """Events, builds and losses by name.

    Parameters
    ----------
    keys
        Assembly and name, by event.
    losses
        Builds and losses, by event.
    """

    def __init__(self, keys: list[Key], losses: Losses) -> None:
        numbers: dict[Key, int] = {}
        code = np.array(
            [numbers.setdefault(k, len(numbers)) if k[1] else -1 for k in keys], dtype="int64"
        )
        kept = code >= 0
        code, build = code[kept], losses.build[kept]
        self.names = list(numbers)
        n = len(numbers)
        self.events = np.bincount(code, minlength=n)
        self.hours = np.bincount(code, losses.hours[kept], n)
        self.money = np.zeros(n, dtype="int64")
        np.add.at(self.money, code, losses.money[kept])
        past = build >= 0
        width = int(build.max(initial=0)) + 1
        pairs = np.unique(code[past] * width + build[past])
        self.builds = np.bincount(pairs // width, minlength=n)
        ends = np.cumsum(self.builds)
        on = np.split(pairs % width, ends[:-1]) if n else []
        self.on = dict(zip(self.names, on, strict=True))

"""Earliest and latest start of every stage, slack, and the path that decides the end."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from kitting.timing.network import forward, linked

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from kitting.timing.network import BuiltIn, Network, Step

    Key = tuple[str, str]

# Sums of thirds and tenths differ in their last bits.
TIGHT = 1e-6


@dataclass(frozen=True, slots=True)
class Timed:
    """A stage with its room in time.

    Parameters
    ----------
    step
        The stage; its work days are the expected ones.
    start, end
        Earliest start and end after the build's start [working days].
    latest_start, latest_end
        Latest ones by which the build still ends as early as it can [working days].
    variance
        Variance of its end along the path that decides its start; of alike paths the one that
        varies most [working days squared].
    """

    step: Step
    start: float
    end: float
    latest_start: float
    latest_end: float
    variance: float

    @property
    def slack(self) -> float:
        """How far it may slip before the build does [working days]."""
        return self.latest_start - self.start

    @property
    def critical(self) -> bool:
        """It may not slip at all."""
        return self.slack <= TIGHT


def timed(
    assembly: str, built_in: Iterable[BuiltIn], steps: Mapping[str, Sequence[Step]]
) -> list[Timed]:
    """Return every stage of an assembly, and of what is built into it, with its room in time.

    Benches and people are not limited here. A deferred stage holds only deferred ones, so its
    latest days come from them and from the end of all that is deferred.

    Parameters
    ----------
    assembly, built_in, steps
        As for ``network.place``.

    Returns
    -------
    list
        In order of work, as ``network.place`` gives it.

    Raises
    ------
    LoopError
        When stages follow each other in a circle.
    UnknownName
        When a stage follows one that its assembly does not have.
    """
    network = linked(assembly, built_in, steps)
    placed = {p.step.key: p for p in forward(network)}
    bench = {key: p.end for key, p in placed.items() if not p.step.deferred}
    latest_bench = _latest(network, bench, network.bench_follows)
    later = {key: network.follows_of(key) for key, p in placed.items() if p.step.deferred}
    latest_all = _latest(network, {key: p.end for key, p in placed.items()}, later)
    spread = _variances(network, {key: p.start for key, p in placed.items()})
    found = []
    for key, p in placed.items():
        latest = latest_all[key] if p.step.deferred else latest_bench[key]
        work = p.step.work_days
        found.append(Timed(p.step, p.start, p.end, latest - work, latest, spread[key]))
    return found


def _latest(
    network: Network, ends: Mapping[Key, float], follows: Mapping[Key, Iterable[Key]]
) -> dict[Key, float]:
    """Return the latest end of each key, back from the end of all that are in ``ends``."""
    last = max(ends.values(), default=0.0)
    latest = dict.fromkeys(network.order, last)
    for key in reversed(network.order):
        if key not in follows:
            continue
        start = latest[key] - network.nodes[key].work_days
        for other in follows[key]:
            latest[other] = min(latest[other], start)
    return latest


def _variances(network: Network, start: Mapping[Key, float]) -> dict[Key, float]:
    """Return the variance of each stage's end along the stages that decide its start."""
    found: dict[Key, float] = {}
    for key in network.order:
        step = network.nodes[key]
        if not step.stage:
            continue
        tight = [
            found[other]
            for other in network.follows_of(key)
            if abs(start[other] + network.nodes[other].work_days - start[key]) <= TIGHT
        ]
        found[key] = step.variance + max(tight, default=0.0)
    return found

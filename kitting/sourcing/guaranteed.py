"""Where to keep stock so that each step of the work can promise its days, at least cost.

Guaranteed service: S. C. Graves and S. P. Willems, Optimizing strategic safety stock placement in
supply chains, Manufacturing & Service Operations Management 2(1):68-83, 2000.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from math import inf
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping

    from numpy.typing import NDArray

    Real = NDArray[np.float64]

_EQUAL = 1e-9


@dataclass(frozen=True, slots=True)
class Step:
    """One step of the work, after which stock may be kept.

    Parameters
    ----------
    days
        How long it takes once all that it needs is there [days].
    cost
        What stock costs that bridges a number of days, none included; infinite where none can be
        kept, and never less for more days [money per time].
    waits
        Least days until what it needs from outside is there [days].
    promise
        Most days in which it must hand out; ``None`` = nothing is promised to anyone outside.
    """

    days: int
    cost: Callable[[int], float]
    waits: int = 0
    promise: int | None = None


class Link(NamedTuple):
    """What one step hands to another.

    Parameters
    ----------
    giver, taker
        Names of steps.
    later
        How long after its start the taker needs it [days].
    """

    giver: str
    taker: str
    later: int = 0


class Served(NamedTuple):
    """What a step waits for its inputs, in which time it hands out, and what its stock bridges.

    ``bridges`` is what is left of waiting and work beyond ``gives`` [days each].
    """

    waits: int
    gives: int
    bridges: int


class Tree:
    """Steps without a loop, whichever way the links run.

    A step starts when the last of its inputs is there and hands out in the same time always; its
    stock bridges the days between. By dynamic programming from the outermost steps to ``last``,
    each with the least cost for each number of days that it waits or gives.

    Parameters
    ----------
    steps
        Steps by name.
    links
        Links that join all steps, one fewer than there are steps.
    last
        The step whose days are asked for.
    """

    def __init__(self, steps: Mapping[str, Step], links: Iterable[Link], last: str) -> None:
        self.last = last
        self._steps = steps
        self._near: dict[str, list[Link]] = defaultdict(list)
        for link in links:
            self._near[link.giver].append(link)
            self._near[link.taker].append(link)
        self._most: dict[str, int] = {}
        for name in steps:
            self._find_most(name)
        self._toward: dict[str, Link] = {}
        order = [last]
        for name in order:
            for link in self._outward(name):
                other = _other(link, name)
                self._toward[other] = link
                order.append(other)
        self._told: dict[str, Real] = {}
        for name in reversed(order[1:]):
            self._told[name] = self._tell(name)
        self.least = self._costs(last).min(axis=0)
        """Least cost of all stock for each number of days in which ``last`` hands out."""

    def within(self, days: int) -> dict[str, Served]:
        """Return what each step does at least cost when ``last`` hands out within some days.

        Where two ways cost the same, what is handed out later stands, so that less is kept.

        Raises
        ------
        ValueError
            When it cannot be done; the least days are in the message.
        """
        gives = _latest(self.least[: days + 1])
        if self.least[gives] == inf:
            raise ValueError(f"at least {self.soonest} days are needed")
        found: dict[str, Served] = {}
        ahead = [(self.last, _first(self._costs(self.last)[:, gives]), gives)]
        while ahead:
            name, row, gives = ahead.pop()
            waits = row + self._steps[name].waits
            found[name] = Served(waits, gives, waits + self._steps[name].days - gives)
            for link in self._outward(name):
                other = _other(link, name)
                costs = self._costs(other)
                if link.giver == other:
                    then = _latest(costs.min(axis=0)[: waits + link.later + 1])
                    ahead.append((other, _first(costs[:, then]), then))
                else:
                    least = max(gives - link.later - self._steps[other].waits, 0)
                    at = least + _first(costs.min(axis=1)[least:])
                    ahead.append((other, at, _latest(costs[at])))
        return found

    @property
    def soonest(self) -> int:
        """Return the fewest days in which ``last`` can hand out at all."""
        return int(np.argmax(np.isfinite(self.least)))

    def _outward(self, name: str) -> list[Link]:
        """Return the links of a step but the one that leads toward ``last``."""
        return [link for link in self._near[name] if link is not self._toward.get(name)]

    def _find_most(self, name: str) -> int:
        """Return in how many days a step hands out when nothing is kept anywhere."""
        if name not in self._most:
            step = self._steps[name]
            inputs = [link for link in self._near[name] if link.taker == name]
            waits = (self._find_most(link.giver) - link.later for link in inputs)
            self._most[name] = max(step.waits, *waits, 0) + step.days
        return self._most[name]

    def _costs(self, name: str) -> Real:
        """Return the least cost of a step and all beyond it.

        A row for each number of days that it waits, from its least; a column for each in which it
        hands out.
        """
        step, most = self._steps[name], self._most[name]
        waits = np.arange(step.waits, most - step.days + 1)[:, None]
        gives = np.arange(most + 1)[None, :]
        held = np.array([step.cost(n) for n in range(most + 1)], dtype=np.float64)
        bridges = waits + step.days - gives
        found = np.where(bridges >= 0, held[np.maximum(bridges, 0)], inf)
        if step.promise is not None:
            found[:, step.promise + 1 :] = inf
        for link in self._outward(name):
            told = self._told[_other(link, name)]
            found += told[:, None] if link.taker == name else told[None, :]
        return np.asarray(found, dtype=np.float64)

    def _tell(self, name: str) -> Real:
        """Return the least cost of a step and all beyond, for each days of the step before it."""
        link, costs = self._toward[name], self._costs(name)
        if link.giver == name:
            taker = link.taker
            step = self._steps[taker]
            waits = np.arange(step.waits, self._most[taker] - step.days + 1)
            best = np.minimum.accumulate(costs.min(axis=0))
            return np.asarray(best[np.minimum(waits + link.later, len(best) - 1)])
        gives = np.arange(self._most[link.giver] + 1)
        best = np.minimum.accumulate(costs.min(axis=1)[::-1])[::-1]
        least = self._steps[name].waits
        return np.asarray(best[np.maximum(gives - link.later - least, 0)])


def _other(link: Link, name: str) -> str:
    return link.taker if link.giver == name else link.giver


def _latest(costs: Real) -> int:
    """Return the last place of the least cost, but for the last digits; 0 where none is finite."""
    least = costs.min()
    if least == inf:
        return 0
    return int(np.flatnonzero(costs <= least + _EQUAL * max(abs(least), 1.0))[-1])


def _first(costs: Real) -> int:
    return int(np.argmin(costs))

"""The proved choice: the best set of orders for all shortages together, and two others beside it.

``balanced`` costs least when waiting and parcels are counted; ``least cost`` pays suppliers least,
come when it may; ``earliest`` lets no stage wait longer than it must, has the last part come as
early as it can, and is the cheapest of those.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from kitting.sourcing.choose import order_values, without_small_orders
from kitting.sourcing.formulate import Model, formulate, takes_of, ways_to_buy
from kitting.sourcing.policy import Pins, Policy
from kitting.sourcing.prove import Effort, prove
from kitting.sourcing.simple import Choice, choose_simply
from kitting.sourcing.worth import Worth, free, weigh

if TYPE_CHECKING:
    from collections.abc import Mapping

    from kitting.sourcing.case import Case
    from kitting.sourcing.demand import Needs, Take
    from kitting.sourcing.market import Way
    from kitting.sourcing.problem import Whole
    from kitting.sourcing.sellers import Seller

BALANCED, LEAST_COST, EARLIEST = "balanced", "least cost", "earliest"
AIMS = (LEAST_COST, BALANCED, EARLIEST)
NO_PINS, NORMAL_EFFORT = Pins(), Effort()


@dataclass(frozen=True)
class Answer:
    """One answer.

    Parameters
    ----------
    aim
        What it is best in.
    takes
        What is bought and which needs that covers.
    unmet
        Needs of each part that nobody sells.
    worth
        What it costs, measured as the balanced answer is.
    gap
        How far it may be from the best, relative; 0 = proved.
    model, chosen
        The problem and its chosen columns; ``None`` and none when nothing is bought.
    """

    aim: str
    takes: tuple[Take, ...]
    unmet: Mapping[str, Needs]
    worth: Worth
    gap: float
    model: Model | None
    chosen: Whole

    @property
    def proved(self) -> bool:
        """Tell whether nothing better exists among the ways that were weighed."""
        return self.gap <= 0


def find(case: Case, aim: str, pins: Pins = NO_PINS, effort: Effort = NORMAL_EFFORT) -> Answer:
    """Find the answer that is best in its aim.

    Parameters
    ----------
    aim
        One of ``AIMS``.
    pins
        Choices that a person has made.
    """
    market = case.market
    ways = ways_to_buy(market, case.demand, pins)
    if aim == EARLIEST:
        ways = _early(case.demand, ways)
    policy = Policy(1, 0) if aim == LEAST_COST else case.policy
    keep = _kept(case, pins)
    model = formulate(market, case.demand, ways, policy, keep)
    if not model.columns:
        return Answer(
            aim, (), model.unmet, weigh((), market, case.policy, keep), 0.0, None, _none()
        )
    if aim == EARLIEST:
        model = _punctual(model)
    solution = prove(model.problem, effort)
    takes = tuple(takes_of(model, solution.columns))
    gap = max(0.0, solution.cost - solution.bound - 0.999) / max(1.0, abs(solution.cost))
    worth = weigh(takes, market, case.policy, keep)
    found = Answer(aim, takes, model.unmet, worth, gap, model, solution.columns)
    if aim != BALANCED or pins != NO_PINS:
        return found
    return _not_worse_than_simple(case, found)


def _not_worse_than_simple(case: Case, found: Answer) -> Answer:
    """Return the simple choice instead where an unfinished search has not reached it."""
    if found.proved:
        return found
    simple = simple_choice(case)
    worth = weigh(simple.takes, case.market, case.policy)
    if worth.total >= found.worth.total or simple.unmet.keys() - found.unmet.keys():
        return found
    lowest = found.worth.total * (1 - found.gap)
    gap = (worth.total - lowest) / max(1.0, worth.total)
    return replace(found, takes=simple.takes, worth=worth, gap=max(gap, 1e-9), model=None)


def simple_choice(case: Case) -> Choice:
    """Return the simple choice."""
    first = choose_simply(case.market, case.demand)
    return without_small_orders(case.market, case.demand, first)


def _none() -> Whole:
    return np.empty(0, np.int64)


def _kept(case: Case, pins: Pins) -> tuple[Seller, ...]:
    """Return the sellers to whom an order goes in any case."""
    sellers = {d.seller.name: d.seller for found in case.market.deals.values() for d in found}
    return tuple(sellers[name] for name in sorted(pins.keep) if name in sellers)


def _early(demand: Mapping[str, Needs], ways: Mapping[str, list[Way]]) -> dict[str, list[Way]]:
    """Leave out what comes after the day on which everything could be there."""
    first = {part: min(w.deal.usable for w in found) for part, found in ways.items() if found}
    urgent = [part for part in first if not all(free(need) for need in demand[part])]
    last = max((first[part] for part in urgent), default=0)
    return {
        part: [w for w in found if part not in urgent or w.deal.usable <= last]
        for part, found in ways.items()
    }


def _punctual(model: Model) -> Model:
    """Leave out every column that makes a stage wait longer than it must."""
    needs = model.problem.needs
    keep = np.ones(len(model.columns), bool)
    keep[needs.left[np.isin(needs.right, model.waiting)]] = False
    columns = tuple(c for c, kept in zip(model.columns, keep, strict=True) if kept)
    return replace(model, problem=model.problem.only(keep), columns=columns)


def goods_of(answer: Answer) -> dict[Seller, int]:
    """Return the goods value of each order of an answer [cents of the seller]."""
    return order_values(Choice(answer.takes, answer.unmet))

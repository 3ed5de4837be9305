"""Why each line: what is special about it, and what the next best would cost or delay."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from kitting.sourcing.formulate import takes_of
from kitting.sourcing.problem import switches_on, value
from kitting.sourcing.simple import pack_words
from kitting.sourcing.worth import weigh
from kitting.terms.money import show_cents

if TYPE_CHECKING:
    from kitting.sourcing.case import Case
    from kitting.sourcing.demand import Take
    from kitting.sourcing.formulate import Model
    from kitting.sourcing.market import Deal
    from kitting.sourcing.problem import Floats, Whole
    from kitting.sourcing.proved import Answer
    from kitting.sourcing.worth import Worth

NEAREST = 3
"""Other columns of a part that are weighed as its runner-up."""
MOST_PARTS = 400
"""Parts up to which every runner-up is weighed in full."""


def explain(case: Case, answer: Answer) -> tuple[Take, ...]:
    """Return the takes of an answer, each with its reason."""
    if answer.model is None:
        return answer.takes
    reasons = _Reasons(case, answer, answer.model)
    return tuple(replace(take, why=reasons.of(take)) for take in answer.takes)


@dataclass(frozen=True)
class _Runner:
    """The next best without a deal: its suppliers, and how its terms differ."""

    sellers: tuple[str, ...]
    total: int
    money: int
    days: int


class _Reasons:
    """What is looked up for each take."""

    def __init__(self, case: Case, answer: Answer, model: Model) -> None:
        self.case, self.answer, self.model = case, answer, model
        self.problem = model.problem
        self.numbers = {part: number for number, part in enumerate(model.demand)}
        self.starts = [*self.problem.starts.tolist(), len(model.columns)]
        on = switches_on(self.problem, answer.chosen)
        extra = np.where(on, 0.0, self.problem.switch_cost)
        needs = self.problem.needs
        self.estimate: Floats = self.problem.cost + np.bincount(
            needs.left, extra[needs.right], minlength=len(model.columns)
        )
        self.cost = value(self.problem, answer.chosen)
        self.full = self.problem.parts <= MOST_PARTS

    def of(self, take: Take) -> str:
        """Say why a take was chosen."""
        parts = sorted({need.part for need, _ in take.covers})
        words = [*self._special(take, parts), *pack_words(take.deal, take.units)]
        runner = self._runner(take.deal, parts)
        words.append("nobody else offers it" if runner is None else self._compared(runner))
        text = "; ".join(words)
        return f"{text[0].upper()}{text[1:]}."

    def _special(self, take: Take, parts: list[str]) -> list[str]:
        """Say whether the take is a set, a stand-in or a share."""
        words = []
        inside = {part for part in parts if self._way_inside(take.deal, part)}
        if inside:
            words.append(f"the set covers {_listed(sorted(inside))}")
        others = [part for part in parts if part not in inside and part != take.deal.part]
        if others:
            words.append(f"stands in for {_listed(others)}")
        for part in parts:
            column = self.model.columns[self.answer.chosen[self.numbers[part]]]
            sharing = {source.way.deal.seller.name for source, _ in column.lines}
            sharing.discard(take.deal.seller.name)
            if sharing and not inside:
                words.append(f"shared with {_listed(sorted(sharing))}")
                break
        return words

    def _way_inside(self, deal: Deal, part: str) -> bool:
        column = self.model.columns[self.answer.chosen[self.numbers[part]]]
        return any(source.way.inside and source.way.deal is deal for source, _ in column.lines)

    def _runner(self, deal: Deal, parts: list[str]) -> _Runner | None:
        """Find the next best columns of some parts without a deal."""
        chosen = self.answer.chosen.copy()
        sellers: set[str] = set()
        for part in parts:
            place = self._next(deal, self.numbers[part], chosen)
            if place is None:
                return None
            chosen[self.numbers[part]] = place
            sellers |= {s.way.deal.seller.name for s, _ in self.model.columns[place].lines}
        total = round(value(self.problem, chosen) - self.cost)
        if not self.full:
            return _Runner(tuple(sorted(sellers)), total, total, 0)
        now, then = self.answer.worth, self._weigh(chosen)
        days = sum(then.days_late.values()) - sum(now.days_late.values())
        return _Runner(tuple(sorted(sellers)), then.total - now.total, then.money - now.money, days)

    def _weigh(self, chosen: Whole) -> Worth:
        return weigh(takes_of(self.model, chosen), self.case.market, self.case.policy)

    def _next(self, deal: Deal, number: int, chosen: Whole) -> int | None:
        """Find the column of a part that costs least of those without a deal."""
        span = range(self.starts[number], self.starts[number + 1])
        others = [
            place
            for place in span
            if all(source.way.deal is not deal for source, _ in self.model.columns[place].lines)
        ]
        others = sorted(others, key=lambda place: self.estimate[place])[:NEAREST]
        if len(others) < 2 or not self.full:
            return others[0] if others else None
        costs = []
        for place in others:
            trial = chosen.copy()
            trial[number] = place
            costs.append(value(self.problem, trial))
        return others[int(np.argmin(costs))]

    def _compared(self, runner: _Runner) -> str:
        """Say what the next best would cost or delay."""
        names, currency = _listed(list(runner.sellers)), self.case.market.currency
        money = show_cents(abs(runner.money), currency)
        days = f"{abs(runner.days)} {'day' if abs(runner.days) == 1 else 'days'}"
        if runner.days > 0:
            paid = f"cost {money} more and" if runner.money > 0 else f"save {money} but"
            paid = "cost the same but" if runner.money == 0 else paid
            return f"{names} would {paid} make the work wait {days}"
        if runner.money > 0:
            sooner = f", {days} sooner" if runner.days < 0 else ""
            return f"{names} would cost {money} more{sooner}"
        if runner.money < 0:
            return f"{names} would save {money} but is one more parcel to handle"
        return f"{names} would cost the same"


def _listed(names: list[str]) -> str:
    """Write names as ``a, b and c``."""
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"

"""Rules that no build can follow: what one choice leads to, rule by rule, until it contradicts."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from kitting.terms.conditions import USE, parse_when

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from kitting.terms.conditions import Condition

Left = dict[str, set[str]]


@dataclass(frozen=True, slots=True)
class Rule:
    """What a rule of an assembly asks of options, and when; texts as in the sheet."""

    assembly: str
    when: str
    needs: str
    forbids: str

    @property
    def asked(self) -> tuple[Condition, ...]:
        """What must hold where the rule does."""
        return (*parse_when(self.needs), *map(_turned, parse_when(self.forbids)))


def _turned(condition: Condition) -> Condition:
    return type(condition)(condition.option, condition.values, not condition.negated)


def broken(rules: Sequence[Rule], values: Mapping[str, Iterable[str]]) -> dict[int, str]:
    """Return the rules that contradict what they rest on, by number, with the chain in words.

    Each rule's own conditions are taken to hold. Whatever rule of the assembly then holds for
    certain narrows the options further, until nothing new follows or an option has no value left.

    Parameters
    ----------
    rules
        The rules.
    values
        The values that each option may have, ``""`` among them when it may have none.
    """
    found = {}
    for number, rule in enumerate(rules):
        if rule.needs or rule.forbids:
            chain = _chased(rule, [r for r in rules if r.assembly == rule.assembly], values)
            if chain:
                found[number] = chain
    return found


def _chased(rule: Rule, rules: Sequence[Rule], values: Mapping[str, Iterable[str]]) -> str:
    """Follow one rule; return the chain that ends in a contradiction, or blank."""
    left: Left = {option: set(allowed) for option, allowed in values.items()}
    given = parse_when(rule.when)
    if not all(_narrow(left, condition) for condition in given):
        return ""
    steps, waiting = [rule], [r for r in rules if r is not rule and (r.needs or r.forbids)]
    for step in steps:
        for condition in step.asked:
            if not _narrow(left, condition):
                return "; then ".join(_words(s) for s in steps[: steps.index(step) + 1])
        follow = [r for r in waiting if all(_sure(left, c, given) for c in parse_when(r.when))]
        waiting = [r for r in waiting if r not in follow]
        steps += follow
    return ""


def _narrow(left: Left, condition: Condition) -> bool:
    """Leave an option the values that meet a condition; tell whether one is left."""
    if condition.option == USE or condition.option not in left:
        return True
    allowed = left[condition.option]
    allowed -= set(condition.values) if condition.negated else allowed - set(condition.values)
    return bool(allowed)


def _sure(left: Left, condition: Condition, given: Sequence[Condition]) -> bool:
    """Tell whether a condition holds whatever is chosen of what is left."""
    if condition.option == USE or condition.option not in left:
        return condition in given
    values = set(condition.values)
    allowed = left[condition.option]
    return not allowed & values if condition.negated else allowed <= values


def _words(rule: Rule) -> str:
    """Write what a rule asks: ``c=x needs d=y``."""
    needs = [f"needs {rule.needs}"] if rule.needs else []
    bans = [f"forbids {rule.forbids}"] if rule.forbids else []
    return f"{rule.when or 'any build'} {' and '.join([*needs, *bans])}"

"""Options: choices and defaults, conditions that name them, and conditions that never hold."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from kitting.reading.near import instead
from kitting.reading.rule_chains import Rule, broken
from kitting.terms.conditions import USE, parse_choices, parse_when, split_list
from kitting.terms.words import Level

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from kitting.reading.view import View
    from kitting.terms.conditions import Condition


@dataclass(frozen=True, slots=True)
class Choice:
    """The values that an option may have, over all assemblies that offer it.

    Parameters
    ----------
    values
        Its choices.
    may_be_blank
        Some assembly gives it no default, so that it may have no value.
    """

    values: tuple[str, ...]
    may_be_blank: bool


def check_choices(view: View) -> None:
    """Check options, every condition on them, and the choices of builds."""
    if not view.judged("options"):
        return
    _check_options(view)
    options = _options(view)
    for sheet in ("joints", "lines", "rules", "openings", "pulleys"):
        _check_column(view, sheet, "when", lambda text: _faults_of_when(text, options))
    _check_column(view, "rules", "needs_option", lambda text: _faults_of_choices(text, options))
    _check_forbids(view, options)
    _check_builds(view)
    _check_idle_rules(view)
    _check_chains(view, options)


def _options(view: View) -> dict[str, Choice]:
    frame = view.frames["options"]
    out: dict[str, Choice] = {}
    for name, choices, default in zip(
        frame["option"], frame["choices"], frame["default"], strict=True
    ):
        old = out.get(name, Choice((), False))
        values = tuple(dict.fromkeys((*old.values, *split_list(choices))))
        out[name] = Choice(values, old.may_be_blank or not default)
    return out


def _check_options(view: View) -> None:
    if "options" not in view.sheets:
        return
    rows = view.rows("options")
    defaults: dict[str, list[int]] = {}
    odd: dict[str, list[int]] = {}
    twice: dict[str, list[int]] = {}
    for i, (option, choices, default) in enumerate(
        zip(rows["option"], rows["choices"], rows["default"], strict=True)
    ):
        values = split_list(choices)
        if default and values and default not in values:
            message = f'the default "{default}" is not one of its choices; write one of {choices}'
            defaults.setdefault(message, []).append(i)
        if any(mark in text for text in (option, choices) for mark in "=!"):
            message = f'"{option}: {choices}" holds = or !, which conditions use; leave them out'
            odd.setdefault(message, []).append(i)
        if len(set(values)) < len(values):
            twice.setdefault(f'"{choices}" holds a choice twice; keep one', []).append(i)
    view.tell("options", "default", defaults)
    view.tell("options", "option", odd)
    view.tell("options", "choices", twice)


def _check_column(
    view: View, sheet: str, column: str, faults_of: Callable[[str], Sequence[str]]
) -> None:
    """Check every different text of a column once."""
    if not view.touched(sheet, "options"):
        return
    faults: dict[str, list[int]] = {}
    done: dict[str, Sequence[str]] = {"": ()}
    for i, text in enumerate(view.rows(sheet)[column]):
        if text not in done:
            done[text] = faults_of(text)
        for message in done[text]:
            faults.setdefault(message, []).append(i)
    view.tell(sheet, column, faults)


def _faults_of_when(text: str, options: dict[str, Choice]) -> list[str]:
    try:
        conditions = parse_when(text)
    except ValueError as fault:
        return [str(fault)]
    faults = [f for c in conditions for f in _unknown(c, options)]
    if not faults and (option := _never(conditions, options)):
        faults.append(
            f'"{text}" can never hold: no value of {option} is left; correct it, or take the row '
            "out"
        )
    return faults


def _faults_of_choices(text: str, options: dict[str, Choice]) -> list[str]:
    try:
        parse_choices(text)
    except ValueError as fault:
        return [str(fault)]
    return [f for c in parse_when(text) for f in _unknown(c, options)]


def _unknown(condition: Condition, options: dict[str, Choice]) -> list[str]:
    """Tell of an option or values that the sheet options does not hold.

    The use of a build is free text, so that any value may be asked for.
    """
    if condition.option == USE:
        return []
    option = options.get(condition.option)
    if option is None:
        if not options:
            return [f'there is no sheet options, which must hold "{condition.option}"; add it']
        return [
            f'option "{condition.option}" is not in the sheet options; add it there, or correct '
            f"the name{instead(condition.option, options)}"
        ]
    return [
        f'"{value}" is not a choice of option "{condition.option}" '
        f"({'; '.join(option.values)}); correct it{instead(value, option.values)}"
        for value in condition.values
        if value not in option.values
    ]


def _never(conditions: Sequence[Condition], options: dict[str, Choice]) -> str:
    """Return an option for which no value meets all conditions; blank when there is none."""
    left: dict[str, set[str]] = {}
    barred = {v for c in conditions if c.option == USE and c.negated for v in c.values}
    for condition in conditions:
        if condition.option == USE:
            if not condition.negated and barred.issuperset(condition.values):
                return USE
            continue
        option = options[condition.option]
        values = left.setdefault(
            condition.option, {*option.values, *([""] if option.may_be_blank else [])}
        )
        if condition.negated:
            values.difference_update(condition.values)
        else:
            values.intersection_update(condition.values)
        if not values:
            return condition.option
    return ""


def _check_forbids(view: View, options: dict[str, Choice]) -> None:
    """Check what rules forbid: ``option=value``, or a part."""
    if not view.judged("parts", "lines", "stages", "joints"):
        return
    names = (*view.parts, *view.assemblies)
    held = set(names)

    def faults_of(text: str) -> Sequence[str]:
        if text in held:
            return ()
        if "=" in text:
            return _faults_of_choices(text, options)
        return (
            f'"{text}" is neither option=value nor a part in the sheet parts; correct it'
            f"{instead(text, names)}",
        )

    if view.touched("rules", "parts"):
        _check_column(view, "rules", "forbids", faults_of)


def _check_builds(view: View) -> None:
    """Check builds' choices against the options of their assembly and what is built into it."""
    if not view.touched("builds", "options", "lines") or not view.judged("lines"):
        return
    frame = view.frames["options"]
    offered: dict[str, dict[str, list[str]]] = {}
    for assembly, option, choices in zip(
        frame["assembly"], frame["option"], frame["choices"], strict=True
    ):
        offered.setdefault(assembly, {}).setdefault(option, []).extend(split_list(choices))
    rows = view.rows("builds")
    stops: dict[str, list[int]] = {}
    warns: dict[str, list[int]] = {}
    for i, (assembly, text, finished) in enumerate(
        zip(rows["assembly"], rows["options"], rows["finished"].notna(), strict=True)
    ):
        if not text:
            continue
        options: dict[str, Choice] = {}
        for name in view.reach(assembly):
            for option, values in offered.get(name, {}).items():
                old = options.get(option, Choice((), True))
                options[option] = Choice((*old.values, *values), True)
        for message in _faults_of_choices(text, options):
            (warns if finished else stops).setdefault(message, []).append(i)
    view.tell("builds", "options", stops)
    view.tell("builds", "options", warns, Level.WARN)


def _check_idle_rules(view: View) -> None:
    """Tell of rules that ask for nothing."""
    if "rules" not in view.sheets:
        return
    rows = view.rows("rules")
    idle = (rows[["needs_part", "needs_option", "forbids", "caution"]] == "").all(axis=1)
    at = idle.to_numpy().nonzero()[0].tolist()
    if at:
        message = "the rule asks for nothing; write what it needs, forbids or cautions"
        view.tell("rules", "", {message: at}, Level.WARN)


def _check_chains(view: View, options: dict[str, Choice]) -> None:
    """Tell of rules that no build can follow; rows with other faults are left out."""
    if not view.touched("rules", "options"):
        return
    values = {n: (*o.values, *([""] if o.may_be_blank else [])) for n, o in options.items()}
    rules, places = [], []
    cells = (view.rows("rules")[c] for c in ("assembly", "when", "needs_option", "forbids"))
    for i, (assembly, when, needs, forbids) in enumerate(zip(*cells, strict=True)):
        texts = (when, needs, forbids if _is_choice(forbids, options) else "")
        if not any(_faults_of_when(text, options) for text in texts):
            rules.append(Rule(assembly, *texts))
            places.append(i)
    faults: dict[str, list[int]] = {}
    for number, chain in broken(rules, values).items():
        message = f"no build can follow this: {chain}; put one of these rules right"
        faults.setdefault(message, []).append(places[number])
    view.tell("rules", "needs_option", faults)


def _is_choice(text: str, options: dict[str, Choice]) -> bool:
    """Tell whether what a rule forbids is a choice of an option, and no part."""
    return text.partition("=")[0].strip().removesuffix("!") in options

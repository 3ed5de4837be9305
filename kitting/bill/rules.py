"""What the sheet of rules pulls in, forbids and cautions about."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from kitting.bill.columns import text
from kitting.errors import InputError
from kitting.terms.conditions import Condition, holds, parse_when
from kitting.terms.words import Level

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from numpy.typing import NDArray

    from kitting.bill.columns import Columns
    from kitting.bill.options import Variants

_READ = ("rule", "assembly", "when", "needs_option", "forbids", "caution", "source")


@dataclass(frozen=True, slots=True)
class _Rule:
    """One rule, read once."""

    number: int
    assembly: str
    when: tuple[Condition, ...]
    needs: tuple[Condition, ...]
    forbidden_choices: tuple[Condition, ...]
    forbidden_parts: tuple[str, ...]
    caution: str
    source: str

    @property
    def cause(self) -> str:
        """What makes the rule hold, in words."""
        return " and ".join(map(_words, self.when)) or f"any {self.assembly}"


@dataclass(frozen=True, slots=True)
class _Pull:
    """A choice that a rule calls for, and the options that this rests on."""

    rule: _Rule
    basis: frozenset[str]


def _words(condition: Condition) -> str:
    sign = "!=" if condition.negated else "="
    return f"{condition.option}{sign}{','.join(condition.values)}"


def rule_lines(rules: Columns, orders: dict[str, list[str]]) -> Columns:
    """Return the parts that rules pull in as lines of the bill.

    Parameters
    ----------
    rules
        Columns of table ``rules``.
    orders
        Stages of each assembly in order of work.

    Returns
    -------
    Columns
        Columns of table ``lines`` with line 0; a blank stage becomes the first of the assembly,
        a blank quantity becomes 1.
    """
    pulls = np.array([part != "" for part in rules["needs_part"]], dtype=bool)
    rows = {name: values[pulls] for name, values in rules.items()}
    count = int(pulls.sum())
    blank = text([""] * count)
    placed = zip(rows["assembly"], rows["stage"], strict=True)
    return {
        "line": np.zeros(count, dtype=np.int64),
        "assembly": rows["assembly"],
        "stage": text([stage or next(iter(orders[a]), "") for a, stage in placed]),
        "joint": blank,
        "role": blank,
        "part": rows["needs_part"],
        "quantity": np.array([1 if pd.isna(q) else q for q in rows["quantity"]], dtype=np.int64),
        "when": rows["when"],
        "source": rows["source"],
        "note": text([f"rule {number}" for number in rows["rule"]]),
    }


def judge(
    rules: Columns,
    on: NDArray[np.bool_],
    present: Callable[[str, int], bool],
    variants: Variants,
    asked: tuple[Columns, NDArray[np.bool_]],
) -> Columns:
    """Say what the rules have against each variant, and their cautions.

    Parts, forbidden things and cautions follow from the choices as made. Needed options are
    followed further: a choice that a rule calls for is taken as made for the other rules, until
    nothing new is called for. What contradicts is named with both causes and not followed.

    Parameters
    ----------
    rules
        Columns of table ``rules``.
    on
        Whether each rule holds for the choices as made, rules x variants.
    present
        Tells whether an assembly is really built in a variant.
    variants
        The variants.
    asked
        Columns of the lines, and whether each is asked for, lines x variants.

    Returns
    -------
    Columns
        variant, subject, level, message, source; stops first.

    Raises
    ------
    InputError
        When a rule cannot be read.
    """
    lines, line_on = asked
    known = set(lines["part"].tolist())
    cells = (rules[name].tolist() for name in _READ)
    read = [_read(dict(zip(_READ, row, strict=True)), known) for row in zip(*cells, strict=True)]
    out: list[tuple[int, str, str, str, str]] = []
    for rule, hits in zip(read, on, strict=True):
        if rule.forbidden_choices or rule.forbidden_parts:
            rows = {p: np.flatnonzero(lines["part"] == p) for p in rule.forbidden_parts}
            for variant in np.flatnonzero(hits).tolist():
                for subject, message in (
                    *_forbidden_choices(rule, variants.choices[variant]),
                    *_forbidden_parts(rule, rows, lines, line_on[:, variant]),
                ):
                    out.append((variant, subject, Level.STOP, message, rule.source))
    for one, other, subject, message in _clashes(read):
        for variant in np.flatnonzero(on[one] & on[other]).tolist():
            out.append((variant, subject, Level.STOP, message, read[one].source))
    calling = [rule for rule in read if rule.needs]
    for variant in range(len(variants) if calling else 0):
        here = [rule for rule in calling if present(rule.assembly, variant)]
        for rule, subject, message in _needed(here, variants.choices[variant]):
            out.append((variant, subject, Level.STOP, message, rule.source))
    for rule, hits in zip(read, on, strict=True):
        if rule.caution:
            subject = "; ".join(map(_words, rule.when)) or rule.assembly
            for variant in np.flatnonzero(hits).tolist():
                out.append((variant, subject, Level.WARN, rule.caution, rule.source))
    columns = zip(*out, strict=True) if out else ((), (), (), (), ())
    judged = ("variant", "subject", "level", "message", "source")
    return {name: text(list(values)) for name, values in zip(judged, columns, strict=True)}


def _read(row: dict[str, Any], known: set[str]) -> _Rule:
    """Read one row; a piece of ``forbids`` is a part when the bill knows it as one."""
    pieces = [p.strip() for p in row["forbids"].split(";") if p.strip()]
    parts = tuple(p for p in pieces if p in known or "=" not in p)
    cells = row | {"forbids": ";".join(p for p in pieces if p not in parts)}
    parsed: dict[str, tuple[Condition, ...]] = {}
    for column in ("when", "needs_option", "forbids"):
        try:
            parsed[column] = parse_when(cells[column])
        except ValueError as fault:
            raise InputError(f"rules row {row['rule']}, {column}: {fault}") from None
    return _Rule(
        row["rule"],
        row["assembly"],
        parsed["when"],
        parsed["needs_option"],
        parsed["forbids"],
        parts,
        row["caution"],
        row["source"],
    )


def _clashes(rules: list[_Rule]) -> list[tuple[int, int, str, str]]:
    """Return the pairs of rules of which one needs what the other forbids, subject and message."""
    return [
        (
            one,
            other,
            need.option,
            f"rules {needing.number} and {barring.number} contradict each other: {needing.cause} "
            f"needs {_words(need)}, {barring.cause} forbids {_words(ban)}; change an option or put "
            "a rule right",
        )
        for one, needing in enumerate(rules)
        if needing.needs
        for other, barring in enumerate(rules)
        for ban in barring.forbidden_choices
        for need in needing.needs
        if need.option == ban.option
        and not (need.negated or ban.negated)
        and set(need.values) <= set(ban.values)
    ]


def _forbidden_choices(rule: _Rule, choices: Mapping[str, str]) -> list[tuple[str, str]]:
    return [
        (
            condition.option,
            f"rule {rule.number}: {rule.cause} forbids {_words(condition)}, but the build has "
            f"{_chosen(condition.option, choices)}; change one of them",
        )
        for condition in rule.forbidden_choices
        if condition.holds(choices)
    ]


def _forbidden_parts(
    rule: _Rule,
    rows: Mapping[str, NDArray[np.intp]],
    lines: Columns,
    on: NDArray[np.bool_],
) -> list[tuple[str, str]]:
    out = []
    for part, places in rows.items():
        asking = [
            f"line {lines['line'][n]} (stage {lines['stage'][n]})"
            if lines["line"][n]
            else lines["note"][n]
            for n in places[on[places]]
        ]
        if asking:
            out.append(
                (
                    part,
                    f"rule {rule.number}: {rule.cause} forbids part {part}, but it is asked for "
                    f"by {', '.join(asking)}; change the option or the bill",
                )
            )
    return out


def _needed(rules: list[_Rule], choices: Mapping[str, str]) -> list[tuple[_Rule, str, str]]:
    """Follow needed options to the fixed point; return rule, option and message of each fault."""
    wanted = dict(choices)
    pulls: dict[str, _Pull] = {}
    told: set[tuple[int, Condition]] = set()
    out: list[tuple[_Rule, str, str]] = []
    moved = True
    while moved:
        moved = False
        for rule in rules:
            if not holds(rule.when, wanted):
                continue
            for need in rule.needs:
                if need.holds(wanted) or (rule.number, need) in told:
                    continue
                told.add((rule.number, need))
                moved = True
                basis = _basis(rule, pulls)
                out.append((rule, need.option, _say(rule, need, basis, pulls, choices)))
                if (
                    need.option not in pulls
                    and need.option not in basis
                    and not need.negated
                    and len(need.values) == 1
                ):
                    wanted[need.option] = need.values[0]
                    pulls[need.option] = _Pull(rule, basis)
    return out


def _basis(rule: _Rule, pulls: Mapping[str, _Pull]) -> frozenset[str]:
    """Return the options that a rule rests on, through the rules that called for them."""
    options = {c.option for c in rule.when}
    return frozenset(options.union(*(pulls[o].basis for o in options if o in pulls)))


def _say(
    rule: _Rule,
    need: Condition,
    basis: frozenset[str],
    pulls: Mapping[str, _Pull],
    choices: Mapping[str, str],
) -> str:
    """Word one needed option that is not chosen, or that contradicts another."""
    if need.option in pulls:
        other = pulls[need.option].rule
        theirs = next(_words(n) for n in other.needs if n.option == need.option)
        return (
            f"rules {other.number} and {rule.number} contradict each other: {other.cause} needs "
            f"{theirs}, {rule.cause} needs {_words(need)}; change an option or put a rule right"
        )
    chain = [
        f"{_words(c)} is what rule {pulls[c.option].rule.number} needs"
        for c in rule.when
        if c.option in pulls
    ]
    follows = f" ({', '.join(chain)})" if chain else ""
    if need.option in basis:
        return (
            f"rule {rule.number} contradicts what it rests on: {rule.cause}{follows} needs "
            f"{_words(need)}, but holds because of {_chosen(need.option, choices)}; change "
            f"{need.option} or put a rule right"
        )
    return (
        f"rule {rule.number}: {rule.cause}{follows} needs {_words(need)}, but the build has "
        f"{_chosen(need.option, choices)}; choose {_words(need)} or change what needs it"
    )


def _chosen(option: str, choices: Mapping[str, str]) -> str:
    return f"{option}={choices[option]}" if choices.get(option) else f"no {option}"

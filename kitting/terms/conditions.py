"""Conditions on options: the ``when`` column and a build's choices.

``induction=turbo; catalyst!=yes; cooling=air,oil`` - all must hold; ``,`` between values means
any of them. There is no other syntax.

The option ``use`` is what the build is for, from its own column in the sheet builds. Case does not
matter there, and a use that lists several, ``road, off-road``, is each of them.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping

USE = "use"
"""The option that holds what a build is for."""


@dataclass(frozen=True, slots=True)
class Condition:
    """One option against one or more values."""

    option: str
    values: tuple[str, ...]
    negated: bool = False

    def holds(self, choices: Mapping[str, str]) -> bool:
        """Tell whether the condition holds; an option without a choice equals no value."""
        chosen = choices.get(self.option, "")
        listed = split_list(chosen) if self.option == USE else ()
        held = chosen in self.values or any(one in self.values for one in listed)
        return held is not self.negated


def parse_when(text: str) -> tuple[Condition, ...]:
    """Read a ``when`` cell; blank gives no condition, which always holds.

    Raises
    ------
    ValueError
        When a part between ``;`` is not ``option=value`` or ``option!=value``.
    """
    conditions = []
    for piece in text.split(";"):
        if not piece.strip():
            continue
        option, equals, listed = piece.partition("=")
        negated = option.endswith("!")
        option = option.removesuffix("!").strip()
        values = tuple(v.strip() for v in listed.split(",") if v.strip())
        if option == USE:
            values = tuple(plain_use(v) for v in values)
        if not (equals and option and values) or set("!,") & set(option) or set("!=") & set(listed):
            raise ValueError(
                f'"{piece.strip()}" is not a condition; write option=value, option!=value '
                "or option=value,value with ; between conditions"
            )
        conditions.append(Condition(option, values, negated))
    return tuple(conditions)


def parse_choices(text: str) -> dict[str, str]:
    """Read a build's options, ``a=b; c=d``.

    Raises
    ------
    ValueError
        When a part is not ``option=value`` or an option is given twice with different values.
    """
    choices: dict[str, str] = {}
    for condition in parse_when(text):
        if condition.negated or len(condition.values) != 1:
            raise ValueError(f'"{text}" must give each option one value, as in a=b; c=d')
        if choices.setdefault(condition.option, condition.values[0]) != condition.values[0]:
            raise ValueError(f'option "{condition.option}" has two values in "{text}"')
    return choices


def plain_use(text: str) -> str:
    """Return a use as conditions compare it: small letters, single blanks."""
    return " ".join(text.split()).casefold()


def holds(conditions: tuple[Condition, ...], choices: Mapping[str, str]) -> bool:
    """Tell whether every condition holds."""
    return all(c.holds(choices) for c in conditions)


def split_list(text: str) -> tuple[str, ...]:
    """Split a cell that lists names with ``;`` or ``,`` between."""
    return tuple(p.strip() for p in re.split(r"[;,]", text) if p.strip())

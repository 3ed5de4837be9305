"""What a supplier takes for bringing an order, by the value of its goods; amounts in cents."""

from __future__ import annotations

import re

from kitting.terms.money import parse_cents

Steps = tuple[tuple[int, int], ...]
"""Goods value and the freight of an order from there on; the first from 0."""

_STEP = re.compile(r"^\s*([\d.]+)\s*=\s*([\d.]+)\s*$")


def flat_steps(freight: int, free_above: int | None) -> Steps:
    """Write flat freight, and no freight from a goods value on, as steps."""
    if free_above is None:
        return ((0, freight),)
    if free_above <= 0 or freight <= 0:
        return ((0, 0),)
    return ((0, freight), (free_above, 0))


def parse_steps(text: str) -> Steps:
    """Read freight by goods value, ``0=9.50; 100=4; 200=0``.

    Raises
    ------
    ValueError
        When it is another form, or does not start from 0.
    """
    steps = {}
    for piece in text.split(";"):
        found = _STEP.match(piece)
        if found is None:
            raise ValueError(f'"{piece.strip()}" is not a step; write 0=9.50; 200=0')
        steps[parse_cents(found[1])] = parse_cents(found[2])
    if 0 not in steps:
        raise ValueError("the first step must start from 0")
    return tuple(sorted(steps.items()))


def freight_at(steps: Steps, goods: int) -> int:
    """Return the freight of an order of some goods value, which is not below zero."""
    return [freight for start, freight in steps if start <= goods][-1]

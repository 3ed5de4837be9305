"""Sourcing: which offers cover the shortages, at what cost, and why.

``choose`` takes for each short part the cheapest offer that is usable in time, else the fastest,
and a set where it costs less than the parts it holds; or, asked for ``proved``, the best set of
orders for all parts together. ``compare`` puts the least cost, the balanced and the earliest
answer side by side; ``drops`` tells what doing without each supplier would cost; ``questions``
writes what to ask suppliers; ``levels`` proposes what to keep of what is always used. ``Pins`` are
choices that a person has made, ``Effort`` is how much work may go into a proof.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING

from kitting.sourcing.choose import choose
from kitting.sourcing.policy import Pins

if TYPE_CHECKING:
    from kitting.sourcing.doors import Bought, Comparison, compare, drops, questions
    from kitting.sourcing.prove import Effort
    from kitting.sourcing.reorder_levels import always_used, levels

__all__ = [
    "Bought",
    "Comparison",
    "Effort",
    "Pins",
    "always_used",
    "choose",
    "compare",
    "drops",
    "levels",
    "questions",
]


def __getattr__(name: str) -> object:
    """Load the proved choice only when it is asked for."""
    if name in {"Bought", "Comparison", "compare", "drops", "questions"}:
        return getattr(import_module("kitting.sourcing.doors"), name)
    if name in {"always_used", "levels"}:
        return getattr(import_module("kitting.sourcing.reorder_levels"), name)
    if name == "Effort":
        return import_module("kitting.sourcing.prove").Effort
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")

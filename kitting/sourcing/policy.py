"""What the shop says that waiting and parcels cost, and choices that a person has pinned."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from kitting.tables.shop import SETTING_DEFAULTS
from kitting.terms.money import parse_cents

if TYPE_CHECKING:
    from collections.abc import Mapping

    from kitting.tables.shop import Shop

LATE_COST, PARCEL_COST = (
    parse_cents(SETTING_DEFAULTS[name]) for name in ("late_cost_per_day", "parcel_cost")
)
"""Cost of a stage that waits one working day, and of one more order to send, unpack and book in,
when the shop says nothing [cents]; our assumptions: about half a fitter's day, and ten minutes."""


@dataclass(frozen=True)
class Policy:
    """What an answer is measured by, besides prices, freight and charges.

    Parameters
    ----------
    late_cost
        Cents for each working day that a stage waits.
    parcel_cost
        Cents for each order.
    late_by_build
        Cents for a day that a stage of a certain build waits.
    """

    late_cost: int = LATE_COST
    parcel_cost: int = PARCEL_COST
    late_by_build: Mapping[str, int] = field(default_factory=dict)

    def late_cost_of(self, build: str) -> int:
        """Return the cents for a day that a stage of the build waits."""
        return self.late_by_build.get(build, self.late_cost)


@dataclass(frozen=True)
class Pins:
    """Choices that a person has made.

    Parameters
    ----------
    prefer
        Suppliers from whom everything is bought that they offer, the first named before the next.
    supplier_not
        Suppliers from whom nothing is bought.
    only
        When not empty, the only suppliers from whom anything is bought.
    keep
        Suppliers to whom an order goes in any case, so that its freight is paid either way.
    """

    prefer: tuple[str, ...] = ()
    supplier_not: frozenset[str] = frozenset()
    only: frozenset[str] = frozenset()
    keep: frozenset[str] = frozenset()

    def allows(self, supplier: str) -> bool:
        """Tell whether something may be bought from a supplier."""
        return supplier not in self.supplier_not and (not self.only or supplier in self.only)


def read_policy(shop: Shop) -> tuple[Policy, list[str]]:
    """Read ``late_cost_per_day``, ``late_cost_per_day BUILD`` and ``parcel_cost``.

    Returns
    -------
    tuple
        The policy, and what could not be read, in words; the default stands for it.
    """
    values: dict[str, int] = {}
    faults = []
    for setting, value in zip(shop["shop"]["setting"], shop["shop"]["value"], strict=True):
        if value.strip() and setting.split(" ")[0] in {"late_cost_per_day", "parcel_cost"}:
            try:
                cents = parse_cents(value)
                if cents < 0:
                    raise ValueError(f'"{value}" is below zero')
                values[setting] = cents
            except ValueError as fault:
                faults.append(f'setting "{setting}": {fault}')
    named = {
        setting.split(" ", 1)[1]: cents
        for setting, cents in values.items()
        if setting.startswith("late_cost_per_day ")
    }
    return (
        Policy(
            values.get("late_cost_per_day", LATE_COST),
            values.get("parcel_cost", PARCEL_COST),
            named,
        ),
        faults,
    )

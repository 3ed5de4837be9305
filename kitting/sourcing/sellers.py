"""The terms of sellers: currency and rate, freight, least orders, how breaks are counted."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING

from kitting.terms.conditions import split_list
from kitting.terms.freight import flat_steps, freight_at, parse_steps

if TYPE_CHECKING:
    from collections.abc import Mapping

    from kitting.tables.shop import Shop


@dataclass(frozen=True, slots=True)
class Seller:
    """A supplier's terms for one order, in cents of its own currency.

    Parameters
    ----------
    rate
        Cents of the shop's currency for one of its cents; ``None`` = not known.
    steps
        Goods value and the freight of an order from there on; the first from 0.
    incremental
        Each price break holds only for the packs above it, not for all.
    cores_back
        Old parts that come back accepted, of a hundred [percent].
    """

    name: str
    currency: str
    rate: Fraction | None
    steps: tuple[tuple[int, int], ...] = ((0, 0),)
    least_order: int = 0
    hazard_charge: int = 0
    incremental: bool = False
    cores_back: int = 0

    def in_shop_money(self, cents: int) -> int:
        """Return cents in the shop's currency, rounded half up; at par without a rate."""
        if self.rate is None or self.rate == 1:
            return cents
        return int((2 * cents * self.rate + 1) // 2)

    def not_back(self, deposit: int) -> int:
        """Return how much of a deposit on old parts is not expected back, rounded half up."""
        return (deposit * (100 - self.cores_back) + 50) // 100

    def freight_at(self, goods: int) -> int:
        """Return the freight of an order of some goods value [cents of the seller]."""
        return freight_at(self.steps, goods)

    def charge(self, goods: int) -> tuple[int, int]:
        """Return the freight of an order, and what fills it up, so that both cost least.

        Filling up means goods beyond the need: up to the least order, or to a freight step that
        saves more than it asks.

        Parameters
        ----------
        goods
            Value of the goods that are needed [cents of the seller].
        """
        best: tuple[int, int, int] | None = None
        for place, (start, freight) in enumerate(self.steps):
            missing = max(0, max(start, self.least_order) - goods)
            later = self.steps[place + 1 :]
            if later and goods + missing >= later[0][0]:
                continue
            cost = self.in_shop_money(freight) + self.in_shop_money(missing)
            if best is None or (cost, missing) < (best[0], best[2]):
                best = (cost, freight, missing)
        assert best is not None  # the last step has no upper end
        return best[1], best[2]


def read_sellers(shop: Shop, cores_back: int = 0) -> tuple[dict[str, Seller], list[str]]:
    """Read the suppliers by name; also what could not be read, in words.

    The settings ``rate GBP``, ``freight steps SUPPLIER`` (``0=9.50; 100=4; 200=0``) and
    ``incremental_breaks`` (suppliers with ``;`` between) are used.

    Parameters
    ----------
    cores_back
        Old parts that come back accepted, of a hundred [percent].
    """
    settings = dict(zip(shop["shop"]["setting"], shop["shop"]["value"], strict=True))
    home = shop.setting("currency")
    incremental = split_list(settings.get("incremental_breaks", ""))
    sellers, faults = {}, []
    for row in shop["suppliers"].to_dict("records"):
        name, currency = row["supplier"], row["currency"] or home
        free = row["free_freight_above"]
        steps = flat_steps(int(row["freight"]), free if isinstance(free, int) else None)
        told = settings.get(f"freight steps {name}", "")
        if told:
            try:
                steps = parse_steps(told)
            except ValueError as fault:
                faults.append(f'setting "freight steps {name}": {fault}')
        sellers[name] = Seller(
            name=name,
            currency=currency,
            rate=Fraction(1) if currency == home else read_rate(settings, currency),
            steps=steps,
            least_order=int(row["least_order"]),
            hazard_charge=int(row["hazard_charge"]),
            incremental=name in incremental,
            cores_back=cores_back,
        )
    return sellers, faults


def read_rate(settings: Mapping[str, str], currency: str) -> Fraction | None:
    """Read the setting ``rate GBP``: what one unit of a currency is in the shop's own."""
    try:
        rate = Fraction(settings.get(f"rate {currency}", "").strip())
    except (ValueError, ZeroDivisionError):
        return None
    return rate if rate > 0 else None

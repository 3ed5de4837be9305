"""Money in integer cents.

A price is given for ``per`` base units (a pack of 10 at 4.20, screws at 3.15 per 100); an amount
is rounded to a whole cent once, on the whole line.
"""

from __future__ import annotations

import re
from decimal import Decimal

_MONEY = re.compile(r"^[+-]?\d+(\.\d+)?$")


def parse_cents(text: str) -> int:
    """Read a price such as ``12``, ``12.5`` or ``12.50`` as cents, exactly.

    Raises
    ------
    ValueError
        When the text is not a plain decimal number or has a fraction of a cent.
    """
    cleaned = text.strip()
    if not _MONEY.match(cleaned):
        raise ValueError(f'"{text}" is not a price; write digits with a point, such as 12.50')
    cents = Decimal(cleaned) * 100
    if cents != cents.to_integral_value():
        raise ValueError(
            f'"{text}" has a fraction of a cent; give the price for more units in the per column'
        )
    return int(cents)


def amount(quantity: int, price: int, per: int) -> int:
    """Return the cents for a quantity, rounded once, half away from zero.

    Parameters
    ----------
    quantity
        Base units bought.
    price
        Cents for ``per`` base units.
    per
        Base units that the price is for, above zero.
    """
    product = quantity * price
    cents = (2 * abs(product) + per) // (2 * per)
    return cents if product >= 0 else -cents


def show_cents(cents: int, currency: str = "") -> str:
    """Write cents as ``12.50 EUR``."""
    sign = "-" if cents < 0 else ""
    text = f"{sign}{abs(cents) // 100}.{abs(cents) % 100:02d}"
    return f"{text} {currency}".strip()

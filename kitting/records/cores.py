"""Old parts that a supplier wants back for the deposit on an exchange part."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

from kitting.records.claiming import Claim

if TYPE_CHECKING:
    from datetime import date

    from kitting.records.hands import Hand
    from kitting.records.orders import Received


def old_part(hand: Hand, came: Received, due: date | None = None) -> Claim | None:
    """Return the supplier's claim on the old part of what came; ``None`` when it wants none.

    It wants one when its offer asks a deposit, as many days after the receipt as the offer says.
    Of its offers of the part that under the order's number and in the order's pack comes first.

    Parameters
    ----------
    due
        Day that a person gave: then the old part goes back whatever the offer says.
    """
    asked = hand.rows(
        "SELECT f.core_deposit, f.core_days FROM offers f JOIN orders o "
        'ON f.supplier = o.supplier AND f.part = o.part WHERE o."order" = :order AND o.line = :line'
        " ORDER BY CASE WHEN f.supplier_part = o.supplier_part THEN 0 ELSE 1 END, "
        "CASE WHEN f.pack * o.packs = o.quantity THEN 0 ELSE 1 END, f.offer LIMIT 1",
        {"order": came.order, "line": came.line},
    )
    deposit, days = asked[0] if asked else (0, None)
    if due is None and not deposit:
        return None
    if due is None and days is not None:
        due = came.move.day + timedelta(days=int(days))
    return Claim(
        came.order, came.line, "core", came.quantity, came.move.day, came.part, came.move.unit,
        due=due, by=came.move.by, move=came.move.move,
    )  # fmt: skip

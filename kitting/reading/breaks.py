"""Price breaks that cross: a price that rises with the packs, or two prices for as many packs."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

from kitting.terms.words import Level

if TYPE_CHECKING:
    from kitting.reading.view import View

_SAME = ["supplier", "part", "supplier_part", "pack", "lead_days", "valid_to"]


def check_breaks(view: View) -> None:
    """Warn of breaks that cross, among the priced rows that have all else alike.

    Nothing is wrong for certain: a price may really rise, and the cheaper of two equal steps is
    taken.
    """
    if "offers" not in view.sheets:
        return
    rows = view.rows("offers")
    rows = rows.assign(at=range(len(rows)))[rows["price"].notna() & (rows["per"] > 0)]
    rows = rows[rows.duplicated(_SAME, keep=False)]
    faults: dict[str, list[int]] = {}
    for _, steps in rows.groupby(_SAME, sort=False, dropna=False):
        ordered = steps.sort_values("from_packs", kind="stable")
        prices = [
            Fraction(int(p), int(n)) for p, n in zip(ordered["price"], ordered["per"], strict=True)
        ]
        packs, places = ordered["from_packs"].tolist(), ordered["at"].tolist()
        for k in range(1, len(packs)):
            word = "pack" if packs[k] == 1 else "packs"
            if packs[k] == packs[k - 1]:
                message = f"two prices hold from {packs[k]} {word}; the cheaper is taken; keep one"
            elif prices[k] > prices[k - 1]:
                message = (
                    f"from {packs[k]} packs the price is higher than from {packs[k - 1]}; a break "
                    "usually lowers it: look at both rows"
                )
            else:
                continue
            faults.setdefault(message, []).append(places[k])
    view.tell("offers", "price", faults, Level.WARN)

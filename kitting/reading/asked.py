"""Offers that are not complete yet: the supplier is to be asked."""

from __future__ import annotations

from typing import TYPE_CHECKING

from kitting.terms.words import Level

if TYPE_CHECKING:
    from kitting.reading.view import View

_WORDS = {"price": "price", "lead_days": "lead time"}


def check_asked(view: View) -> None:
    """Tell of offers without a price or a lead time, by which nothing is bought."""
    if "offers" not in view.sheets:
        return
    rows, bad = view.rows("offers"), view.sheets["offers"].log.bad
    for column, word in _WORDS.items():
        at = [i for i in rows[column].isna().to_numpy().nonzero()[0].tolist() if i not in bad]
        if at:
            message = (
                f"the {word} is blank, so nothing is bought by this row; when its part is short, "
                "kitting order writes the question to the supplier"
            )
            view.tell("offers", column, {message: at}, Level.NOTE)

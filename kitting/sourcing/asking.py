"""What to ask suppliers: parts that nobody offers, prices that ended, offers not complete yet."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pandas as pd

from kitting.sourcing import answer, notes
from kitting.sourcing.demand import total
from kitting.tables.sourcing import QUESTIONS

if TYPE_CHECKING:
    from collections.abc import Mapping

    from kitting.sourcing.case import Case

ALL = "price, pack and delivery days"
NEW_PRICE = "a new price; the old one has ended"


def questions_of(case: Case) -> pd.DataFrame:
    """Return what to ask about the parts of a case, table ``questions``.

    A supplier whose price has ended, or whose offer lacks its price or lead time, is asked for it,
    unless another offer of its for the part is whole. For a part that nobody offers, sellers of
    other parts of its maker or family are asked as well.
    """
    market = case.market
    open_offers = _open(case)
    held = {part for _, contents in market.sets for part in contents}
    known = case.shop["parts"].set_index("part")
    rows = []
    for part, needs in case.demand.items():
        whom: Mapping[str, tuple[str, str]] = open_offers.get(part, {})
        if not market.ways[part] and part not in held:
            others = notes.whom_to_ask(case.shop, market, part) or [""]
            whom = {**dict.fromkeys(others, ("", ALL)), **whom}
        if not whom:
            continue
        row = known.loc[part] if part in known.index else None
        about = tuple("" if row is None else row[c] for c in ("name", "maker"))
        unit = "piece" if row is None else row["unit"]
        first = min(need.day for need in needs)
        words = notes.what_is_known(market, part)
        rows += [
            (supplier, part, number, *about, total(needs), unit, first, ask, words)
            for supplier, (number, ask) in whom.items()
        ]
    table = pd.DataFrame(rows, columns=QUESTIONS.names) if rows else QUESTIONS.empty()
    table["day"] = answer.days(table["day"].tolist())
    return QUESTIONS.conform(table)


def _open(case: Case) -> dict[str, dict[str, tuple[str, str]]]:
    """Return by part and supplier its number and what to ask, where no offer of it is whole."""
    market = case.market
    found: dict[str, dict[str, tuple[str, str]]] = {}
    for frame, ended in ((market.asked, False), (market.expired, True)):
        for row in frame[frame["part"].isin(case.demand)].to_dict("records"):
            blank = [
                word
                for column, word in (("price", "price"), ("lead_days", "delivery days"))
                if pd.isna(row[column])
            ]
            ask = " and ".join(blank) or NEW_PRICE
            if ended and blank:
                ask = ALL
            part, supplier = str(row["part"]), str(row["supplier"])
            if all(deal.seller.name != supplier for deal in market.deals.get(part, ())):
                found.setdefault(part, {}).setdefault(supplier, (row["supplier_part"], ask))
    return found

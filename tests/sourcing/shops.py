"""Small shops written as rows, for the tests of sourcing."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING

import pandas as pd

from kitting.tables import flow
from kitting.tables.shop import BY_NAME, Shop, empty_shop

if TYPE_CHECKING:
    from kitting.tables.contract import Table

TODAY = date(2026, 3, 2)

DEFAULTS = {
    "text": "",
    "whole": 0,
    "whole or blank": pd.NA,
    "real": 0.0,
    "yes or no": False,
    "day": pd.NaT,
}


def frame(table: Table, rows: list[dict[str, object]]) -> pd.DataFrame:
    """Fill rows up with blanks and cast them to a table's contract."""
    filled = [{c.name: row.get(c.name, DEFAULTS[c.kind]) for c in table.columns} for row in rows]
    return table.check(table.conform(pd.DataFrame(filled))) if rows else table.empty()


def shop(
    suppliers: list[dict[str, object]],
    offers: list[dict[str, object]],
    settings: dict[str, str] | None = None,
    **sheets: list[dict[str, object]],
) -> Shop:
    """Make a shop; an offer's blanks are one piece in a pack, from one pack, price per pack."""
    told = [{"setting": key, "value": value} for key, value in (settings or {}).items()]
    priced = []
    for row in offers:
        whole = {"pack": 1, "least_packs": 1, "from_packs": 1, "price": 0, "lead_days": 0, **row}
        priced.append({"offer": len(priced) + 1, "per": whole["pack"], **whole})
    named = [{"currency": "EUR", **row} for row in suppliers]
    rows = {"suppliers": named, "offers": priced, "shop": told, **sheets}
    return empty_shop().replaced(**{n: frame(BY_NAME[n], r) for n, r in rows.items()})


def days(of: Shop) -> pd.DataFrame:
    """Say that an offer is usable ``lead_days`` calendar days after today, at the door one less."""
    rows = [
        {
            "offer": offer,
            "arrives": pd.Timestamp(TODAY + timedelta(days=max(0, lead - 1))),
            "usable": pd.Timestamp(TODAY + timedelta(days=lead)),
        }
        for offer, lead in zip(
            *(of["offers"][c].tolist() for c in ("offer", "lead_days")), strict=True
        )
        if lead is not pd.NA
    ]
    return frame(flow.OFFER_DAYS, rows)


def short(*rows: tuple[str, int, int] | tuple[str, int, int, bool]) -> pd.DataFrame:
    """Make shortages from part, quantity, days until it is needed, and whether it is deferred."""
    return frame(
        flow.SHORTAGES,
        [
            {
                "need": number,
                "build": "B1",
                "assembly": "engine",
                "stage": "close",
                "part": row[0],
                "quantity": row[1],
                "day": pd.Timestamp(TODAY + timedelta(days=row[2])),
                "deferred": len(row) > 3 and bool(row[3]),
            }
            for number, row in enumerate(rows, start=1)
        ],
    )

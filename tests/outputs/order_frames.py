"""Buys, order lines and a shop written as rows, for the tests of order sheets."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pandas as pd

from kitting.tables.flow import BUYS
from kitting.tables.shop import BY_NAME, ORDERS, Shop, empty_shop
from kitting.terms.money import amount

if TYPE_CHECKING:
    from collections.abc import Sequence

    from kitting.tables.contract import Table

BLANKS = {
    "text": "",
    "whole": 0,
    "whole or blank": pd.NA,
    "real": 0.0,
    "yes or no": False,
    "day": pd.NaT,
}
SENT = pd.Timestamp("2026-03-02")
NEEDED = pd.Timestamp("2026-03-16")
SETTINGS = {
    "name": "Saltmarsh Engine Works",
    "address": "The Old Net Loft, Fennick Haven",
    "currency": "GBP",
}
NORTH = {
    "supplier": "NORTH",
    "name": "Northlight Distribution",
    "currency": "GBP",
    "address": "Unit 9, Carrow Park, Ulvermoor",
    "account": "70418",
    "freight": 850,
    "free_freight_above": 15000,
    "hazard_charge": 600,
    "least_order": 1000,
}
PARTS = (
    {"part": "GASKET", "name": "rocker cover gasket", "unit": "piece"},
    {"part": "SCREW", "name": "socket cap screw M8 x 20", "unit": "piece"},
    {"part": "RTV", "name": "silicone flange sealant, 80 ml tube", "unit": "ml"},
    {"part": "SPRAY", "name": "cleaner, 500 ml can", "unit": "ml", "hazard": "aerosol"},
)

MIXED = [
    {"packs": 3},
    {"part": "SCREW", "supplier_part": "007", "packs": 3, "pack": 25, "price": 1725, "per": 100},
    {"part": "RTV", "supplier_part": "=R1", "packs": 2, "pack": 80_000, "price": 1190},
    {"part": "SPRAY", "supplier_part": "1E5", "packs": 2, "pack": 500_000, "price": 390},
]


def frame(table: Table, rows: Sequence[dict[str, object]]) -> pd.DataFrame:
    """Fill rows up with blanks and cast them to a table's contract."""
    filled = [{c.name: row.get(c.name, BLANKS[c.kind]) for c in table.columns} for row in rows]
    return table.check(table.conform(pd.DataFrame(filled))) if rows else table.empty()


def shop(
    suppliers: Sequence[dict[str, object]] = (NORTH,),
    parts: Sequence[dict[str, object]] = PARTS,
    settings: dict[str, str] | None = None,
    closures: Sequence[dict[str, object]] = (),
    offers: Sequence[dict[str, object]] = (),
) -> Shop:
    """Make a shop with what an order sheet reads."""
    told = {**SETTINGS, **(settings or {})}
    return empty_shop().replaced(
        suppliers=frame(BY_NAME["suppliers"], suppliers),
        parts=frame(BY_NAME["parts"], parts),
        closures=frame(BY_NAME["closures"], closures),
        offers=frame(BY_NAME["offers"], offers),
        shop=frame(BY_NAME["shop"], [{"setting": k, "value": v} for k, v in told.items()]),
    )


def bought(rows: Sequence[dict[str, object]]) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Make buys and the order lines that follow from them.

    A row is one pack of one GASKET at 19.60 from NORTH unless it says otherwise; what it says of
    the order (``order``, ``note``, ``build``) goes there.
    """
    buys, orders = [], []
    for i, row in enumerate(rows, start=1):
        usual = {"supplier": "NORTH", "part": "GASKET", "supplier_part": "N1", "packs": 1}
        priced = {**usual, "pack": 1, "price": 1960, "currency": "GBP", "day": NEEDED, **row}
        priced.setdefault("per", priced["pack"])
        quantity = int(str(priced["packs"])) * int(str(priced["pack"]))
        cost = amount(quantity, int(str(priced["price"])), int(str(priced["per"])))
        known = {"buy": i, "quantity": quantity, "cost": cost, "arrives": SENT, "in_time": True}
        buys.append({**known, **priced})
        line = {"order": "K0001", "line": i, "price": cost, "ordered": SENT, **row}
        wanted = ("supplier", "part", "supplier_part", "packs")
        orders.append(
            {**line, **{n: priced[n] for n in wanted}, "quantity": quantity, "price": cost}
        )
    return frame(BUYS, buys), frame(ORDERS, orders)

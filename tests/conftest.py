"""Small shops for tests: only the cells that matter are given."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pandas as pd
import pytest
from hypothesis import HealthCheck, settings

from kitting.tables.catalogs import JOINT_KINDS
from kitting.tables.flow import FLOW
from kitting.tables.shop import BY_NAME, KEPT, Shop, empty_shop

if TYPE_CHECKING:
    from kitting.tables.contract import Table

# Examples take as long as the machine is busy.
settings.register_profile(
    "any machine", deadline=None, suppress_health_check=[HealthCheck.too_slow]
)
settings.load_profile("any machine")

_BLANK = {
    "text": "",
    "whole": 0,
    "whole or blank": pd.NA,
    "real": 0.0,
    "yes or no": False,
    "day": pd.NaT,
}


def filled(table: Table, rows: list[dict]) -> pd.DataFrame:
    """Return a frame of a contract; columns that a row does not give are blank or zero."""
    cells = [{c.name: row.get(c.name, _BLANK[c.kind]) for c in table.columns} for row in rows]
    if not cells:
        return table.empty()
    frame = pd.DataFrame(cells)
    for column in table.columns:
        if column.kind == "day":
            frame[column.name] = pd.to_datetime(frame[column.name])
    return table.check(table.conform(frame))


@pytest.fixture(scope="session")
def frame_of():
    """Give a function that makes a frame of the flow by its table's name."""
    tables = {t.name: t for t in (*FLOW, JOINT_KINDS, *KEPT)} | BY_NAME
    return lambda name, *rows: filled(tables[name], list(rows))


@pytest.fixture(scope="session")
def shop_of(frame_of):
    """Give a function that makes a shop from rows by table name, and settings by name."""

    def make(settings: dict[str, str] | None = None, **tables: list[dict]) -> Shop:
        rows = [{"setting": k, "value": v} for k, v in (settings or {}).items()]
        frames = {name: frame_of(name, *given) for name, given in tables.items()}
        return empty_shop().replaced(shop=frame_of("shop", *rows), **frames).check()

    return make

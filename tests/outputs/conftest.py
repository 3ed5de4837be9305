"""The demo's plan, made once for all tests of what people read."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from kitting.plan import plan
from kitting.reading import read_sheets
from kitting.reading.catalogs import catalogs
from kitting.reading.references import references
from kitting.shipped import shipped
from kitting.tables.shop import Shop

DAY = date(2026, 3, 9)


@pytest.fixture(scope="session")
def demo_shop() -> Shop:
    """Return the demo's sheets as they are read."""
    return Shop(read_sheets(Path(shipped("demo")) / "sheets", None).frames)


@pytest.fixture(scope="session")
def demo_plan(demo_shop):
    """Return the plan of Monday 9 March 2026."""
    return plan(demo_shop, DAY, catalogs(), references(demo_shop))

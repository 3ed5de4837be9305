"""Roads of two calendars against published holidays, by numpy's own working days.

Dates: the library holidays 0.109 (MIT), US and England 2026 compared with the official lists.
"""

from __future__ import annotations

import csv
from datetime import date
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from kitting.tables.shop import empty_shop
from kitting.timing import calendars
from kitting.timing.roads import Roads

FILE = Path(__file__).parent / "data" / "public_holidays_2025_2027.csv"
HOLIDAYS: dict[str, list[str]] = {}
for row in csv.DictReader(FILE.read_text().splitlines()):
    HOLIDAYS.setdefault(row["calendar"], []).append(row["date"])
DAYS = np.arange("2025-01-01", "2027-10-01", dtype="datetime64[D]")


def road(supplier, carrier, days):
    """Return the road of a supplier's calendar and a carrier's."""
    shop = empty_shop()
    suppliers = shop["suppliers"].reindex([0]).assign(supplier="any", calendar=supplier)
    carriers = shop["carriers"].reindex([0]).assign(carrier="van", calendar=carrier, days=days)
    shop = shop.replaced(suppliers=suppliers, carriers=carriers)
    made = calendars(shop, date(2026, 6, 1))
    return Roads(shop, made, pd.Series(["any"])).of("any", "van")


@pytest.mark.parametrize("lead", [0, 1, 3, 10])
@pytest.mark.parametrize("days", [0, 1, 4])
@pytest.mark.parametrize(("supplier", "carrier"), [("GB-ENG", "US"), ("US", "GB-ENG")])
def test_the_road_is_two_steps_of_working_days(supplier, carrier, days, lead):
    """Every day of three years: the supplier's days by its holidays, then the carrier's by its."""
    leaves = np.busday_offset(
        DAYS, max(lead - days, 0), roll="forward", holidays=HOLIDAYS[supplier]
    )
    there = np.busday_offset(leaves, days, roll="forward", holidays=HOLIDAYS[carrier])
    found = road(supplier, carrier, days)
    assert (found.at_door(DAYS, lead) == there).all()
    picked = np.busday_offset(DAYS, -days, roll="backward", holidays=HOLIDAYS[carrier])
    sent = np.busday_offset(
        picked, -max(lead - days, 0), roll="backward", holidays=HOLIDAYS[supplier]
    )
    late = DAYS[60:]  # the file begins with 2025
    assert (found.counts_by(late, lead) == sent[60:]).all()


@pytest.mark.parametrize(("supplier", "carrier"), [("GB-ENG", "US"), ("US", "GB-ENG")])
def test_days_within_the_lead_time_end_when_both_work(supplier, carrier):
    """The holidays of both are closed at the end; only the supplier's are before it."""
    both = [*HOLIDAYS[supplier], *HOLIDAYS[carrier]]
    ends = np.busday_offset(DAYS, 3, roll="forward", holidays=HOLIDAYS[supplier])
    there = np.busday_offset(ends, 0, roll="forward", holidays=both)
    found = road(supplier, carrier, pd.NA)
    assert (found.at_door(DAYS, 3) == there).all()


@pytest.mark.parametrize(
    ("supplier", "carrier", "days", "lead", "sent", "there"),
    [
        # Thanksgiving, Thursday 26 November 2026, closes the carrier of an English supplier.
        ("GB-ENG", "US", 2, 4, "2026-11-23", "2026-11-30"),
        # Early May bank holiday, Monday 4 May 2026, closes the supplier, not its American carrier.
        ("GB-ENG", "US", 1, 2, "2026-05-01", "2026-05-06"),
        # Independence Day is kept on Friday 3 July 2026.
        ("GB-ENG", "US", None, 4, "2026-06-29", "2026-07-06"),
    ],
)
def test_roads_reckoned_by_hand(supplier, carrier, days, lead, sent, there):
    """Leaves Wednesday 25, Friday and Monday on the road; and so on, by a calendar on the wall."""
    found = road(supplier, carrier, pd.NA if days is None else days)
    assert str(found.at_door(np.array([sent], dtype="datetime64[D]"), lead)[0]) == there

"""Working days against public-holiday lists and counts computed apart, day by day.

Dates: the library holidays 0.109 (MIT), US and England 2026 compared with the official lists;
counts: numpy, repeated by a walk day by day.
"""

from __future__ import annotations

import csv
import json
from datetime import date, timedelta
from pathlib import Path

import numpy as np
import pytest

from kitting.tables.shop import empty_shop
from kitting.timing import add_days, calendars, count, works

DATA = Path(__file__).parent / "data"
CASES = json.loads((DATA / "business_days.json").read_text())["cases"]
HOLIDAYS = list(csv.DictReader((DATA / "public_holidays_2025_2027.csv").read_text().splitlines()))


def calendar(name):
    """Return a supplier's calendar as a plan of 2026 would make it."""
    shop = empty_shop()
    suppliers = shop["suppliers"].reindex([0]).assign(supplier="any", calendar=name)
    return calendars(shop.replaced(suppliers=suppliers), date(2026, 6, 1))[name]


def label(case):
    """Name a case by what it asks."""
    return f"{case['calendar']} {case['start']} {case.get('n', case.get('end'))}"


@pytest.mark.parametrize("case", [c for c in CASES if "n" in c], ids=label)
def test_working_days_are_stepped_as_published(case):
    """Stepping lands on the published day."""
    assert (
        str(add_days(case["start"], case["n"], calendar(case["calendar"]))[0]) == (case["expected"])
    )


@pytest.mark.parametrize("case", [c for c in CASES if "end" in c], ids=label)
def test_working_days_are_counted_as_published(case):
    """Counting gives the published number."""
    counted = count(case["start"], case["end"], calendar(case["calendar"]))
    assert counted.tolist() == [case["expected"]]


def test_every_case_is_of_a_kind_that_is_tested():
    """No case of the file is passed over."""
    assert len(CASES) == 27
    assert all(("n" in c) != ("end" in c) for c in CASES)


@pytest.mark.parametrize("name", sorted({row["calendar"] for row in HOLIDAYS}))
def test_closed_weekdays_are_exactly_the_listed_holidays(name):
    """Over three years, a weekday is closed if and only if it is listed."""
    first = date(2025, 1, 1)
    days = [first + timedelta(n) for n in range((date(2028, 1, 1) - first).days)]
    listed = {row["date"] for row in HOLIDAYS if row["calendar"] == name}
    worked = works(np.array(days, dtype="datetime64[D]"), calendar(name))
    expected = [d.weekday() < 5 and d.isoformat() not in listed for d in days]
    assert worked.tolist() == expected

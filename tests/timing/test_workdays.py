"""Stepping and counting working days."""

from __future__ import annotations

from datetime import date

import numpy as np
import pytest

from kitting.errors import KittingError
from kitting.terms.days import Calendar
from kitting.timing import add_days, count, roll, works

SHUT = date(2026, 3, 11)
SHOP = Calendar("shop", "1111100", (SHUT,), date(2026, 1, 1), date(2026, 12, 31))


def text(days):
    return [str(d) for d in days]


def test_a_closed_day_is_stepped_over():
    """Wednesday is shut, so Tuesday and one day is Thursday, and back again."""
    assert text(add_days("2026-03-10", 1, SHOP)) == ["2026-03-12"]
    assert text(add_days("2026-03-12", -1, SHOP)) == ["2026-03-10"]


def test_a_day_that_is_not_worked_is_moved_first():
    """Saturday plus none is Monday going forward and Friday going back."""
    assert text(roll("2026-03-07", SHOP)) == ["2026-03-09"]
    assert text(roll("2026-03-07", SHOP, back=True)) == ["2026-03-06"]
    assert text(add_days("2026-03-07", 1, SHOP)) == ["2026-03-10"]


def test_each_day_may_have_its_own_steps_and_blank_stays_blank():
    days = np.array(["2026-03-09", "NaT", "2026-03-09"], dtype="datetime64[s]")
    assert text(add_days(days, [0, 1, 5], SHOP)) == ["2026-03-09", "NaT", "2026-03-17"]


def test_counting_takes_the_first_day_and_not_the_last():
    assert count("2026-03-09", "2026-03-13", SHOP).tolist() == [3]
    assert count(["2026-03-09"], ["2026-03-09"], SHOP).tolist() == [0]


def test_works_knows_weekends_and_closed_days():
    assert works(["2026-03-10", "2026-03-11", "2026-03-14"], SHOP).tolist() == [True, False, False]


@pytest.mark.parametrize(
    ("start", "n"), [("2025-12-31", 0), ("2026-12-30", 5), ("2026-01-02", -5), ("2027-01-04", -3)]
)
def test_a_day_outside_the_span_is_refused_by_name(start, n):
    """A start or a result that the calendar does not know is an error, or blank when asked for."""
    with pytest.raises(KittingError, match=r"calendar shop knows \(2026-01-01 to 2026-12-31\)"):
        add_days(start, n, SHOP)
    assert text(add_days(start, n, SHOP, blank_outside=True)) == ["NaT"]


def test_counting_from_a_blank_day_is_refused():
    with pytest.raises(KittingError, match="blank day"):
        count(np.datetime64("NaT"), "2026-03-09", SHOP)
    with pytest.raises(KittingError, match="2027-03-09 lies outside"):
        count("2026-03-09", "2027-03-09", SHOP)

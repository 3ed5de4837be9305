"""Days and times of day as they are written."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kitting.terms.days import parse_clock, parse_day

if TYPE_CHECKING:
    from datetime import date


@given(st.dates())
def test_iso_days_read_back(day: date) -> None:
    """Year-month-day is read as that day."""
    assert parse_day(f" {day.isoformat()} ") == day


@pytest.mark.parametrize(
    "text",
    [
        "",
        "09/03/2026",
        "9.3.2026",
        "2026-3-9",
        "20260309",
        "2026-W11-1",
        "2026-02-30",
        "٢٠٢٦-٠٣-٠٩",
    ],
)
def test_other_days_are_refused(text: str) -> None:
    """Days that could be read in two ways, or do not exist, are refused with what to write."""
    with pytest.raises(ValueError, match="write year-month-day"):
        parse_day(text)


@pytest.mark.parametrize(("text", "minutes"), [("0:00", 0), ("15:30", 930), (" 23:59 ", 1439)])
def test_times(text: str, minutes: int) -> None:
    """A 24-hour time is minutes after midnight."""
    assert parse_clock(text) == minutes


@pytest.mark.parametrize("text", ["", "24:00", "12:60", "9:5", "3 pm", "15.30", "-1:00", "²:00"])
def test_other_times_are_refused(text: str) -> None:
    """Anything else is refused with what to write."""
    with pytest.raises(ValueError, match="write hours:minutes"):
        parse_clock(text)

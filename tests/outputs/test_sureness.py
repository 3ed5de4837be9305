"""How sure a build is, in one line."""

from __future__ import annotations

import pytest

from kitting.outputs.sureness import chance_line, percent


@pytest.mark.parametrize(
    ("chance", "text"),
    [(1.0, "100 %"), (0.996, "99 %"), (0.874, "87 %"), (0.875, "88 %"), (0.012, "1 %"),
     (0.009, "under 1 %"), (0.0, "0 %")],
)  # fmt: skip
def test_what_is_not_sure_is_never_a_hundred_percent(chance, text):
    """Whole percents; neither 100 nor 0 unless it is."""
    assert percent(chance) == text


def told(parts, *deciding, job=False):
    rows = [{"order": o, "supplier": s, "chance_in_time": c, "job": job} for o, s, c in deciding]
    return chance_line({"parts_in_time": parts, "deciding": rows})


def test_the_line_names_what_decides():
    """The order on the way, the supplier to order from, who has a job, or that nobody brings it."""
    start = "chance that every part is there in time: "
    assert told(0.87, ("SEW-26-008", "NEAR", 0.9)) == f"{start}87 %; SEW-26-008 decides it"
    bought = told(0.5, (None, "NEAR", 0.5), ("K1", "FAR", 0.9))
    assert bought == f"{start}50 %; what is ordered from NEAR decides it"
    away = told(0.5, (None, "NEAR", 0.5), job=True)
    assert away == f"{start}50 %; a job at NEAR decides it"
    assert told(0.0, ("K1", "FAR", 0.0), (None, None, 0.0)) == f"{start}0 %; some have no source"
    assert told(0.9) == f"{start}90 %"


def test_what_is_sure_needs_no_line():
    """Nothing to say for a sure build, nor for one without stages."""
    assert told(1.0) == ""
    assert told(0.9951) == ""
    assert chance_line(None) == ""

"""Days on which suppliers take orders, and their clocks: read or told."""

from __future__ import annotations

import pytest

from kitting.reading import read_sheets
from kitting.terms.days import parse_week


@pytest.mark.parametrize(
    ("text", "week"),
    [
        ("", "1111111"),
        ("Tue; Thu", "0101000"),
        ("monday, Friday", "1000100"),
        ("Sat Sun", "0000011"),
    ],
)
def test_days_of_the_week(text, week):
    assert parse_week(text) == week


@pytest.mark.parametrize("text", ["T", "1", "Mo", "Tue-Thu", "Noday"])
def test_what_is_no_day_of_the_week(text):
    with pytest.raises(ValueError, match="is not a day of the week"):
        parse_week(text)


def test_faults_of_both_columns_are_told(tmp_path):
    (tmp_path / "suppliers.csv").write_text(
        "supplier,order_days,time_zone\nNear,Tue; Thu,Europe/London\nFar,Noday,Atlantis/Sunken\n"
    )
    told = [str(f) for f in read_sheets(tmp_path).findings]
    assert len(told) == 2
    assert 'suppliers row 3, order_days: "Noday" is not a day of the week' in told[0]
    assert '"Atlantis/Sunken" is not a time zone; write one such as Europe/London' in told[1]

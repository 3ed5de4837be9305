"""Benches and people as the sheet shop writes them."""

from __future__ import annotations

import pytest

from kitting.terms.benches import parse_benches, parse_people


def test_benches_and_how_many_there_are() -> None:
    """One of each unless a number says more; order and names are kept."""
    found = parse_benches(" bay 1; run stand ;bench = 3;; ")
    assert list(found.items()) == [("bay 1", 1), ("run stand", 1), ("bench", 3)]
    assert parse_benches("  ") == {}


@pytest.mark.parametrize("text", ["bay = none", "bay = 0", "people = 2", "= 3", "bay = 1 = 2"])
def test_benches_that_cannot_be_understood(text: str) -> None:
    """Told with what was seen and what to write."""
    with pytest.raises(ValueError, match="write the places with ; between"):
        parse_benches(text)


@pytest.mark.parametrize("text", ["0", "two", "-1", "1.5", "\u0662"])
def test_people_that_cannot_be_counted(text: str) -> None:
    """A whole number above zero, in plain digits."""
    with pytest.raises(ValueError, match="write how many work at once"):
        parse_people(text)


def test_people() -> None:
    """Blank is no limit."""
    assert (parse_people(" 2 "), parse_people("")) == (2, 0)

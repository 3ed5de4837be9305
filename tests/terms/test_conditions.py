"""Conditions on options: what they say, when they hold, what is refused."""

from __future__ import annotations

import time

import pytest

from kitting.terms.conditions import (
    Condition,
    holds,
    parse_choices,
    parse_when,
    split_list,
)


def test_the_three_forms() -> None:
    """Equal, not equal and any of several, with ``;`` between."""
    assert parse_when("induction=turbo; catalyst!=yes; cooling=air, oil") == (
        Condition("induction", ("turbo",)),
        Condition("catalyst", ("yes",), negated=True),
        Condition("cooling", ("air", "oil")),
    )


@pytest.mark.parametrize("text", ["", "  ", ";", " ; ; "])
def test_blank_always_holds(text: str) -> None:
    """No condition holds for every build."""
    assert parse_when(text) == ()
    assert holds(parse_when(text), {})


@pytest.mark.parametrize(
    ("text", "choices", "expected"),
    [
        ("cooling=air", {"cooling": "air"}, True),
        ("cooling=air", {"cooling": "oil"}, False),
        ("cooling=air", {}, False),  # nothing chosen equals no value
        ("cooling!=air", {}, True),
        ("cooling!=air", {"cooling": "air"}, False),
        ("cooling!=air,oil", {"cooling": "oil"}, False),  # none of them
        ("cooling=air,oil", {"cooling": "oil"}, True),  # any of them
        ("cooling=air; use=road", {"cooling": "air"}, False),  # all must hold
        ("cooling=Air", {"cooling": "air"}, False),  # case matters
    ],
)
def test_when_it_holds(text: str, choices: dict[str, str], expected: bool) -> None:
    """All conditions must hold; ``,`` means any, or none of them after ``!=``."""
    assert holds(parse_when(text), choices) is expected


@pytest.mark.parametrize(
    "text",
    [
        "turbo",
        "=turbo",
        "a=",
        "a = ",
        "a=,",
        "!=x",
        "a==b",
        "a=b=c",
        "a!b",
        "a,b=c",
        "a=b!",
        "a;b=c",
    ],
)
def test_other_syntax_is_refused(text: str) -> None:
    """There is no other syntax; a condition without a value is refused too."""
    with pytest.raises(ValueError, match="is not a condition"):
        parse_when(text)


def test_long_cells_do_not_hang() -> None:
    """Thousands of spaces in a cell cost no more than reading them."""
    start = time.perf_counter()
    for text in ("a" + " " * 9000 + "b", "a=b" + " " * 4000 + "c" + " " * 4000 + "!"):
        with pytest.raises(ValueError, match="is not a condition"):
            parse_when(text)
    assert time.perf_counter() - start < 10


def test_choices_of_a_build() -> None:
    """Each option has one value; saying the same twice is fine."""
    assert parse_choices("a=b; c=d; a=b") == {"a": "b", "c": "d"}


@pytest.mark.parametrize("text", ["a!=b", "a=b,c", "a=b; a=c", "a"])
def test_choices_must_be_one_value(text: str) -> None:
    """Not equal, several values and two answers are refused."""
    with pytest.raises(ValueError, match=r"value|condition"):
        parse_choices(text)


def test_lists() -> None:
    """Names are split at ``;`` and ``,``; blanks fall out."""
    assert split_list(" a; b,c ;; ") == ("a", "b", "c")


@pytest.mark.parametrize(
    ("use", "when", "so"),
    [
        ("road", "use=Road", True),
        ("road, off-road", "use=off-road", True),
        ("road, off-road", "use!=road", False),
        ("off-road", "use=road", False),
        ("", "use!=road", True),
    ],
)
def test_a_use_is_compared_by_what_it_lists(use: str, when: str, so: bool) -> None:
    """Case does not matter and each use that is listed counts; other options are to the letter."""
    assert holds(parse_when(when), {"use": use}) is so
    assert not holds(parse_when("colour=Red"), {"colour": "red"})

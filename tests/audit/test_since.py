"""What the bill said on the day on which a part was missed."""

from __future__ import annotations

import pytest
from conftest import filled

from kitting.audit.events import counted
from kitting.audit.since import bill_then
from kitting.tables.versions import LINE_HISTORY

AT = {"assembly": "engine", "stage": "head", "part": "ring"}


def line(version, day, quantity, *, came=True, by="Ada", **more):
    """Return one row of the history: a line for the ring came or went."""
    row = {"version": version, "day": day, "by": by, "came": came, "quantity": quantity}
    return {**row, **AT, **more}


@pytest.fixture
def said(shop_of):
    """Return a function: today's lines and their history to what is said of one missed ring."""

    def make(lines, history, noted="2026-02-01", **event):
        shop = shop_of(
            builds=[{"build": "A", "assembly": "engine", "finished": "2026-02-05"}],
            parts=[{"part": "ring"}],
            stages=[{"assembly": "engine", "stage": "head"}],
            joints=[{"assembly": "engine", "stage": "head", "joint": j} for j in ("cover", "plug")],
            lines=[{**AT, "line": n, **row} for n, row in enumerate(lines, 1)],
            forgotten=[{"entry": 7, "build": "A", "stage": "head", "part": "ring", "quantity": 1,
                        "unit": "piece", "noted": noted, **event}],
        )  # fmt: skip
        return bill_then(counted(shop), shop, filled(LINE_HISTORY, history)).get(7, "")

    return make


OTHER = line(1, "2026-01-01", 1, part="bolt")
BOLT = {"part": "bolt", "quantity": 1}


def test_a_line_that_came_since(said):
    """The bill is known from January, the ring is in it from March on."""
    lines = [BOLT, {"quantity": 2}]
    assert said(lines, [OTHER, line(2, "2026-03-01", 2)]) == (
        "since version 2 of 2026-03-01 by Ada; the bill of that day did not have it there"
    )
    assert said(lines, [OTHER, line(2, "2026-03-01", 2, by="")], joint="plug").startswith(
        "since version 2 of 2026-03-01; "
    )


def test_a_count_that_was_raised_since(said):
    """A changed line went as it was and came as it is."""
    history = [
        line(1, "2026-01-01", 2),
        line(2, "2026-03-01", 3),
        line(2, "2026-03-01", 2, came=False),
    ]
    assert said([{"quantity": 3}], history).endswith("the bill of that day asked for 2 there")


def test_a_line_that_was_there(said):
    """A version of the very day counts: it was read in the morning."""
    assert said([{"quantity": 2}], [line(1, "2026-02-01", 2)]) == (
        "the bill of that day asked for as much"
    )


@pytest.mark.parametrize(
    "history", [[], [line(1, "2026-03-01", 2)]], ids=["no version", "first read later"]
)
def test_nothing_is_said_where_nothing_is_known(said, history):
    assert said([{"quantity": 2}], history) == ""


def test_nothing_is_said_of_a_line_that_asks_for_less_since(said):
    history = [
        line(1, "2026-01-01", 2),
        line(2, "2026-03-01", 1),
        line(2, "2026-03-01", 2, came=False),
    ]
    assert said([{"quantity": 1}], history) == ""


def test_of_a_bill_first_read_later_only_what_came_after_is_told(said):
    """It says since when, and nothing of the day of the note."""
    history = [line(1, "2026-02-10", 1, part="bolt"), line(2, "2026-03-01", 2)]
    assert said([BOLT, {"quantity": 2}], history) == "since version 2 of 2026-03-01 by Ada"


def test_another_joint_says_nothing(said):
    """The line that came is for the plug, the ring was missed at the cover."""
    history = [OTHER, line(2, "2026-03-01", 2, joint="plug")]
    lines = [BOLT, {"quantity": 2, "joint": "plug"}]
    assert said(lines, history, joint="cover") == ""
    assert "version 2" in said(lines, history, joint="plug")

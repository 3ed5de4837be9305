"""Proposals, their worth, and the test on builds held back."""

from __future__ import annotations

from datetime import date

import pytest

from kitting.audit import (
    back_test,
    below_kept,
    changed_sheets,
    decision,
    new_rows,
    proposals,
    tally,
)  # fmt: skip
from kitting.errors import KittingError
from kitting.tables.audit import BACK_TEST, CAUGHT, PROPOSALS, PROPOSED
from kitting.terms.words import Decision

DAY = date(2026, 3, 9)
BILL = {
    "parts": [
        {"part": "ring", "family": "o-ring", "unit": "piece", "single_use": "never"},
        {"part": "seal", "family": "lip seal", "unit": "piece", "shelf_days": 183},
        {"part": "bolt", "family": "bolt", "unit": "piece"},
    ],
    "stages": [{"assembly": "engine", "stage": s} for s in ("head", "close")],
    "joints": [
        {"assembly": "engine", "stage": "head", "joint": "cover", "count": 2, "disturbances": 2},
        {"assembly": "engine", "stage": "close", "joint": "shaft", "count": 1, "disturbances": 1,
         "when": "drive=shaft"},
    ],
    "lines": [
        {"line": 1, "assembly": "engine", "stage": "close", "joint": "shaft", "part": "seal",
         "quantity": 1, "unit": "piece"},
        {"line": 2, "assembly": "engine", "stage": "head", "joint": "cover", "part": "bolt",
         "quantity": 3, "unit": "piece"},
    ],
    "offers": [
        {"offer": 1, "supplier": "NEAR", "part": "seal", "price": 1000, "per": 1, "lead_days": 3},
        {"offer": 2, "supplier": "FAR", "part": "seal", "price": 800, "per": 1, "lead_days": 9},
        {"offer": 3, "supplier": "NEAR", "part": "bolt", "price": 50, "per": 1, "lead_days": 3},
    ],
    "builds": [
        {"build": f"B{n}", "assembly": "engine", "start": f"2025-{n:02d}-01",
         "finished": f"2025-{n:02d}-20", "options": "drive=shaft"}
        for n in range(1, 7)
    ],
}  # fmt: skip
PLACES = {"ring": ("head", "cover"), "bolt": ("head", "cover"), "seal": ("close", "shaft")}


def forgot(entry, build, part, cause, quantity=1, **more):
    stage, joint = PLACES[part]
    return {"entry": entry, "build": build, "stage": stage, "joint": joint, "part": part,
            "quantity": quantity, "unit": "piece", "cause": cause, "noted": "2025-06-01",
            "role": "seal", **more}  # fmt: skip


@pytest.fixture
def proposed(shop_of, frame_of):
    """Give a function that proposes for some events, none of which the bill catches."""

    def make(*events, caught="", decided=None, settings=None):
        shop = shop_of(settings, forgotten=list(events), **BILL)
        rows = [{"entry": e["entry"], "build": e["build"], "how": caught} for e in events]
        frame = CAUGHT.empty() if not rows else _frame(frame_of, rows)
        found = proposals(
            shop, frame, tally(shop), PROPOSALS.empty() if decided is None else decided
        )
        return shop, PROPOSED.check(found)

    return make


def _frame(frame_of, rows):
    import pandas as pd

    blank = {c.name: "" for c in CAUGHT.columns} | {"entry": 0, "quantity": 0, "caught": False}
    return CAUGHT.conform(pd.DataFrame([blank | row for row in rows]))


@pytest.mark.parametrize(
    ("event", "lesson", "quantity"),
    [
        # Two covers, each closed twice: four rings missing are one for each.
        (forgot(1, "B1", "ring", "not in the bill", 4), "add a line", 1),
        # Six bolts were asked for and two were missing: four for each of two covers.
        (forgot(1, "B1", "bolt", "wrong count", 2), "raise the count", 4),
        (forgot(1, "B1", "seal", "damaged on fitting"), "carry a spare", 1),
        (forgot(1, "B1", "seal", "measured size"), "keep on the shelf", 1),
        (forgot(1, "B1", "seal", "late"), "order sooner", 1),
        (forgot(1, "B1", "seal", "in the bill but not picked"), "look at the bin", 1),
        (forgot(1, "B1", "seal", "wrong part"), "look at the bin", 1),
        (forgot(1, "B1", "ring", ""), "add a line", 1),
    ],
)
def test_each_cause_asks_for_its_change(proposed, event, lesson, quantity):
    _, found = proposed(event)
    assert found[["lesson", "quantity"]].to_numpy().tolist() == [[lesson, quantity]]


def test_events_of_one_place_are_one_proposal(proposed):
    """Three events at one place are one change, and its evidence counts the builds."""
    events = [forgot(n, f"B{n}", "ring", "not in the bill", hours_lost=1.0) for n in (1, 2, 3)]
    _, found = proposed(*events)
    (row,) = found.to_dict("records")
    assert (row["entries"], row["builds"], row["could"]) == ("1; 2; 3", 3, 6)
    assert "B1, B2, B3: 3 of 6" in row["evidence"]
    assert 0 < row["avoided_low"] < row["avoided"] < row["avoided_high"] < 1


@pytest.mark.parametrize("how", ["bill line", "set content"])
def test_what_the_bill_catches_is_not_proposed(proposed, how):
    _, found = proposed(forgot(1, "B1", "ring", "not in the bill"), caught=how)
    assert found.empty


def test_hours_cost_what_the_shop_says(proposed):
    """Without an hour rate only money counts; with one the same change saves more."""
    event = forgot(1, "B1", "ring", "not in the bill", hours_lost=2.0, money_lost=500)
    _, without = proposed(event)
    _, with_rate = proposed(event, settings={"hour_rate": "40"})
    assert with_rate["hours_saved"][0] == without["hours_saved"][0] > 0
    assert with_rate["money_saved"][0] > 10 * without["money_saved"][0]


def test_a_spare_costs_a_fifth_a_year_or_its_shelf_life(proposed):
    """A seal at 8.00 that lasts half a year is bought twice a year; a bolt at 0.50 costs 0.10."""
    _, seal = proposed(forgot(1, "B1", "seal", "damaged on fitting"))
    assert seal["cost"][0] == pytest.approx(1600, abs=5)
    _, bolt = proposed(forgot(1, "B1", "bolt", "damaged on fitting"))
    assert bolt["cost"][0] == 10


def test_what_was_decided_is_not_proposed_until_it_happens_again(proposed):
    event = forgot(1, "B1", "ring", "not in the bill")
    _, found = proposed(event)
    signed = decision(found.iloc[0], Decision.REJECTED, "Ines", "once only", DAY)
    _, again = proposed(event, decided=signed)
    assert again.empty
    _, after = proposed(event, forgot(2, "B2", "ring", "not in the bill"), decided=signed)
    assert after["entries"].tolist() == ["1; 2"]


def test_a_line_is_added_and_nothing_else_changes(proposed):
    shop, found = proposed(forgot(1, "B1", "ring", "not in the bill", 4))
    before = shop["lines"].copy()
    frames = changed_sheets(shop, found.iloc[0], "Ines", DAY)
    assert set(frames) == {"lines"}
    (row,) = new_rows(shop["lines"], frames["lines"]).to_dict("records")
    assert (row["line"], row["joint"], row["role"], row["part"], row["quantity"]) == (
        3, "cover", "seal", "ring", 1,
    )  # fmt: skip
    assert row["source"] == "Ines, 2026-03-09"
    assert shop["lines"].equals(before)


def test_a_count_is_raised_in_its_own_row(proposed):
    shop, found = proposed(forgot(1, "B1", "bolt", "wrong count", 2))
    frames = changed_sheets(shop, found.iloc[0], "Ines", DAY)
    assert frames["lines"]["quantity"].tolist() == [1, 4]


def test_a_spare_goes_where_its_joint_is(proposed):
    """A spare for a joint that only some builds have is carried only for those."""
    shop, found = proposed(forgot(1, "B1", "seal", "damaged on fitting"))
    row = changed_sheets(shop, found.iloc[0], "Ines", DAY)["lines"].iloc[-1]
    assert (row["joint"], row["role"], row["when"], row["quantity"]) == ("", "", "drive=shaft", 1)
    assert row["note"].startswith("spare; ")


def test_ordering_sooner_lengthens_one_supplier_s_lead_time(shop_of, proposed):
    shop, found = proposed(forgot(1, "B1", "seal", "late"))
    row = found.iloc[0].copy()
    row["supplier"], row["days"] = "FAR", 4
    assert changed_sheets(shop, row, "Ines", DAY)["offers"]["lead_days"].tolist() == [3, 13, 3]
    row["supplier"] = "GONE"
    with pytest.raises(KittingError, match="nobody offers seal at GONE"):
        changed_sheets(shop, row, "Ines", DAY)


def test_what_is_to_be_kept_is_watched(proposed):
    """Accepted, it is noted while the shelf holds less; the last decision counts."""
    shop, found = proposed(forgot(1, "B1", "seal", "measured size"))
    accepted = decision(found.iloc[0], Decision.ACCEPTED, "Ines", "cheap", DAY)
    (note,) = below_kept(shop, accepted)
    assert note.about == "seal"
    assert "and 1 are to be kept there (Ines, 2026-03-09)" in note.message
    import pandas as pd

    after = pd.concat([accepted, accepted.assign(decision="rejected")])
    assert below_kept(shop, after) == ()


def test_back_test_uses_earlier_builds_only(shop_of):
    """The second ring is caught by the first, the first and the other place by nothing."""
    events = [
        forgot(1, "B2", "ring", "not in the bill"),
        forgot(2, "B4", "ring", "not in the bill"),
        forgot(3, "B5", "ring", "not in the bill", joint="lid"),
        forgot(4, "B1", "bolt", "wrong count", 2),
        forgot(5, "B6", "bolt", "wrong count", 3),
    ]
    found = BACK_TEST.check(back_test(shop_of(forgotten=events, **BILL)))
    by = found.set_index("entry")
    assert by["caught"].to_dict() == {1: False, 2: True, 3: False, 5: False}
    assert by.loc[2, "from_entry"] == "1"
    assert by["earlier"].to_dict() == {1: 1, 2: 3, 3: 4, 5: 5}


def test_one_build_or_none_is_no_back_test(shop_of):
    assert back_test(shop_of(**BILL)).empty
    assert back_test(shop_of(forgotten=[forgot(1, "B1", "ring", "")], **BILL)).empty

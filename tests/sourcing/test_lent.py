"""Tools and figures: bought once, however many stages use them in turn."""

from __future__ import annotations

import pandas as pd

from kitting.sourcing.lent import ask_once, lend_on
from kitting.tables.flow import BUY_NEEDS, SHORTAGES

DAYS = ["2026-03-20", "2026-03-12", "2026-03-15", "2026-03-10"]


def short() -> pd.DataFrame:
    frame = pd.DataFrame(
        {
            "need": [1, 2, 3, 4],
            "role": ["tool", "tool", "figure", "seal"],
            "part": ["WRENCH", "WRENCH", "MANUAL", "RING"],
            "quantity": [1, 2, 1, 6],
            "day": DAYS,
            "deferred": False,
        }
    )
    blank = {c: "" for c in ("build", "assembly", "stage", "joint")}
    return SHORTAGES.conform(frame.assign(**blank))


def test_the_most_that_one_stage_asks_is_asked_once_by_the_earliest_day() -> None:
    """Two stages short of one and of two wrenches ask for two, by the earlier day."""
    asked, served = ask_once(short())
    wrench = asked[asked["part"] == "WRENCH"]
    assert wrench["quantity"].tolist() == [2]
    assert wrench["day"].tolist() == [pd.Timestamp("2026-03-12")]
    assert asked.loc[asked["part"] == "RING", "quantity"].tolist() == [6]
    assert sorted(served["need"]) == [1, 2, 3]


def test_the_buy_serves_every_stage_that_waits_for_it() -> None:
    """Each need that was short is covered by the one buy, never by more than it asks."""
    _, served = ask_once(short())
    bought = BUY_NEEDS.conform(
        pd.DataFrame({"buy": [7, 8, 9], "need": [2, 3, 4], "quantity": [2, 1, 6]})
    )
    covers = lend_on(bought, served).set_index("need")["quantity"].sort_index()
    assert covers.to_dict() == {1: 1, 2: 2, 3: 1, 4: 6}


def test_without_lent_parts_nothing_changes() -> None:
    """Shortages of what is used up pass through as they are."""
    seals = short().query("role == 'seal'").reset_index(drop=True)
    asked, served = ask_once(seals)
    assert asked.equals(seals)
    assert served.empty

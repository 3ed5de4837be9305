"""Orders that come after the day of the need they could have covered."""

from __future__ import annotations

import pandas as pd
import pytest

from kitting.netting import come_late
from kitting.tables.flow import PICKS, SHORTAGES, SUPPLY


def short(day: str) -> pd.DataFrame:
    row = {
        "need": 1, "build": "B1", "assembly": "A", "stage": "head", "joint": "", "role": "seal",
        "part": "RING", "quantity": 2, "day": day, "deferred": False,
    }  # fmt: skip
    return SHORTAGES.conform(pd.DataFrame([row]))


def coming(order: str, held_for: str = "") -> pd.DataFrame:
    row = {
        "supply": 1, "part": "RING", "quantity": 4, "from_day": "2026-03-20", "use_by": pd.NaT,
        "held_for": held_for, "order": order, "lot": "", "place": "", "owner": "",
        "assembly": "", "stage": "", "kit": "",
    }  # fmt: skip
    return SUPPLY.conform(pd.DataFrame([row]))


def test_an_order_after_the_day_is_told_with_both_days() -> None:
    (finding,) = come_late(short("2026-03-18"), coming("K7"), PICKS.empty())
    assert "K7" in finding.message
    assert "2026-03-20" in finding.message
    assert "2026-03-18" in finding.message


@pytest.mark.parametrize(
    ("shortages", "supply", "taken"),
    [
        (short("2026-03-20"), coming("K7"), 0),  # in time
        (short("2026-03-18"), coming(""), 0),  # on the shelf, for another reason not usable
        (short("2026-03-18"), coming("K7", "B2"), 0),  # kept for somebody else
        (short("2026-03-18"), coming("K7"), 4),  # spoken for
    ],
)
def test_what_does_not_concern_the_need_is_not_told(shortages, supply, taken) -> None:
    picks = pd.DataFrame({"need": [9], "supply": [1], "part": ["RING"]})
    picks = PICKS.conform(picks.assign(quantity=taken, covers=taken))
    assert come_late(shortages, supply, picks) == ()

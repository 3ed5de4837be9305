"""By which day parts that came late had to be ordered, and how sure their promise was."""

from __future__ import annotations

from datetime import date

import numpy as np
import pandas as pd
import pytest

from kitting.timing.calendars import calendars
from kitting.timing.lead_times import lead_times, likely_days
from kitting.timing.past_orders import past_orders

DAY = date(2026, 6, 1)


@pytest.fixture
def found(shop_of, frame_of):
    """Return a function: the promise of one order to the row told of it."""

    def make(promised, *, past=(), settings=None):
        """``past``: by how many weekdays each of some earlier orders came after its promise."""
        orders = [
            {
                "order": "K-1",
                "line": 1,
                "supplier": "S",
                "part": "ring",
                "quantity": 1,
                "ordered": "2026-03-02",
                "promised": promised,
                "build": "A",
            }
        ]
        receipts = (
            [
                {
                    "receipt": "R",
                    "order": "K-1",
                    "line": 1,
                    "part": "ring",
                    "quantity": 1,
                    "received": promised,
                }
            ]
            if promised
            else []
        )
        for n, late in enumerate(past):
            orders.append(
                {
                    "order": f"P-{n}",
                    "line": 1,
                    "supplier": "S",
                    "part": "ring",
                    "quantity": 1,
                    "ordered": "2026-04-06",
                    "promised": "2026-04-10",
                }
            )
            came = np.busday_offset("2026-04-10", late)
            receipts.append(
                {
                    "receipt": f"R-{n}",
                    "order": f"P-{n}",
                    "line": 1,
                    "part": "ring",
                    "quantity": 1,
                    "received": str(came),
                }
            )
        shop = shop_of(
            settings or {"calendar": "every weekday", "goods_in_days": "1"},
            builds=[{"build": "A", "assembly": "engine", "start": "2026-03-16"}],
            parts=[{"part": "ring"}],
            suppliers=[{"supplier": "S", "calendar": "every weekday"}],
            offers=[{"offer": 1, "supplier": "S", "part": "ring", "pack": 1, "per": 1,
                     "price": 100, "lead_days": 3}],
            forgotten=[{"entry": 1, "build": "A", "stage": "head", "part": "ring", "quantity": 1,
                        "cause": "late"}],
            orders=orders,
            receipts=receipts,
        )  # fmt: skip
        place = {"build": "A", "assembly": "engine", "stage": "head"}
        days = calendars(shop, DAY)
        times = lead_times(shop, DAY, days)
        frame = past_orders(
            shop,
            frame_of("required", {**place, "required": 1, "part": "ring", "quantity": 1}),
            frame_of("stage_days", {**place, "start": "2026-03-16"}),
            days,
            likely_days(shop, times),
            times,
        )
        (row,) = frame.to_dict("records")
        return row

    return make


@pytest.mark.parametrize(
    ("promised", "chance"),
    [("2026-03-12", 1.0), ("2026-03-13", 1.0), ("2026-03-16", 0.0), ("2026-03-30", 0.0)],
)
def test_a_promise_kept_to_the_letter(found, promised, chance):
    """Friday at the door is through goods-in on Monday, the stage's first day; Monday is not."""
    row = found(promised)
    assert row["chance"] == chance
    assert row["doubtful"] == (chance < 0.9)
    assert row["promised"] == pd.Timestamp(promised)


def test_what_came_late_since_makes_a_promise_doubtful(found):
    """Two days of room: half of twenty orders came three days late, so about half would not do."""
    row = found("2026-03-11", past=[0, 3] * 10)
    assert 0.45 < row["chance"] < 0.65
    assert row["doubtful"]
    assert found("2026-03-10", past=[0, 3] * 10)["chance"] == pytest.approx(1.0)


def test_an_order_without_a_promise_tells_no_chance(found):
    row = found(None)
    assert np.isnan(row["chance"])
    assert not row["doubtful"]

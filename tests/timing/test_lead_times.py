"""What to expect of a supplier: assumed, learned, and read at the shop's confidence."""

from __future__ import annotations

from datetime import date

import numpy as np
import pandas as pd
import pytest

from kitting.errors import InputError
from kitting.reading.catalogs import catalogs
from kitting.tables.outlook import LEAD_TIMES, LIKELY_DAYS
from kitting.timing import calendars, lead_table, lead_times, likely_days
from kitting.timing.lead_times import PLAIN, LeadClass, read_classes
from kitting.timing.survival import EARLIEST, LATEST, quantile

DAY = date(2026, 3, 9)
CLASSES = catalogs().lead_classes


def history(supplier, days, stated=8, ordered="2026-01-05", many=1):
    """Orders of one line each that took some working days from a Monday."""
    start = np.datetime64(ordered)
    orders, receipts = [], []
    for n, took in enumerate(days * many):
        name = f"{supplier}-{ordered}-{n}"
        orders.append(
            {
                "order": name, "line": 1, "supplier": supplier, "part": "ring", "quantity": 1,
                "ordered": ordered, "promised": str(np.busday_offset(start, stated)),
            }
        )  # fmt: skip
        if took is not None:
            receipts.append(
                {
                    "receipt": f"R{name}", "order": name, "line": 1, "part": "ring", "quantity": 1,
                    "received": str(np.busday_offset(start, took)),
                }
            )  # fmt: skip
    return orders, receipts


@pytest.fixture
def times_of(shop_of):
    """Return a function: suppliers with their kind, offers and histories to lead times."""

    def make(*histories, kinds=None, offers=(), classes=CLASSES, settings=None, day=DAY):
        orders = [o for h in histories for o in h[0]]
        receipts = [r for h in histories for r in h[1]]
        kinds = {"Near": "", "Far": "", **(kinds or {})}
        shop = shop_of(
            settings,
            suppliers=[{"supplier": s, "kind": k} for s, k in kinds.items()],
            offers=list(offers),
            orders=orders,
            receipts=receipts,
        )
        return shop, lead_times(shop, day, calendars(shop, day), classes)

    return make


@pytest.mark.parametrize("row", CLASSES.to_dict("records"), ids=lambda r: r["class"])
def test_what_is_assumed_has_the_spread_of_its_class(row):
    """By the stated day comes the share on time; nine in ten within the class's spread."""
    (one,) = (c for c in read_classes(CLASSES) if c.name == row["class"])
    share = one.share()
    assert share[-EARLIEST] == pytest.approx(row["on_time"] / 100)
    assert share[-EARLIEST - 1] == 0.0
    assert share[row["p90"] - row["p50"] - EARLIEST] == pytest.approx(0.9)
    assert quantile(share, 0.9) == row["p90"] - row["p50"]
    assert (np.diff(share) >= 0).all()
    assert 0.9 < share[-1] < 1.0
    assert row["source"].startswith("[A]")


def test_a_class_without_spread_keeps_its_day():
    """Nothing assumed: the stated day, to the letter."""
    assert quantile(PLAIN.share(), 0.999) == 0
    assert quantile(LeadClass("own", (), 0, 0, 0.5).share(), 0.9) == 0


@pytest.mark.parametrize(
    ("stated", "name"),
    [(0, "counter"), (1, "distributor"), (3, "distributor"), (4, "on order"), (10, "dealer"),
     (15, "overseas"), (39, "overseas"), (60, "custom"), (900, "custom")],
)  # fmt: skip
def test_without_a_kind_the_stated_days_tell_the_class(times_of, stated, name):
    """The longest class that the stated days reach."""
    _, times = times_of()
    assert times.class_of("Near", stated) == name


def test_the_kind_of_a_supplier_tells_the_class_of_all_its_offers(times_of):
    """By name or by another word for it; a word that nobody knows counts as none."""
    _, times = times_of(kinds={"Near": " Machine  Shop", "Far": "import", "Odd": "wizard"})
    assert times.class_of("Near", 1) == "machine shop"
    assert times.class_of("Far", 1) == "overseas"
    assert times.class_of("Odd", 1) == "distributor"


def test_without_history_the_assumption_stands(times_of):
    """A dealer that states 8 days: 8 for half, 18 for nine in ten."""
    _, times = times_of()
    assert quantile(times.share("Near", times.class_of("Near", 8)), 0.5) == 0
    assert times.days("Near", 8) == 18
    _, plain = times_of(classes=None)
    assert plain.days("Near", 8) == 8


def test_own_orders_take_over(times_of):
    """Thirty orders that came to the day: the assumed delay is nearly gone."""
    _, times = times_of(history("Near", [8] * 30))
    assert times.days("Near", 8) == 8
    _, few = times_of(history("Near", [8, 8]))
    assert 8 < few.days("Near", 8) <= 18


def test_a_supplier_without_orders_is_like_its_class(times_of):
    """Far has no orders; what its class did counts more than the assumption."""
    _, times = times_of(history("Near", [11] * 20))
    assert times.days("Far", 8) == times.days("Far", 9) - 1
    assert quantile(times.share("Far", "dealer"), 0.5) == 3
    assert quantile(times.share("Far", "overseas"), 0.5) == 0


def test_orders_still_open_count_as_later_than_today(times_of):
    """Twelve came to the day and four are awaited for weeks: nine in ten is no longer the day."""
    _, only = times_of(history("Near", [8] * 12))
    _, times = times_of(history("Near", [8] * 12 + [None] * 4))
    assert times.days("Near", 8) > only.days("Near", 8) + 20


def test_what_comes_later_is_not_known(times_of):
    """As of a day in between, receipts after it do not count: what was learned is the same."""
    day = date(2026, 1, 20)
    known = history("Near", [8] * 6 + [None] * 3)
    came = history("Near", [8] * 6 + [15] * 3)
    shares = [times_of(h, day=day)[1].share("Near", "dealer") for h in (known, came)]
    assert shares[0].tolist() == shares[1].tolist()
    after = times_of(came)[1].share("Near", "dealer")
    assert not np.allclose(after, shares[0])


def test_lines_of_one_delivery_count_as_one(times_of):
    """Ten lines that came together late weigh as much as one order of one line."""
    single = history("Near", [8] * 5), history("Near", [20], ordered="2026-01-12")
    orders, receipts = history("Near", [20] * 10, ordered="2026-01-12")
    for line, (order, receipt) in enumerate(zip(orders, receipts, strict=True), 1):
        order |= {"order": "one", "line": line}
        receipt |= {"order": "one", "line": line}
    together = history("Near", [8] * 5), (orders, receipts)
    expected = times_of(*single)[1].share("Near", "dealer")
    assert times_of(*together)[1].share("Near", "dealer") == pytest.approx(expected)


def test_older_orders_count_for_less(times_of):
    """Late two years ago and punctual now is better than the other way round."""
    late, kept = [13] * 8, [8] * 8
    better = times_of(history("Near", late, ordered="2024-01-08"), history("Near", kept))
    worse = times_of(history("Near", kept, ordered="2024-01-08"), history("Near", late))
    on_day = [t.share("Near", "dealer")[-EARLIEST] for _, t in (better, worse)]
    assert on_day[0] > on_day[1] + 0.2


@pytest.mark.parametrize(("text", "share"), [("", 0.9), ("80", 0.8), ("95 %", 0.95), ("50", 0.5)])
def test_the_shops_confidence(times_of, text, share):
    """In percents; 90 unless given."""
    _, times = times_of(settings={"confidence": text})
    assert times.confidence == pytest.approx(share)


@pytest.mark.parametrize("text", ["much", "0.9", "100", "-3", "nan"])
def test_a_confidence_that_is_none_is_refused(times_of, text):
    """With what to write."""
    with pytest.raises(InputError, match=r"write a number from 50 to 99\.9"):
        times_of(settings={"confidence": text})


def test_days_to_allow_for_each_offer(times_of):
    """By supplier and stated days, never below zero, within the confidence."""
    offers = [
        {"offer": 7, "supplier": "Near", "part": "ring", "lead_days": 8},
        {"offer": 9, "supplier": "Far", "part": "ring", "lead_days": 0},
        {"offer": 12, "supplier": "Far", "part": "pin", "lead_days": 15},
    ]
    shop, times = times_of(history("Near", [8] * 40), offers=offers)
    found = LIKELY_DAYS.check(likely_days(shop, times))
    assert found["offer"].tolist() == [7, 9, 12]
    assert found["class"].tolist() == ["dealer", "counter", "overseas"]
    assert found["likely"].tolist() == [8, 1, 30]
    early = times_of(history("Near", [0] * 60, stated=8), offers=offers)
    assert likely_days(*early)["likely"].tolist()[0] == 0


def test_the_table_tells_what_is_known(times_of, frame_of):
    """Stated against expected, promises kept, parts, and where the figures come from."""
    offers = [{"offer": 1, "supplier": "Far", "part": "ring", "lead_days": 15}]
    orders, receipts = history("Near", [8, 8, 12, None])
    shop, times = times_of((orders, receipts), offers=offers)
    found = LEAD_TIMES.check(lead_table(shop, times, DAY)).set_index("supplier")
    near, far = found.loc["Near"], found.loc["Far"]
    assert (near["class"], near["stated"], near["lines"], near["open"]) == ("dealer", 8, 4, 1)
    assert near["basis"] == "own orders"
    assert 3 < near["orders"] < 4  # four deliveries, two months old
    assert near["kept_first"] == pytest.approx(2 / 4)
    assert pd.isna(near["kept_requested"])
    assert (near["in_parts"], near["unusable"]) == (0.0, 0.0)
    assert near["p50"] <= near["p80"] <= near["p90"] <= 8 + LATEST
    assert far["basis"] == "assumption"
    assert far["p90"] == 30
    assert np.isnan(far["kept_first"])
    bad = {"claim": "1", "day": DAY, "event": "opened", "what": "damaged", "line": 1}
    shop = shop.replaced(claims=frame_of("claims", bad | {"order": orders[-1]["order"]}))
    times = lead_times(shop, DAY, calendars(shop, DAY), CLASSES)
    near = lead_table(shop, times, DAY).set_index("supplier").loc["Near"]
    assert near["unusable"] == 1 / 4  # three came, of the fourth all that came was damaged
    empty, none = times_of()
    assert LEAD_TIMES.check(lead_table(empty, none, DAY)).empty

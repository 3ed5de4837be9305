"""Orders that come after the day of the need they could have covered."""

from __future__ import annotations

import pandas as pd
import pytest
from netting.frames import FIRST, frame, needs, on, stand_ins, supply

from kitting.netting import come_late, net, wait
from kitting.tables.flow import NEEDS, OFFER_DAYS, PICKS, SHORTAGES, SUPPLY
from kitting.tables.shop import BY_NAME, empty_shop


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
        "assembly": "", "stage": "", "kit": "", "from_set": "",
    }  # fmt: skip
    return SUPPLY.conform(pd.DataFrame([row]))


def test_an_order_after_the_day_is_told_with_both_days() -> None:
    (finding,) = come_late(NEEDS.empty(), short("2026-03-18"), coming("K7"), PICKS.empty())
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
    assert come_late(NEEDS.empty(), shortages, supply, picks) == ()


RING = {"part": "RING", "quantity": 2, "day": 5}


def waiting(offered, ended=None, order="K7", instead=(), **sheets):
    """Net one need of two rings, due on day 5, against four that come on day 9."""
    offers = [
        {"offer": n, "supplier": "S", "part": part, "pack": 1, "price": 1, "valid_to": on(ended)}
        for n, (part, _) in enumerate(offered, start=1)
    ]
    days = [{"offer": n, "usable": on(day)} for n, (_, day) in enumerate(offered, start=1)]
    content = {"set": "KIT", "part": "RING", "quantity": 1}
    shop = empty_shop().replaced(
        offers=frame(BY_NAME["offers"], offers),
        sets=frame(BY_NAME["sets"], [content]),
        stand_ins=stand_ins(instead),
        builds=frame(BY_NAME["builds"], [{"build": "B1", "assembly": "A", "priority": 5}]),
        **{name: frame(BY_NAME[name], rows) for name, rows in sheets.items()},
    )
    wanted = needs([RING])
    there = supply([{"part": "RING", "quantity": 4, "from_day": 9, "order": order}])
    netted = net(wanted, there, shop["stand_ins"], shop["builds"])
    offer_days = frame(OFFER_DAYS, days)
    picks, shortages = wait(netted, there, shop, offer_days, FIRST)
    return wanted, SHORTAGES.check(shortages), there, PICKS.check(picks)


@pytest.mark.parametrize(
    ("offered", "waits"),
    [
        ([], True),  # nobody offers it
        ([("RING", 12)], True),  # it would come after the order
        ([("RING", 9)], True),  # no sooner
        ([("RING", 8)], False),  # sooner, though late
        ([("RING", 4)], False),  # in time
        ([("KIT", 4)], False),  # within a set
        ([("RING", 12), ("KIT", 20)], True),
    ],
)
def test_what_is_late_waits_where_nothing_is_sooner(offered, waits):
    """It is bought again only where that helps; a need that waits is told of."""
    wanted, shortages, there, picks = waiting(offered)
    assert picks["covers"].tolist() == ([2] if waits else [])
    assert shortages["quantity"].tolist() == ([] if waits else [2])
    (finding,) = come_late(wanted, shortages, there, picks)
    assert "K7" in finding.message
    assert ("no offer brings it sooner" in finding.message) is waits


def test_a_stand_in_that_is_sooner_is_bought_and_an_ended_offer_is_not():
    """Both by the offers of the day."""
    newer = [{"part": "RING", "stand_in": "RING-B"}]
    assert len(waiting([("RING-B", 4)], instead=newer)[1]) == 1
    assert len(waiting([("RING", 4)], ended=-1)[1]) == 0


def test_a_hazardous_part_waits_where_its_sooner_offer_is_by_a_carrier_who_takes_none():
    """What cannot be chosen is no sooner offer; a carrier who takes it is."""
    sheets = {
        "parts": [{"part": "RING", "hazard": "aerosol"}],
        "suppliers": [{"supplier": "S", "carrier": "night"}],
    }
    careful = [{"carrier": "night", "no_hazard": True}]
    assert len(waiting([("RING", 4)], carriers=careful, **sheets)[1]) == 0
    assert len(waiting([("RING", 4)], carriers=[{"carrier": "night"}], **sheets)[1]) == 1
    by_air = {"shop": [{"setting": "hazard_not_by", "value": "S"}]}
    assert len(waiting([("RING", 4)], **sheets, **by_air)[1]) == 0


def test_what_is_on_the_shelf_is_not_waited_for():
    """A lot that may not be used before day 9 is no order that can be chased."""
    assert len(waiting([], order="")[1]) == 1

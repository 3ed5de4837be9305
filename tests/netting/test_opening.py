"""Sets that no bill asks for as such serve with what they contain."""

from __future__ import annotations

import pytest
from netting.frames import frame, needs, on, stand_ins, supply

from kitting.netting import net, open_sets
from kitting.tables.flow import SUPPLY
from kitting.tables.shop import BY_NAME


def sets(*rows):
    """Make contents of the set KIT, one each and needed, unless a row says so."""
    usual = {"set": "KIT", "quantity": 1, "fits": "needed"}
    return frame(BY_NAME["sets"], [{**usual, **row} for row in rows])


PIPES = sets({"part": "PIPE", "quantity": 2}, {"part": "CAP", "fits": "left over"})


def there(out):
    """Return part, quantity and set of each row of a supply."""
    out = SUPPLY.check(out)
    return list(zip(out["part"], out["quantity"], out["from_set"], strict=True))


def test_contents_serve_on_the_day_of_their_set():
    """Two kits on an order bring four pipes with it; what is left over of them serves nothing."""
    kits = supply([{"part": "KIT", "quantity": 2, "order": "K1", "from_day": 3}])
    wanted = needs([{"part": "PIPE", "quantity": 3, "day": 4}, {"part": "CAP", "day": 4}])
    out = open_sets(kits, wanted, PIPES)
    assert there(out) == [("PIPE", 4, "KIT")]
    assert out["order"].tolist() == ["K1"]
    assert out["from_day"].tolist() == [on(3)]
    picks, shortages = net(wanted, out, stand_ins([]))
    assert picks["covers"].tolist() == [3]
    assert shortages["part"].tolist() == ["CAP"]


@pytest.mark.parametrize(
    ("asked", "closed"),
    [(0, 0), (1, 1), (2, 2), (3, 2)],  # never more than are there
)
def test_as_many_stay_closed_as_are_asked_for_themselves(asked, closed):
    """A set that a bill names is the need, not its contents."""
    kits = supply([{"part": "KIT"}, {"part": "KIT", "order": "K1", "from_day": 3}])
    wanted = needs([{"part": "PIPE"}, {"part": "KIT", "quantity": asked}])
    found = there(open_sets(kits, wanted, PIPES))
    assert sum(n for part, n, _ in found if part == "KIT") == closed
    assert sum(n for part, n, _ in found if part == "PIPE") == 2 * (2 - closed)


def test_sets_in_sets_are_opened():
    """The outermost set is named: it is what lies on the shelf."""
    nested = sets({"set": "BIG", "part": "KIT", "quantity": 3}, {"part": "PIPE", "quantity": 2})
    out = open_sets(supply([{"part": "BIG", "quantity": 2}]), needs([{"part": "PIPE"}]), nested)
    assert there(out) == [("PIPE", 12, "BIG")]


@pytest.mark.parametrize(
    ("lot", "wanted"),
    [
        ({"part": "KIT"}, {"part": "BOLT"}),  # no content is needed
        ({"part": "KIT", "kit": "picked", "held_for": "B1"}, {"part": "PIPE"}),  # in a kit
        ({"part": "PIPE"}, {"part": "PIPE"}),  # no set
    ],
)
def test_other_supply_stays_as_it_is(lot, wanted):
    """The frame itself comes back."""
    given = supply([lot])
    assert open_sets(given, needs([wanted]), PIPES) is given

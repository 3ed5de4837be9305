"""Undoing a move undoes what is one with it: stock is there neither twice nor not at all."""

from __future__ import annotations

from datetime import date

import pytest

from kitting import records
from kitting.errors import InputError
from kitting.records import Count
from kitting.records.completing import Back, put_back
from kitting.records.ledger import all_moves
from kitting.records.picking import Pick, pick
from kitting.records.places import Kit

DAY = date(2026, 3, 9)
KIT = Kit("E-1", "engine", "bottom")


def there(shop):
    """Return how much of each part is on the shelf and in kits."""
    held = records.snapshot(shop)
    found = {}
    for name in ("stock", "kitted"):
        for part, n in zip(held[name]["part"], held[name]["quantity"], strict=True):
            found[part] = found.get(part, 0) + n
    return found


def moved(shop, after):
    """Return the numbers of the moves after one."""
    with shop.reading() as hand:
        return [m.move for m in all_moves(hand) if m.move > after]


@pytest.fixture
def with_set(shop, make):
    """Return the shop with one set of two gaskets and a seal, and its last move."""
    sets = make("sets", {"set": "SET", "part": "1E5", "quantity": 2},
                {"set": "SET", "part": "0012", "quantity": 1})  # fmt: skip
    parts = records.snapshot(shop)["parts"]
    more = make("parts", *parts.to_dict("records"), {"part": "SET", "unit": "piece"})
    records.apply(shop, {"sets": sets, "parts": more}, DAY)
    records.count(shop, Count("SET", "A9", 1, DAY))
    return shop, moved(shop, 0)[-1]


@pytest.mark.parametrize("which", [0, 1, 2])
def test_a_set_is_whole_again_with_all_that_came_out_of_it(with_set, which):
    """Whichever move of its opening is undone; not while something of it is in a kit."""
    shop, last = with_set
    before = there(shop)
    (got,) = pick(shop, Pick(KIT, "1E5", 2, DAY))
    opening = moved(shop, last)[:3]
    with pytest.raises(InputError, match="cannot leave A9"):
        records.reverse(shop, opening[which], "slip", day=DAY)
    records.reverse(shop, got.moves[0].move, "slip", day=DAY)
    records.reverse(shop, opening[which], "slip", day=DAY)
    assert there(shop) == before
    with pytest.raises(InputError, match="reversed before"):
        records.reverse(shop, opening[which - 1], "slip", day=DAY)


@pytest.mark.parametrize("which", [0, 1])
def test_a_lot_is_not_lost_between_two_labels(shop, make, which):
    """What came back from a kit is free again; undone, it is in the kit, held as it was."""
    stock = make("stock", {"part": "0012", "place": "A1", "quantity": 3, "unit": "piece",
                           "held_for": "E-1"})  # fmt: skip
    records.apply(shop, {"stock": stock}, DAY)
    pick(shop, Pick(KIT, "0012", 2, DAY))
    before = there(shop)
    (last, *_) = moved(shop, 0)[-1:]
    put_back(shop, Back("E-1", "0012", 2, "A2", DAY))
    both = moved(shop, last)
    assert len(both) == 2
    records.reverse(shop, both[which], "slip", day=DAY)
    assert there(shop) == before
    kitted = records.snapshot(shop)["kitted"]
    assert kitted["held_for"].tolist() == ["E-1"]


def test_moves_that_were_written_at_once_but_are_not_one_stay(shop, make):
    """A stock sheet may change the labels of many lots: each is undone by itself."""
    names = ("A1", "A2", "A3")
    rows = [{"part": "0012", "place": p, "quantity": 3, "unit": "piece"} for p in names]
    records.apply(shop, {"stock": make("stock", *rows)}, DAY)
    (last, *_) = moved(shop, 0)[-1:]
    dated = [row | {"use_by": "2026-08-01"} for row in rows]
    records.apply(shop, {"stock": make("stock", *dated)}, DAY)
    pairs = moved(shop, last)
    assert len(pairs) == 6
    records.reverse(shop, pairs[3], "slip", day=DAY)
    stock = records.snapshot(shop)["stock"].set_index("place")
    assert stock["quantity"][list(names)].tolist() == [3, 3, 3]
    assert stock["use_by"][list(names)].isna().tolist() == [False, True, False]

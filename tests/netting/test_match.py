"""The sharing itself: rounds, the queue, and sorting by packed keys."""

from __future__ import annotations

import numpy as np
import pytest

from kitting.netting import match as matching
from kitting.netting.match import Lots, Wants, match
from kitting.netting.queue import serve
from kitting.netting.ranks import sorted_rows


def draw(seed, groups, wants, lots):
    """Draw wants and lots with windows that bind."""
    rng = np.random.default_rng(seed)
    first = rng.integers(0, 50, lots)
    return (
        Wants(
            rng.integers(0, groups, wants),
            rng.integers(1, 4, wants),
            rng.integers(0, 60, wants),
            rng.integers(0, 9, wants),
        ),
        Lots(
            rng.integers(0, groups, lots),
            first,
            first + rng.integers(0, 30, lots),
            rng.integers(0, 20, lots),
        ),
    )


def as_set(shares):
    return set(
        zip(shares.want.tolist(), shares.lot.tolist(), shares.quantity.tolist(), strict=True)
    )


@pytest.mark.parametrize("seed", range(5))
def test_rounds_and_queue_give_the_same_answer(seed, monkeypatch):
    """Going lot by lot is going want by want: rounds alone, the queue alone, and both."""
    wants, lots = draw(seed, groups=60, wants=900, lots=400)
    mixed = as_set(match(wants, lots))
    monkeypatch.setattr(matching, "BREADTH", 1)
    monkeypatch.setattr(matching, "READS", 10**6)
    rounds = as_set(match(wants, lots))
    monkeypatch.setattr(matching, "BREADTH", 10**6)
    queue = as_set(match(wants, lots))
    assert mixed == rounds == queue
    assert rounds


def test_a_want_takes_its_lots_in_order():
    """The shares of one want stand in the order in which it took them, in rounds and in queues."""
    wants, lots = draw(1, groups=100, wants=800, lots=500)
    shares = match(wants, lots)
    for want in np.unique(shares.want):
        taken = shares.lot[shares.want == want]
        keys = list(zip(lots.last[taken], lots.first[taken], taken, strict=True))
        assert keys == sorted(keys)


def test_groups_without_both_sides_get_nothing():
    """A group with wants and no lots, and one with lots and no wants, share nothing."""
    one = np.ones(1, np.int64)
    assert not len(match(Wants(one, one, one, one), Lots(one * 2, one, one, one)).want)


def test_the_queue_passes_over_lots_that_have_not_begun_and_ended_ones():
    """Among lots by their end, the first that has begun and still has something."""
    want, lot, quantity = serve(
        day=np.array([3, 3, 9]),
        wanted=np.array([5, 5, 5]),
        first=np.array([0, 8, 0, 3, 0]),
        last=np.array([2, 9, 9, 9, 10]),
        there=np.array([9, 9, 4, 3, 1]),
    )
    assert want.tolist() == [0, 0, 1, 1, 2]
    assert lot.tolist() == [2, 3, 3, 4, 1]
    assert quantity.tolist() == [4, 1, 2, 1, 5]


@pytest.mark.parametrize(
    "high",
    [
        10,  # keys pack into one number
        2**60,  # keys are too wide to pack and are sorted one by one
    ],
)
def test_rows_are_sorted_by_the_first_key_first_and_stay_in_place_when_equal(high):
    """Packed or not, the order is that of a stable sort by tuples."""
    rng = np.random.default_rng(3)
    keys = [rng.integers(-high, high, 500), rng.integers(0, 3, 500), rng.integers(0, 2, 500)]
    expected = sorted(range(500), key=lambda i: tuple(int(key[i]) for key in keys))
    assert sorted_rows(*keys).tolist() == expected


@pytest.mark.parametrize("rows", [0, 1])
def test_no_row_and_one_row_are_sorted(rows):
    assert sorted_rows(np.zeros(rows, np.int64)).tolist() == list(range(rows))


def test_extreme_keys_sort():
    """The whole range of int64 does not overflow the width of a key."""
    key = np.array([2**63 - 1, -(2**63), 0])
    assert sorted_rows(key).tolist() == [1, 2, 0]

"""Shares that have come by each day: drawn towards a prior, read at a confidence."""

from __future__ import annotations

import numpy as np
import pytest

from kitting.timing.survival import CELLS, EARLIEST, LATEST, learned, quantile

DAYS = np.arange(EARLIEST, LATEST + 1)
PRIOR = np.where(DAYS < 0, 0.0, 1.0 - 0.8 ** (DAYS + 1.0))


def share_of(slip, came=None, weight=None, strength=5.0, prior=PRIOR):
    slip = np.array(slip, dtype="int64")
    came = np.ones(len(slip), bool) if came is None else np.array(came, dtype=bool)
    weight = np.ones(len(slip)) if weight is None else np.array(weight, dtype="float64")
    return learned(slip, came, weight, prior, strength)


def test_without_orders_the_prior_stands():
    """Nothing learned, nothing changed."""
    assert share_of([]) == pytest.approx(PRIOR, abs=1e-12)


def test_many_orders_outweigh_the_prior():
    """Ten thousand orders that took three days: so will the next, nearly."""
    share = share_of([3] * 10_000)
    assert share[3 - EARLIEST] - share[2 - EARLIEST] > 0.998


def test_the_prior_counts_for_its_strength():
    """All came: the share by a day is the mean of prior and orders, by their numbers."""
    slip = [0, 0, 1, 4, 4, 4, 9, 30]
    own = np.searchsorted(np.sort(slip), DAYS, side="right") / len(slip)
    expected = (5.0 * PRIOR + len(slip) * own) / (5.0 + len(slip))
    assert share_of(slip) == pytest.approx(expected, abs=1e-12)


def test_an_order_still_open_makes_later_days_likelier():
    """Awaited for ten days already: the share by ten days falls, as with one more that is late."""
    came = share_of([0, 1, 2, 3])
    open_ = share_of([0, 1, 2, 3, 10], [1, 1, 1, 1, 0])
    left_out = came[10 - EARLIEST]
    assert open_[10 - EARLIEST] < left_out
    as_late = share_of([0, 1, 2, 3, 11])
    assert open_[10 - EARLIEST] == pytest.approx(as_late[10 - EARLIEST], abs=1e-12)


def test_a_weight_of_two_is_two_orders():
    """Weights count as repeats do."""
    assert share_of([0, 5, 5, 7], [1, 1, 1, 0]) == pytest.approx(
        share_of([0, 5, 7], [1, 1, 0], [1, 2, 1]), abs=1e-12
    )


def test_the_share_rises_and_stays_a_share():
    """From 0 to at most 1, never falling, whatever comes early, late or never."""
    share = share_of([EARLIEST - 40, -3, 0, LATEST, LATEST + 50, 400], [1, 1, 1, 1, 1, 0])
    assert (np.diff(share) >= 0).all()
    assert share[0] > 0
    assert 0.7 < share[-1] < 0.85
    assert len(share) == CELLS


def test_all_censored_and_no_prior_tells_nothing():
    """Without a single arrival and without a prior nobody is said to come."""
    assert not share_of([4, 9], [0, 0], strength=0.0).any()


@pytest.mark.parametrize(("confidence", "day"), [(0.5, 1), (0.8, 4), (0.9, 9), (0.999, LATEST)])
def test_the_day_by_which_a_share_has_come(confidence, day):
    """The first day on which the share is reached; the end of the year when it never is."""
    share = np.interp(DAYS, [-1, 0, 1, 4, 9], [0, 0.3, 0.5, 0.8, 0.9])
    assert quantile(share, confidence) == day

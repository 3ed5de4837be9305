"""What must be true of any chance: of any work, any arrivals, anybody who waits."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kitting.timing.chance import Uses, days_late, in_time, sway, tightest
from kitting.timing.survival import CELLS, learned
from kitting.timing.tails import Work, last_days

DAYS = 10


@st.composite
def cases(draw):
    """Draw a few stages, what each waits for, deliveries and who needs them."""
    n = draw(st.integers(1, 5))
    before = tuple(
        tuple(sorted(draw(st.sets(st.integers(0, k - 1), max_size=2)))) if k else ()
        for k in range(n)
    )
    days = draw(st.lists(st.sampled_from([0.0, 0.33, 0.5, 1.0, 2.5]), min_size=n, max_size=n))
    aside = draw(st.lists(st.booleans(), min_size=n, max_size=n))
    keys = tuple(("e", str(k)) for k in range(n))
    work = Work(keys, before, np.array(days), np.array(aside))
    starts = np.array(draw(st.lists(st.integers(0, 8), min_size=n, max_size=n)))
    finish = draw(st.integers(0, 12))
    deliveries = draw(st.integers(1, 3))
    pairs = draw(
        st.sets(st.tuples(st.integers(0, deliveries - 1), st.integers(0, n - 1)), min_size=1)
    )
    steps = draw(
        st.lists(
            st.lists(st.integers(0, 3), min_size=DAYS + 1, max_size=DAYS + 1).filter(any),
            min_size=deliveries,
            max_size=deliveries,
        )
    )
    mass = np.array(steps, dtype="float64")
    arrives = np.cumsum(mass, axis=1)[:, :-1] / mass.sum(axis=1)[:, None]
    return arrives, Uses(*np.array(sorted(pairs)).T), work, starts, finish


def found(case):
    arrives, uses, work, starts, finish = case
    used, last = tightest(last_days(starts, finish, work), uses)
    return in_time(arrives[used], last), days_late(arrives[used], last), used, last


@given(cases())
@settings(max_examples=150, deadline=None)
def test_chances_are_chances_and_lateness_is_not_below_the_odds(case):
    """Between 0 and 1; late by at least one day as often as it is late."""
    chance, late, _, _ = found(case)
    assert ((chance >= 0) & (chance <= 1)).all()
    assert (late >= 1 - chance - 1e-12).all()


@given(cases(), st.integers(0, 2))
@settings(max_examples=150, deadline=None)
def test_sooner_is_never_worse(case, which):
    """A delivery that comes a day sooner lowers no chance and adds no day late."""
    arrives, uses, work, starts, finish = case
    which = min(which, len(arrives) - 1)
    chance, late, _, _ = found(case)
    moved = arrives.copy()
    moved[which] = np.append(arrives[which, 1:], 1.0)
    sooner = found((moved, uses, work, starts, finish))
    assert (sooner[0] >= chance - 1e-12).all()
    assert (sooner[1] <= late + 1e-9).all()


@given(cases())
@settings(max_examples=150, deadline=None)
def test_one_more_to_wait_for_is_never_better(case):
    """Leaving a delivery out lowers no chance; the gain told without it is that chance."""
    arrives, _, _, _, _ = case
    chance, _, used, last = found(case)
    told = sway(arrives[used], last[-1])
    for n in range(len(used)):
        rest = np.delete(np.arange(len(used)), n)
        without = in_time(arrives[used[rest]], last[:, rest])
        assert (without >= chance - 1e-12).all()
        assert told.without[n] == pytest.approx(without[-1])


@given(
    st.lists(st.tuples(st.integers(-5, 30), st.booleans(), st.integers(1, 4)), max_size=8),
    st.floats(0.5, 20),
)
@settings(max_examples=150, deadline=None)
def test_what_is_learned_is_a_share(orders, strength):
    """Never falling, from 0 to 1, and between prior and orders where all have come."""
    days = np.arange(CELLS)
    prior = 1 - 0.97 ** (days + 1.0)
    slip = np.array([o[0] for o in orders], dtype="int64")
    came = np.array([o[1] for o in orders], dtype=bool)
    weight = np.array([o[2] for o in orders], dtype="float64")
    share = learned(slip, came, weight, prior, strength)
    assert (np.diff(share) >= -1e-12).all()
    assert share[0] >= 0
    assert share[-1] <= 1
    if came.all():
        own = np.array([(weight * (slip <= d - 60)).sum() for d in days])
        assert share == pytest.approx((strength * prior + own) / (strength + weight.sum()))

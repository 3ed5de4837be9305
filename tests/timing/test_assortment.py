"""Which sizes to have on the shelf: the chance is exact and the choice is the cheapest."""

from __future__ import annotations

from itertools import product
from math import factorial, prod

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kitting.timing.assortment import Held, chance_of, cheapest


def counted(shares, held, places):
    """Chance by going through every way in which the places may want the sizes."""
    whole = 0.0
    for wants in product(range(places + 1), repeat=len(shares)):
        if sum(wants) == places and all(w <= h for w, h in zip(wants, held, strict=True)):
            ways = factorial(places) // prod(factorial(w) for w in wants)
            whole += ways * prod(s**w for s, w in zip(shares, wants, strict=True))
    return whole


def least_cost(shares, ways, places, chance):
    """Cost of the cheapest choice by trying every one; None when none reaches the chance."""
    costs = [
        sum(h.cost for h in held)
        for held in product(*ways)
        if counted(shares, [h.places for h in held], places) >= chance - 1e-12
    ]
    return min(costs, default=None)


@st.composite
def some_sizes(draw):
    """Draw up to four sizes with shares, what is there and what more costs, and places."""
    weights = draw(st.lists(st.integers(0, 9), min_size=1, max_size=4).filter(any))
    shares = [w / sum(weights) for w in weights]
    places = draw(st.integers(1, 4))
    ways = []
    for _ in weights:
        first = draw(st.integers(0, places))
        way, cost = [Held(first, 0)], 0
        for many in sorted(draw(st.sets(st.integers(first + 1, places)))) if first < places else ():
            cost += draw(st.integers(0, 9))
            way.append(Held(many, cost))
        ways.append(way)
    return shares, ways, places


@settings(deadline=None)
@given(some_sizes(), st.data())
def test_the_chance_is_that_of_counting(sizes, data):
    """Against every way in which the places may want the sizes."""
    shares, ways, places = sizes
    held = [data.draw(st.sampled_from(way)).places for way in ways]
    assert chance_of(shares, held, places) == pytest.approx(
        counted(shares, held, places), abs=1e-12
    )


@settings(deadline=None, max_examples=200)
@given(some_sizes(), st.sampled_from([0.3, 0.5, 0.8, 0.9, 0.99]))
def test_the_choice_is_the_cheapest_of_all(sizes, chance):
    """Against enumeration of every choice; where none reaches the chance, none is given."""
    shares, ways, places = sizes
    found = cheapest(shares, ways, places, chance)
    least = least_cost(shares, ways, places, chance)
    if found is None:
        assert least is None
        return
    assert all(one in way for one, way in zip(found, ways, strict=True))
    assert sum(h.cost for h in found) == least
    assert counted(shares, [h.places for h in found], places) >= chance - 1e-9


@settings(deadline=None)
@given(some_sizes())
def test_a_better_chance_never_costs_less(sizes):
    """And what is there already is never paid for."""
    shares, ways, places = sizes
    costs = [
        sum(h.cost for h in found)
        for chance in (0.3, 0.6, 0.9)
        if (found := cheapest(shares, ways, places, chance)) is not None
    ]
    assert costs == sorted(costs)
    enough = [[Held(places, 0)] for _ in ways]
    assert cheapest(shares, enough, places, 0.99) == [way[0] for way in enough]


def test_one_place_takes_the_likeliest_sizes_for_the_money():
    """Three sizes of 40, 35 and 25 %: the two likelier ones make 75 %; a dear one is avoided."""
    shares = [0.4, 0.35, 0.25]
    ways = [[Held(0, 0), Held(1, 10)] for _ in shares]
    assert [h.places for h in cheapest(shares, ways, 1, 0.7)] == [1, 1, 0]
    dear = [[Held(0, 0), Held(1, 90)], *ways[1:]]
    assert [h.places for h in cheapest(shares, dear, 1, 0.6)] == [0, 1, 1]


def test_a_dozen_sizes_for_sixteen_valves_take_a_second():
    """A real problem: shims of a sixteen-valve head, known to about two steps."""
    weights = [1, 2, 4, 7, 11, 14, 14, 11, 7, 4, 2, 1]
    shares = [w / sum(weights) for w in weights]
    ways = [[Held(n, n * (400 + 7 * s), n) for n in range(17)] for s in range(12)]
    found = cheapest(shares, ways, 16, 0.9)
    assert chance_of(shares, [h.places for h in found], 16) >= 0.9
    one_less = [max(h.places - 1, 0) for h in found]
    assert chance_of(shares, one_less, 16) < 0.9


def test_many_places_do_not_overflow():
    """Chances of very many places stay between 0 and 1."""
    assert chance_of([0.5, 0.5], [300, 300], 300) == pytest.approx(1.0)
    assert 0 < chance_of([0.5, 0.5], [160, 160], 300) < 1
    assert 0 < chance_of([0.5, 0.5], [620, 620], 1200) < 1

"""Where to keep stock on a tree: against every choice of days, on tiny trees of any shape."""

from __future__ import annotations

from itertools import accumulate, product
from math import inf

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kitting.sourcing.guaranteed import Link, Step, Tree


@st.composite
def trees(draw):
    """Draw two to four steps, links of either direction, and costs that never fall."""
    count = draw(st.integers(2, 4))
    steps, links = {}, []
    for n in range(count):
        rises = draw(st.lists(st.integers(0, 5), min_size=20, max_size=20))
        free_until = draw(st.sampled_from([20, 20, 20, 0]))
        cost = [0, *accumulate(rises)] if free_until else [0, *[inf] * 20]
        steps[str(n)] = Step(
            draw(st.integers(0, 2)),
            cost.__getitem__,
            draw(st.sampled_from([0, 0, 1, 2])),
            draw(st.sampled_from([None, None, 1, 2])) if n else None,
        )
        if n:
            ends = [str(draw(st.integers(0, n - 1))), str(n)]
            giver, taker = ends if draw(st.booleans()) else reversed(ends)
            links.append(Link(giver, taker, draw(st.sampled_from([0, 0, 1]))))
    return steps, links


def waits_of(name, gives, steps, links):
    """Return when the last input of a step is there."""
    inputs = (gives[k.giver] - k.later for k in links if k.taker == name)
    return max(steps[name].waits, *inputs, 0)


def spent(gives, steps, links):
    """Return what the stock for some days to hand out costs; infinite when it cannot be."""
    total = 0.0
    for name, step in steps.items():
        bridges = waits_of(name, gives, steps, links) + step.days - gives[name]
        late = step.promise is not None and gives[name] > step.promise
        total += inf if bridges < 0 or late else step.cost(bridges)
    return total


@settings(max_examples=150, deadline=None)
@given(trees())
def test_no_choice_of_days_costs_less(drawn) -> None:
    """For each promise of each step as the last: the least cost, and days that keep the promise."""
    steps, links = drawn
    # Nobody hands out later than with all waits and work in a row.
    most = sum(s.days for s in steps.values()) + max(s.waits for s in steps.values())
    for last in steps:
        tree = Tree(steps, links, last)
        best = [inf] * (most + 1)
        for days in product(range(most + 1), repeat=len(steps)):
            gives = dict(zip(steps, days, strict=True))
            cost = spent(gives, steps, links)
            best[gives[last]] = min(best[gives[last]], cost)
        for promise in range(most + 1):
            least = min(best[: promise + 1])
            assert tree.least[: promise + 1].min() == least
            if least == inf:
                with pytest.raises(ValueError, match="at least"):
                    tree.within(promise)
                continue
            served = tree.within(promise)
            gives = {name: s.gives for name, s in served.items()}
            assert gives[last] <= promise
            assert sum(steps[n].cost(s.bridges) for n, s in served.items()) == least
            for name, found in served.items():
                assert found.waits >= waits_of(name, gives, steps, links)
                assert found.bridges == found.waits + steps[name].days - found.gives >= 0
                assert found.gives <= (steps[name].promise or found.gives)


def test_of_equal_ways_the_least_stock_stands() -> None:
    """What costs nothing to hold is still not kept for longer than it must be."""
    steps = {
        "part": Step(0, lambda _: 0.0, waits=9),
        "work": Step(3, [0.0, *[inf] * 20].__getitem__),
    }
    served = Tree(steps, [Link("part", "work", later=2)], "work").within(5)
    assert (served["part"].gives, served["part"].bridges) == (4, 5)
    assert (served["work"].waits, served["work"].bridges) == (2, 0)

"""The arithmetic of the bill: loops are named, nothing wraps round, repeated edges add up."""

from __future__ import annotations

import itertools
import sys

import numpy as np
import pytest

from kitting.bill import total_requirements
from kitting.bill.totals import levels, product, ranges
from kitting.errors import InputError, LoopError


def whole(*numbers: int) -> np.ndarray:
    return np.array(numbers, dtype=np.int64)


def test_edges_that_repeat_add_up() -> None:
    """Two lines for one part count both."""
    total = total_requirements(whole(0, 0), whole(1, 1), whole(2, 3), np.array([[4], [1]]))
    assert total.tolist() == [[4], [21]]


def test_without_edges_the_demand_is_the_answer() -> None:
    """Nothing goes into anything."""
    demand = np.array([[1, 2], [3, 4]])
    total = total_requirements(whole(), whole(), whole(), demand)
    assert total.tolist() == demand.tolist()
    assert total is not demand


def test_the_demand_that_was_given_is_left_alone() -> None:
    """The answer is a new array."""
    demand = np.array([[1], [0]])
    total_requirements(whole(0), whole(1), whole(7), demand)
    assert demand.tolist() == [[1], [0]]


@pytest.mark.parametrize(
    ("up", "down", "loop"),
    [
        # a thing that holds itself
        ([0], [0], ["a", "a"]),
        # two that hold each other, with a tail in and out
        ([3, 0, 1, 1], [0, 1, 0, 2], ["a", "b", "a"]),
        # a ring of four
        ([0, 1, 2, 3], [1, 2, 3, 0], ["a", "b", "c", "d", "a"]),
        # below the loop there is more, which is not part of it
        ([0, 1, 1, 2], [1, 0, 2, 3], ["a", "b", "a"]),
    ],
)
def test_a_loop_is_named_in_full(up: list[int], down: list[int], loop: list[str]) -> None:
    """The names go round from holder to held and end where they began."""
    with pytest.raises(LoopError, match="things go round") as caught:
        total_requirements(
            whole(*up),
            whole(*down),
            np.ones(len(up), dtype=np.int64),
            np.ones((4, 1), dtype=np.int64),
            ["a", "b", "c", "d"],
            "things",
        )
    names = list(caught.value.loop)
    assert names[0] == names[-1]
    assert set(names) == set(loop)
    assert len(names) == len(loop)
    steps = set(zip(up, down, strict=True))
    at = "abcd".index
    assert all((at(a), at(b)) in steps for a, b in itertools.pairwise(names))


def test_a_loop_without_names_tells_numbers() -> None:
    """Node numbers serve when there are no names."""
    with pytest.raises(LoopError, match="0 -> 0"):
        levels(whole(0), whole(0), 1)


CHAIN = 62


def chain(top: int) -> np.ndarray:
    """Return the totals of a chain in which everything doubles, 62 times."""
    demand = np.zeros((CHAIN + 1, 1), dtype=np.int64)
    demand[0, 0] = top
    steps = np.arange(CHAIN)
    return total_requirements(steps, steps + 1, np.full(CHAIN, 2), demand)


def test_totals_up_to_63_bits_are_exact() -> None:
    """Whole numbers far beyond what a float holds come out to the last digit."""
    assert chain(1)[:, 0].tolist() == [2**n for n in range(CHAIN + 1)]
    odd = total_requirements(whole(0), whole(1), whole(3**38), np.array([[5], [2]]))
    assert odd[1, 0] == 5 * 3**38 + 2


def test_totals_beyond_63_bits_are_refused_and_named() -> None:
    """A wrapped number would be a negative requirement; the part is named instead."""
    with pytest.raises(InputError, match=f"total of {CHAIN} is about 9.2e\\+18"):
        chain(2)


def test_large_totals_in_different_builds_are_not_added_up_in_the_bound() -> None:
    """Two builds that are each within bounds pass, although their worst cases together are not."""
    demand = np.array([[2**61, 0], [0, 2**61], [0, 0]])
    total = total_requirements(whole(0, 1), whole(2, 2), whole(3, 3), demand)
    assert total[2].tolist() == [3 * 2**61, 3 * 2**61]


def test_a_large_problem_takes_the_sparse_way_to_the_same_answer() -> None:
    """Many builds at once equal the same builds one by one."""
    draw = np.random.default_rng(5)
    layer = draw.integers(0, 2, 900)
    up = layer * 80 + draw.integers(0, 80, 900)
    down = (layer + 1) * 80 + draw.integers(0, 80, 900)
    quantity = draw.integers(0, 3, 900)
    demand = draw.integers(0, 2, (250, 400))
    together = total_requirements(up, down, quantity, demand)
    assert together.dtype == np.int64
    assert "scipy.sparse" in sys.modules
    for build in (0, 17, 399):
        alone = total_requirements(up, down, quantity, demand[:, [build]])
        assert (together[:, build] == alone[:, 0]).all()


def test_products_are_exact_or_refused() -> None:
    """Below the bound to the last digit, above it an error."""
    assert product(whole(94906265), whole(94906265)).tolist() == [94906265**2]
    with pytest.raises(InputError, match="too large to count"):
        product(whole(2**40), whole(2**40))


def test_ranges_run_on() -> None:
    """Spans, empty ones too, become one list of numbers."""
    assert ranges(whole(3, 9, 0), whole(5, 9, 2)).tolist() == [3, 4, 0, 1]
    assert ranges(whole(), whole()).tolist() == []

"""Spares: what is left serves them, nothing is promised to two builds."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kitting.netting import spare_needs


@pytest.fixture(scope="session")
def bought(frame_of):
    """Give a function that returns what has to be bought, by build, for one part."""

    def make(lots, spares, picked=0):
        needs = [
            {"need": n, "build": build, "part": "ring", "quantity": 1, "day": "2026-03-20"}
            for n, build in enumerate(spares, start=1)
        ]
        supply = [
            {"supply": n, "part": "ring", "quantity": much, "held_for": held, "use_by": use_by}
            for n, (much, held, use_by) in enumerate(lots, start=1)
        ]
        picks = [{"pick": 1, "need": 1, "supply": 1, "quantity": picked}] if picked else []
        asked = [{"build": b, "part": "ring", "spare": s} for b, s in spares.items()]
        found = spare_needs(
            frame_of("needs", *needs),
            frame_of("supply", *supply),
            frame_of("picks", *picks),
            frame_of("spares", *asked),
        )
        assert found["deferred"].all()
        assert (found["need"] > len(needs)).all()
        return dict(zip(found["build"], found["quantity"].tolist(), strict=True))

    return make


@pytest.mark.parametrize(
    ("lots", "picked", "left"),
    [
        ([], 0, {"A": 2, "B": 1}),
        ([(3, "", None)], 0, {}),
        ([(3, "", None)], 1, {"B": 1}),
        ([(2, "B", None)], 0, {"A": 2}),
        ([(5, "", "2026-03-19")], 0, {"A": 2, "B": 1}),
        ([(5, "", "2026-03-20")], 0, {}),
        ([(1, "C", None), (1, "", None)], 0, {"A": 1, "B": 1}),
    ],
)
def test_what_is_left_serves_spares(bought, lots, picked, left):
    assert bought(lots, {"A": 2, "B": 1}, picked) == left


@given(st.integers(0, 9), st.lists(st.integers(1, 4), min_size=1, max_size=4))
def test_nothing_is_promised_twice(bought, there, spares):
    """What is bought and what was there add up to the spares, whatever there is."""
    asked = {f"B{n}": spare for n, spare in enumerate(spares)}
    found = bought([(there, "", None)] if there else [], asked)
    assert sum(found.values()) == max(sum(spares) - there, 0)

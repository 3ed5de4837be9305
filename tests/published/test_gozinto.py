"""Published explosions: Heizer & Render, Jacobs & Chase, and three worked answers read in public.

The data file names the source of each case and how its numbers were obtained; the theorem is
A. Vazsonyi, Management Science 1(1):70-85, 1954.
"""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest

from kitting.bill import total_requirements
from kitting.bill.totals import levels

DATA = json.loads(
    (Path(__file__).parent / "data" / "gozinto_examples.json").read_text(encoding="utf-8")
)
GRAPHS = {case["id"]: case for case in DATA["graph_examples"]}
MATRICES = {case["id"]: case for case in DATA["two_stage_matrix_examples"]}


def edges(case: dict) -> tuple[list[str], np.ndarray, np.ndarray, np.ndarray]:
    """Return names, parents, children and quantities of a case."""
    rows = case["edges_parent_child_qty"]
    names = sorted({n for parent, child, _ in rows for n in (parent, child)})
    up = np.array([names.index(parent) for parent, _, _ in rows])
    down = np.array([names.index(child) for _, child, _ in rows])
    return names, up, down, np.array([quantity for _, _, quantity in rows])


@pytest.mark.parametrize("case", GRAPHS.values(), ids=GRAPHS)
def test_totals_are_the_published_ones(case: dict) -> None:
    """The demand for the end item explodes into the printed requirement of each item."""
    names, up, down, quantity = edges(case)
    demand = np.array([[case["independent_demand"].get(n, 0)] for n in names])
    found = dict(
        zip(names, total_requirements(up, down, quantity, demand)[:, 0].tolist(), strict=True)
    )
    assert found == found | case["published_total_requirements"]
    assert found == found | case["all_total_requirements"]


@pytest.mark.parametrize("case", GRAPHS.values(), ids=GRAPHS)
def test_levels_are_the_low_level_codes(case: dict) -> None:
    """The level is the longest way down from an end item, which the trade calls low-level code."""
    names, up, down, _ = edges(case)
    found = dict(zip(names, levels(up, down, len(names)).tolist(), strict=True))
    assert found == case["low_level_code"]


def test_every_assembly_of_the_small_motor_at_once() -> None:
    """One of each assembly, each as its own column, gives the answer table of the post."""
    case = GRAPHS["small_motor"]
    names, up, down, quantity = edges(case)
    total = total_requirements(up, down, quantity, np.eye(len(names), dtype=np.int64))
    for item, published in case["published_per_unit_of_each_assembly"].items():
        column = total[:, names.index(item)]
        assert {raw: int(column[names.index(raw)]) for raw in published} == published


@pytest.mark.parametrize("case", MATRICES.values(), ids=MATRICES)
def test_two_stages_multiply_to_the_published_matrix(case: dict) -> None:
    """Raw to intermediate to end: units of each raw material in one of each end product."""
    below = np.array(case["raw_to_intermediate"])
    above = np.array(case["intermediate_to_end"])
    raws, middles = below.shape
    ends = above.shape[1]
    raw, middle = np.nonzero(below)
    held, end = np.nonzero(above)
    up = np.concatenate([raws + middle, raws + middles + end])
    down = np.concatenate([raw, raws + held])
    quantity = np.concatenate([below[raw, middle], above[held, end]])
    demand = np.zeros((raws + middles + ends, ends), dtype=np.int64)
    demand[raws + middles + np.arange(ends), np.arange(ends)] = 1
    total = total_requirements(up, down, quantity, demand)[:raws]
    assert total.tolist() == case["published_raw_to_end"]
    if "end_demand" in case:
        wanted = demand @ np.array(case["end_demand"])
        raw_total = total_requirements(up, down, quantity, wanted[:, None])[:raws, 0]
        assert raw_total.tolist() == case["published_raw_requirement"]
        cost = raw_total @ np.array(case["raw_unit_cost"])
        assert cost == pytest.approx(case["published_raw_cost"])

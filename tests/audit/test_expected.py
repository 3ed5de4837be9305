"""Rates drawn towards those of their like."""

from __future__ import annotations

import numpy as np
import pytest

from kitting.audit import fit_beta, james_stein, shrunk, tally
from kitting.audit.expected import ALL, expected


def test_without_trials_the_prior_speaks():
    mean, low, high = shrunk([0], [0], 2.0, 6.0)
    assert mean.tolist() == [0.25]
    assert 0 < low[0] < 0.25 < high[0] < 1


def test_counts_without_spread_beyond_chance_are_one_rate():
    """Fifty things at exactly 10 of 100: the prior is as strong as allowed, at their rate."""
    a, b = fit_beta([10] * 50, [100] * 50)
    assert a / (a + b) == pytest.approx(0.1, abs=0.002)
    assert a + b > 1000


def test_rates_that_differ_widely_are_hardly_drawn():
    """Half the things always, half never: each keeps its own rate."""
    a, b = fit_beta([100] * 20 + [0] * 20, [100] * 40)
    mean, _, _ = shrunk([100, 0], [100, 100], a, b)
    assert mean[0] > 0.99
    assert mean[1] < 0.01


@pytest.mark.parametrize("counts", [([], []), ([0], [5]), ([0, 0], [3, 0]), ([4, 4], [4, 4])])
def test_nothing_to_fit_still_gives_a_prior(counts):
    a, b = fit_beta(*counts)
    assert a > 0
    assert b > 0


def test_more_trials_draw_less():
    """The same raw rate from more builds stays nearer to itself."""
    counts = {("", "few"): (1, 2), ("", "many"): (50, 100)}
    others = {("", f"p{n}"): 50 for n in range(30)}
    toward, mean, low, high = expected(counts, others)
    assert toward == [ALL, ALL]
    assert mean[0] < mean[1] < 0.5
    assert (low < mean).all()
    assert (mean < high).all()


def test_a_part_is_drawn_towards_its_family():
    """One of two builds forgot each; the one of the forgetful family is the worse risk."""
    counts = {("", "ring"): (1, 2), ("", "bolt"): (1, 2)}
    counts |= {("", f"ring{n}"): (6, 10) for n in range(10)}
    others = {("", f"bolt{n}"): 10 for n in range(10)}
    toward, mean, _, _ = expected(counts, others, lambda key: key[1][:4])
    assert toward[:2] == ["ring", "bolt"]
    assert mean[0] > 1.5 * mean[1]


def test_james_stein_leaves_three_values_and_equal_values():
    values, c = james_stein([1.0, 2.0, 3.0], 5.0)
    assert (values.tolist(), c) == ([1.0, 2.0, 3.0], 1.0)
    values, c = james_stein([2.0] * 5, 1.0)
    assert (values.tolist(), c) == ([2.0] * 5, 0.0)


def test_expected_rates_predict_better_than_raw_ones():
    """On drawn shops, rates from ten builds are nearer the truth when drawn towards their like."""
    rng = np.random.default_rng(11)
    truth = rng.beta(0.5, 9.5, 400)
    x = rng.binomial(10, truth)
    a, b = fit_beta(x, [10] * 400)
    mean, low, high = shrunk(x, [10] * 400, a, b)
    assert ((mean - truth) ** 2).mean() < 0.7 * ((x / 10 - truth) ** 2).mean()
    assert 0.92 <= ((low <= truth) & (truth <= high)).mean() <= 0.99


SHOP = {
    "parts": [{"part": "ring", "family": "o-ring"}, {"part": "seal", "family": "lip seal"}],
    "stages": [{"assembly": "engine", "stage": "head"}],
    "joints": [{"assembly": "engine", "stage": "head", "joint": "cover", "kind": "o_ring"}],
    "lines": [
        {"line": n, "assembly": "engine", "stage": "head", "joint": "cover", "part": part}
        for n, part in enumerate(("ring", "seal"), 1)
    ],
    "builds": [
        {"build": f"B{n}", "assembly": "engine", "finished": f"2026-01-{n:02d}"}
        for n in range(1, 6)
    ],
    "offers": [{"offer": 1, "supplier": "NEAR", "part": "ring"}]
    + [{"offer": n, "supplier": s, "part": "seal"} for n, s in ((2, "NEAR"), (3, "FAR"))],
    "orders": [
        {"order": "K1", "line": 1, "supplier": "FAR", "part": "seal", "ordered": "2025-12-01"},
        {"order": "K2", "line": 1, "supplier": "NEAR", "part": "seal", "ordered": "2026-01-20"},
        {"order": "K3", "line": 1, "supplier": "NEAR", "part": "seal", "ordered": "2025-11-01",
         "build": "B3"},
    ],
}  # fmt: skip


def forgot(entry, build, part, **more):
    return {"entry": entry, "build": build, "stage": "head", "joint": "cover", "part": part,
            "quantity": 1, "role": "seal", "noted": "2026-01-05", **more}  # fmt: skip


def test_suppliers_kinds_and_roles_are_counted(shop_of):
    """The supplier is that of the build's own order, or the last before, or the only one."""
    events = [
        forgot(1, "B1", "ring", hours_lost=2.0, money_lost=500),
        forgot(2, "B2", "seal"),
        forgot(3, "B3", "seal"),
    ]
    found = tally(shop_of({"hour_rate": "40"}, forgotten=events, **SHOP))
    by = {name: frame.set_index("name") for name, frame in found.items() if "name" in frame}
    assert by["supplier"]["events"].to_dict() == {"NEAR": 2, "FAR": 1}
    assert by["supplier"]["could"].to_dict() == {"NEAR": 5, "FAR": 5}
    assert by["kind"]["events"].to_dict() == {"o_ring": 3}
    assert by["role"]["events"].to_dict() == {"seal": 3}
    assert by["part"].loc["ring", "cost"] == 500 + 2 * 4000
    assert by["part"].loc["ring", "toward"] == "o-ring"
    assert by["part"]["running"].tolist() == pytest.approx([2 / 3, 1.0])

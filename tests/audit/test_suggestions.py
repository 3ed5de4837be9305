"""What a kit may lack, by what past builds used together."""

from __future__ import annotations

import numpy as np
import pytest

from kitting.audit import suggestions, together
from kitting.tables.audit import SUGGESTIONS


def shop_with(shop_of, used, **more):
    """Make a shop of finished builds that used some parts each."""
    names = list(used)
    tables = {
        "builds": [
            {"build": b, "assembly": "engine", "finished": f"2026-01-{n:02d}"}
            for n, b in enumerate(names, 1)
        ]
        + [{"build": "NEW", "assembly": "engine"}],
        "used": [
            {"entry": n, "build": b, "part": p, "stage": "close", "joint": j}
            for n, (b, p, j) in enumerate(
                ((b, p, j) for b, parts in used.items() for p, j in parts.items()), 1
            )
        ],
        **more,
    }
    return shop_of(**tables)


USED = {f"P{i}": {"pump": "pump flange", "ring": "pump flange", "oil": ""} for i in range(9)}
USED |= {"P9": {"pump": "pump flange", "oil": ""}}
USED |= {f"N{i}": {"cover": "lid", "oil": ""} for i in range(6)}


@pytest.fixture
def looked_at(shop_of, frame_of):
    """Give a function that suggests for one kit with some parts at some joints."""

    def look(parts, joints=("pump flange", "lid"), used=USED, **more):
        required = frame_of(
            "required",
            *({"required": n, "build": "NEW", "part": p, "quantity": 1}
              for n, p in enumerate(parts, 1)),
        )  # fmt: skip
        places = frame_of(
            "build_joints",
            *({"build": "NEW", "assembly": "engine", "stage": "close", "joint": j} for j in joints),
        )
        return suggestions(shop_with(shop_of, used, **more), required, places)

    return look


def test_the_ring_that_goes_with_the_pump(looked_at):
    """Nine of ten builds with the pump also used the ring, and the reason says so."""
    found = looked_at(["pump", "oil"])
    SUGGESTIONS.check(found)
    first = found.iloc[0]
    assert (first["part"], first["because"]) == ("ring", "pump")
    assert (first["both"], first["one"]) == (9, 10)
    assert first["reason"] == "9 of 10 past builds with pump also used ring"
    assert first["lift"] == pytest.approx(0.9 / (9 / 16))


def test_what_the_kit_has_is_not_suggested(looked_at):
    assert "ring" not in set(looked_at(["pump", "ring", "oil"])["part"])


def test_what_a_set_of_the_kit_contains_is_not_suggested(looked_at):
    sets = [{"set": "pump set", "part": "ring", "quantity": 1, "fits": "needed"}]
    assert "ring" not in set(looked_at(["pump", "pump set", "oil"], sets=sets)["part"])


def test_a_stand_in_of_the_kit_serves(looked_at):
    """The later ring is asked for; the old one is not suggested."""
    stand_ins = [{"part": "ring", "stand_in": "ring B", "kind": "supersedes", "take": 1, "give": 1}]
    assert "ring" not in set(looked_at(["pump", "ring B", "oil"], stand_ins=stand_ins)["part"])


def test_a_joint_that_is_not_closed_asks_for_nothing(looked_at):
    """The ring goes only where the pump sits; a build that does not close it needs none."""
    assert "ring" not in set(looked_at(["pump", "oil"], joints=("lid",))["part"])


def test_at_most_ten_and_numbered(looked_at):
    used = {f"P{i}": {f"p{n}": "pump flange" for n in range(30)} for i in range(8)}
    found = looked_at(["p0", "p1"], used=used)
    assert found["position"].tolist() == list(range(1, 11))
    assert found["score"].is_monotonic_decreasing


@pytest.mark.parametrize("used", [{}, {"P1": {"pump": "", "ring": ""}, "P2": {"pump": ""}}])
def test_few_builds_suggest_nothing(looked_at, used):
    assert looked_at(["pump"], used=used).empty


def test_one_build_together_is_no_reason(looked_at):
    used = {"P1": {"pump": "", "ring": ""}, **{f"P{n}": {"pump": ""} for n in range(2, 5)}}
    assert looked_at(["pump"], joints=("pump flange",), used=used).empty


def test_the_dual_is_the_closed_form():
    """The kits x kits way gives the weights of the parts x parts way, part by part."""
    rng = np.random.default_rng(4)
    x = (rng.random((12, 30)) < 0.3).astype(float)
    kits = together.kit_matrix([np.flatnonzero(row).tolist() for row in x], 30)
    inverse = np.linalg.inv(x.T @ x + 7.0 * np.eye(30))
    weights = -inverse / np.diag(inverse)[None]
    np.fill_diagonal(weights, 0.0)
    plain = together.fit(kits, ridge=7.0, by_count=0.0, by_length=0.0)
    mine = together.without_held(plain.scores(kits), kits)
    theirs = together.without_held(x @ weights, kits)
    held = x > 0
    assert np.isneginf(mine[held]).all()
    assert mine[~held] == pytest.approx(theirs[~held])


def test_the_ridge_by_count_is_a_ridge_by_part():
    """With by_count each part has a ridge of its own, as written out in full."""
    rng = np.random.default_rng(5)
    x = (rng.random((15, 20)) < 0.4).astype(float)
    kits = together.kit_matrix([np.flatnonzero(row).tolist() for row in x], 20)
    inverse = np.linalg.inv(x.T @ x + np.diag(3.0 + 0.5 * x.sum(axis=0)))
    weights = -inverse / np.diag(inverse)[None]
    np.fill_diagonal(weights, 0.0)
    model = together.fit(kits, ridge=3.0, by_count=0.5, by_length=0.0)
    free = x == 0
    assert model.scores(kits)[free] == pytest.approx((x @ weights)[free])


def test_nearest_kits_are_weighted_by_likeness():
    known = together.kit_matrix([[0, 1, 2], [0, 1, 3], [4]], 5)
    found = together.nearest(known, together.kit_matrix([[0, 1]], 5), 2)
    likeness = 2 / np.sqrt(2 * 3)
    assert found[0].tolist() == pytest.approx([2 * likeness, 2 * likeness, likeness, likeness, 0])

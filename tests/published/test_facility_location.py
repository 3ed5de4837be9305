"""OR-Library warehouse location (Beasley 1988): the published optima through our own model.

A supplier with freight for each order is a warehouse with a fixed cost; a part is a customer.
"""

from __future__ import annotations

import pytest
from sourcing.facilities import FOLDER, optima, path_of, problem_of

from kitting.sourcing.heuristic import improve
from kitting.sourcing.prove import Effort, prove

ALL = optima()
QUICK = {"cap44", "cap74"}
NEAR = 0.0011
"""The optima are printed with three decimals, some rounded, some cut."""


def the_problem(instance, limited):
    path = path_of(instance)
    if path is None:
        pytest.skip(f"{instance} is not in {FOLDER.parent.name}/{FOLDER.name} beside the project")
    return problem_of(path, limited=limited)


@pytest.mark.parametrize(("instance", "limited", "optimum"), [a for a in ALL if a[0] in QUICK])
def test_the_published_optimum_is_found_and_proved(instance, limited, optimum):
    """With capacities and without."""
    found = prove(the_problem(instance, limited), Effort(seconds=60))
    assert found.cost == pytest.approx(optimum, abs=NEAR)
    assert found.bound == pytest.approx(optimum, abs=NEAR)


@pytest.mark.slow
@pytest.mark.parametrize(("instance", "limited", "optimum"), [a for a in ALL if a[0] not in QUICK])
def test_every_published_optimum_is_found_and_proved(instance, limited, optimum):
    """All 37 instances, each within 60 s."""
    found = prove(the_problem(instance, limited), Effort(seconds=60))
    assert found.cost == pytest.approx(optimum, abs=NEAR)
    assert found.bound == pytest.approx(optimum, abs=NEAR)


@pytest.mark.parametrize(
    ("instance", "optimum"), [(name, best) for name, limited, best in ALL if not limited]
)
def test_the_heuristic_is_near_the_optimum(instance, optimum):
    """Without a solver, within 0.5 % of every published optimum without capacities."""
    assert optimum - NEAR <= improve(the_problem(instance, False)).cost <= 1.005 * optimum


def test_all_instances_are_listed():
    """37 instances, 12 of them with two optima."""
    assert len({name for name, _, _ in ALL}) == 37
    assert len(ALL) == 49

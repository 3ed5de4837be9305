"""Makespans of published project instances with limited resources.

R. Kolisch, A. Sprecher, PSPLIB, European Journal of Operational Research 96:205-216, 1997. The
instances are a public research benchmark without a stated licence, so they are read in place from
the folder ``shared`` beside the project's own. All of them, with times, are in
``tests/speed/bench_schedule.py``.
"""

from __future__ import annotations

import csv

import pytest
from speed.psplib import FOLDER, read_instance

from kitting.timing.cp_sat import solved
from kitting.timing.improve import Effort, improved

if not FOLDER.is_dir():
    pytest.skip(
        "the published instances are not beside the project (shared/checks/scheduling)",
        allow_module_level=True,
    )

SHORT = {
    "j301_1": 200,  # resources hold, soon solved
    "j301_4": 200,
    "j302_1": 200,
    "j303_3": 50,  # as long as its critical path
    "j3041_2": 200,  # scarce resources
    "j601_1": 50,
    "j602_1": 50,
    "j6010_3": 200,
}


def published(family):
    """Return the optimum of each kept instance of a family."""
    with (FOLDER / f"{family}_selected.csv").open(encoding="utf-8") as file:
        rows = csv.DictReader(file)
        return {r["instance"]: int(r["published_optimal_makespan"]) for r in rows}


OPTIMA = published("j30") | published("j60")


def instance(name):
    return read_instance(FOLDER / f"psplib_{name[:3]}" / f"{name}.sm")


@pytest.mark.parametrize("name", OPTIMA)
def test_critical_paths_are_read_as_published(name):
    """Without resources an instance takes its published MPM time, and nothing takes less."""
    with (FOLDER / f"{name[:3]}_selected.csv").open(encoding="utf-8") as file:
        row = next(r for r in csv.DictReader(file) if r["instance"] == name)
    jobs = instance(name)
    assert len(jobs) == int(row["jobs_without_dummies"]) + 2
    assert "; ".join(map(str, jobs.capacity)).replace(" ", "") == row["capacities"]
    assert jobs.cost(jobs.earliest()) == int(row["critical_path_length_ignoring_resources"])
    assert jobs.bound() <= OPTIMA[name]


@pytest.mark.parametrize("name", SHORT)
def test_our_own_search_is_within_five_percent(name):
    """A short search; never below the published optimum, which would break a rule."""
    jobs = instance(name)
    found = jobs.cost(improved(jobs, Effort(plans=SHORT[name])))
    assert OPTIMA[name] <= found <= 1.05 * OPTIMA[name]


@pytest.mark.parametrize("name", ["j301_1", "j305_1", "j309_1", "j601_8", "j6017_2"])
def test_the_solver_finds_the_published_optimum(name):
    """With the extra installed, these are solved and proved in seconds."""
    pytest.importorskip("ortools", reason="the extra schedule is not installed")
    jobs = instance(name)
    starts, proved = solved(jobs, improved(jobs, Effort(plans=20)), 60.0, 1)
    assert (jobs.cost(starts), proved) == (OPTIMA[name], True)

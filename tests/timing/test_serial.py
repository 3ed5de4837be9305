"""Placing jobs one after another, and moving them late and early again."""

from __future__ import annotations

import pytest
from timing.jobs import best_cost, faults, jobs_of

from kitting.errors import KittingError
from kitting.timing.cp_sat import solved
from kitting.timing.improve import Effort, improved
from kitting.timing.serial import justified, place_in_order, tightened

BENCH = ((0, 1),)


def test_two_jobs_take_turns_at_one_bench():
    """The second waits; a third that needs no bench does not."""
    jobs = jobs_of([(3, (), BENCH), (2, (), BENCH), (4, (), ())], [1])
    assert place_in_order(jobs, [0, 1, 2]) == [0, 3, 0]
    assert place_in_order(jobs, [2, 1, 0]) == [2, 0, 0]


def test_a_gap_is_used_if_it_is_long_enough():
    """The gap before a job with a late release takes what fits and no more."""
    jobs = jobs_of([(2, (), BENCH, 4), (4, (), BENCH), (5, (), BENCH)], [1])
    assert place_in_order(jobs, [0, 2, 1]) == [4, 0, 6]
    assert place_in_order(jobs, [1, 2, 0]) == [9, 0, 4]


def test_gaps_far_away_are_found():
    """A long line of short gaps is passed over until one is long enough."""
    teeth = [(1, (), BENCH, 2 * n) for n in range(200)]
    jobs = jobs_of([*teeth, (5, (), BENCH)], [1])
    assert place_in_order(jobs, range(201))[-1] == 399


def test_several_units_and_several_resources():
    """Two of three people are taken; the job that wants two more waits, that of one does not."""
    jobs = jobs_of(
        [(4, (), ((0, 2), (1, 1))), (1, (), ((0, 2),)), (2, (), ((0, 1),)), (1, (), ((1, 1),))],
        [3, 1],
    )
    assert place_in_order(jobs, [0, 1, 2, 3]) == [0, 4, 0, 4]


def test_what_stands_on_a_bench_is_worked_on_by_several_at_once():
    """Stages of one engine share its bench; another engine waits until the last is done."""
    rows = [(3, (), BENCH, 0, 0, None, 7), (5, (), BENCH, 0, 0, None, 7)]
    rows += [(2, (), BENCH, 0, 0, None, 8), (1, (), BENCH, 0, 0, None, 9)]
    jobs = jobs_of(rows, [1], shared=[True])
    assert place_in_order(jobs, [0, 1, 2, 3]) == [0, 0, 5, 7]
    two = jobs_of(rows, [2], shared=[True])
    assert place_in_order(two, [0, 1, 2, 3]) == [0, 0, 0, 2]


def test_jobs_without_length_take_nothing():
    """A milestone keeps its place in the order of work and holds no bench."""
    jobs = jobs_of([(2, (), BENCH), (0, (0,), BENCH), (2, (1,), BENCH)], [1])
    starts = place_in_order(jobs, [0, 1, 2])
    assert starts == [0, 2, 2]
    assert justified(jobs, starts) == [0, 2, 2]


def test_late_jobs_keep_the_end_and_their_dates():
    """What has room moves to the end of its own group, or to its date, and no further."""
    jobs = jobs_of(
        [(2, (), ()), (5, (), ()), (1, (), (), 0, 0, 3), (1, (), (), 0, 1)], [], weight=(1, 1)
    )
    assert justified(jobs, [0, 0, 0, 0]) == [3, 0, 2, 0]


def test_tightening_finds_what_the_order_lost():
    """A plan in which the bench stood idle for nothing gets shorter."""
    jobs = jobs_of([(2, (), BENCH), (3, (0,), ()), (2, (), BENCH)], [1])
    poor = place_in_order(jobs, [2, 0, 1])
    assert jobs.cost(poor) == 7
    assert jobs.cost(tightened(jobs, poor)) == 5


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_dates_come_first_then_weight(seed):
    """The job with a date goes first; without one, the group that weighs more."""
    dated = jobs_of([(3, (), BENCH, 0, 0), (2, (), BENCH, 0, 1, 2)], [1], weight=(8, 1))
    assert improved(dated, Effort(seed=seed)) == [2, 0]
    heavy = jobs_of([(3, (), BENCH, 0, 0), (3, (), BENCH, 0, 1)], [1], weight=(1, 2))
    assert improved(heavy, Effort(seed=seed)) == [3, 0]


def test_the_search_ends_at_once_where_nothing_can_be_better():
    """Where benches do not hold anything, the first plan is the answer."""
    jobs = jobs_of([(2, (), BENCH), (2, (0,), BENCH), (1, (), ())], [1])
    assert improved(jobs, Effort(plans=1)) == [0, 2, 0]
    assert improved(jobs_of([(1, (), ())], []), Effort(plans=1)) == [0]


def test_the_same_question_has_the_same_answer():
    """Chance comes from the seed alone."""
    rows = [(n % 5 + 1, tuple(range(max(0, n - 3), n - 1)), ((n % 2, 1),)) for n in range(30)]
    jobs = jobs_of(rows, [1, 1])
    assert improved(jobs, Effort(plans=200)) == improved(jobs, Effort(plans=200))


SMALL = [
    # One bench, four jobs and a chain.
    jobs_of([(2, (), BENCH), (3, (0,), BENCH), (2, (), BENCH), (4, (), ()), (1, (3,), BENCH)], [1]),
    # Two people, jobs that want both.
    jobs_of([(2, (), ((0, 2),)), (3, (), BENCH), (2, (1,), BENCH), (1, (), BENCH), (2, (), BENCH)],
            [2]),
    # Two builds of unlike weight on one bench, with dates.
    jobs_of([(2, (), BENCH, 0, 0, 4, 0), (3, (0,), BENCH, 0, 0, None, 0), (1, (), (), 1, 1, 3, 1),
             (2, (2,), BENCH, 0, 1, None, 1), (2, (), BENCH, 2, 1, 5, 1)],
            [1], shared=[True], weight=(2, 3)),
    # Two alike benches and one person.
    jobs_of([(2, (), ((0, 1), (1, 1)), 0, 0, None, 0), (2, (), ((0, 1),), 0, 0, None, 0),
             (3, (), ((0, 1), (1, 1)), 0, 1, None, 1), (2, (2,), ((0, 1),), 0, 1, None, 1),
             (1, (), ((0, 1), (1, 1)), 0, 2, 3, 2), (4, (), ((0, 1),), 0, 2, None, 2)],
            [2, 1], shared=[True, False], weight=(1, 1, 1)),
]  # fmt: skip


@pytest.mark.parametrize("jobs", SMALL)
def test_small_ones_are_optimal(jobs):
    """No order of the jobs leads to a cheaper plan; the plan keeps every rule."""
    starts = improved(jobs, Effort(plans=600))
    assert not faults(jobs, starts)
    assert jobs.cost(starts) == best_cost(jobs)


@pytest.mark.parametrize("jobs", SMALL)
def test_the_solver_proves_the_same(jobs):
    """With the extra installed, a poor plan is improved to the optimum and that is proved."""
    pytest.importorskip("ortools", reason="the extra schedule is not installed")
    poor = place_in_order(jobs, sorted(jobs.topological, key=lambda j: (jobs.place[j], -j)))
    starts, proved = solved(jobs, poor, 20.0, 1)
    assert proved
    assert not faults(jobs, starts)
    assert jobs.cost(starts) == best_cost(jobs)


def test_without_the_extra_it_says_what_to_install(monkeypatch):
    """Asking for the solver where it is not there is told, with the way out."""
    monkeypatch.setitem(__import__("sys").modules, "ortools", None)
    monkeypatch.setitem(__import__("sys").modules, "ortools.sat.python", None)
    with pytest.raises(KittingError, match=r"install kitting\[schedule\]"):
        solved(SMALL[0], [0] * 5, 1.0, 1)

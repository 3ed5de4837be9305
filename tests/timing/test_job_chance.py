"""The exact chance with jobs that leave after stages, against drawn courses."""

from __future__ import annotations

import numpy as np
import pytest

from kitting.timing.chance import Uses, days_late, in_time, tightest
from kitting.timing.course import Course
from kitting.timing.job_chance import Return, chance_with_jobs
from kitting.timing.sampled import Plans, sampled
from kitting.timing.tails import Work, last_days

DAYS, COURSES = 40, 40_000


def returns(rng, lead, spare):
    """Return a job's chances by the days that it leaves late, out on day ``spare``."""
    slip = np.append(np.cumsum(rng.dirichlet(np.ones(6))), np.ones(DAYS))
    rows = []
    for late in range(DAYS):
        row = np.zeros(DAYS)
        from_day = spare + late + lead
        if from_day < DAYS:
            row[from_day:] = slip[: DAYS - from_day]
        rows.append(row)
    return np.array(rows)


def case(seed):
    """Draw a chain with side stages, parts that come late, and jobs over some of its stages."""
    rng = np.random.default_rng(seed)
    # 0 strip, 1 and 2 beside each other, 3 waits for both and for jobs, 4 for a job of 3, 5 end.
    work = Work(
        tuple(("engine", str(n)) for n in range(6)),
        ((), (0,), (0,), (1, 2), (3,), (4,)),
        rng.choice([0.5, 1.0, 2.0], 6),
        np.zeros(6, dtype=bool),
    )
    starts = np.array([3, 7, 7, 12, 19, 24]) + rng.integers(0, 3, 6)
    finish = int(starts[-1]) + 3
    parts = np.cumsum(rng.dirichlet(np.ones(8), 4), axis=1)
    arrives = np.ones((8, DAYS))
    for n, due in enumerate((starts[0], starts[1], starts[3], starts[5])):
        arrives[n, : due - 3] = 0.0
        arrives[n, due - 3 : due + 5] = parts[n]
    jobs = [
        Return(4, (0,), returns(rng, 3, starts[0] + 2)),
        Return(5, (0,), returns(rng, 2, starts[0] + 2)),
        Return(6, (1, 2), returns(rng, 2, starts[1] + 1)),
        Return(7, (3,), returns(rng, 3, starts[3] + 1)),
    ]
    pairs = [(0, 0), (1, 1), (2, 3), (3, 5), (4, 3), (5, 2), (6, 3), (7, 4)]
    uses = Uses(*np.array(sorted(pairs)).T)
    used, last = tightest(last_days(starts, finish, work), uses)
    one = Course([], work, starts, finish, uses, used, last, last)
    return arrives, one, jobs


@pytest.mark.parametrize("seed", range(6))
def test_it_agrees_with_drawn_courses(seed):
    """Four jobs: two that go together, one after two stages, one after what waits for a job."""
    arrives, one, jobs = case(seed)
    chance, late = chance_with_jobs(arrives, one, jobs)
    plans = Plans(one.work, one.starts, one.finish)
    rng = np.random.default_rng(seed)
    drawn = sampled(arrives, one.waits, plans, rng, COURSES, (None, jobs))
    error = np.sqrt(np.maximum(chance * (1 - chance), 1e-4) / COURSES)
    assert (np.abs(drawn.in_time - chance) < 4 * error).all()
    assert late == pytest.approx(drawn.late.mean(axis=1), abs=0.06)
    assert 0.0 < chance[-1] < 1.0


def test_jobs_that_leave_on_their_day_are_a_plain_product():
    """Where the stages before are sure, a job is a delivery as others are."""
    arrives, one, jobs = case(1)
    arrives[[0, 1, 2]] = 1.0
    jobs = [job for job in jobs if job.after == (0,)]
    for job in jobs:
        arrives[job.delivery] = job.returns[0]
    chance, late = chance_with_jobs(arrives, one, jobs)
    mine = arrives[one.used]
    assert chance == pytest.approx(in_time(mine, one.last))
    assert late == pytest.approx(days_late(mine, one.last))

"""The optional solver: an answer that is proved best, or better than our own.

Needs the extra ``schedule``; the library is imported only when it is asked for.
"""

from __future__ import annotations

from itertools import combinations
from typing import TYPE_CHECKING, Any

from kitting.errors import KittingError
from kitting.timing.serial import LATE, in_order, place_in_order

if TYPE_CHECKING:
    from collections.abc import Sequence

    from kitting.timing.serial import Jobs


def solved(jobs: Jobs, hint: Sequence[int], seconds: float, seed: int) -> tuple[list[int], bool]:
    """Return the start of each job [ticks] and whether no plan can cost less.

    Parameters
    ----------
    jobs
        The jobs.
    hint
        A plan to begin with; the answer never costs more.
    seconds
        How long the solver may take, by the clock and by its own count of work; where the count
        ends it first, or the proof does, the same question has the same answer.
    seed
        Where its chance begins.

    Raises
    ------
    KittingError
        When the extra ``schedule`` is not installed.
    """
    try:
        from ortools.sat.python import cp_model
    except ImportError as fault:
        raise KittingError(
            "the solver is not installed; install kitting[schedule], or plan without it"
        ) from fault
    model, starts = _model(cp_model, jobs, hint)
    solver = cp_model.CpSolver()
    solver.parameters.max_deterministic_time = seconds
    solver.parameters.max_time_in_seconds = seconds
    solver.parameters.random_seed = seed
    solver.parameters.num_workers = 1
    status = solver.solve(model)
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return list(hint), False
    found = [int(solver.value(s)) for s in starts]
    placed = place_in_order(jobs, in_order(jobs, found))
    best = min(placed, found, list(hint), key=jobs.cost)
    return best, status == cp_model.OPTIMAL


def _model(cp_model: Any, jobs: Jobs, hint: Sequence[int]) -> tuple[Any, list[Any]]:
    """Write the jobs for the solver: every job starts once, no resource is overdrawn."""
    model = cp_model.CpModel()
    last = jobs.horizon
    starts = [
        model.new_int_var(release, last, f"start {job}") for job, release in enumerate(jobs.release)
    ]
    work = [
        model.new_fixed_size_interval_var(start, ticks, f"work {job}")
        for job, (start, ticks) in enumerate(zip(starts, jobs.ticks, strict=True))
    ]
    for job, before in enumerate(jobs.before):
        for other in before:
            model.add(starts[job] >= starts[other] + jobs.ticks[other])
    for resource, units in enumerate(jobs.capacity):
        takes = [(j, n) for j, d in enumerate(jobs.demands) for r, n in d if r == resource]
        if jobs.shared[resource]:
            _share(model, jobs, starts, [j for j, _ in takes], units)
        else:
            model.add_cumulative([work[j] for j, _ in takes], [n for _, n in takes], units)
    beyond = last + max(jobs.ticks, default=0)
    ends = [model.new_int_var(0, beyond, "") for _ in jobs.weight]
    late = [model.new_int_var(0, beyond, "") for _ in jobs.weight]
    for job, group in enumerate(jobs.group):
        model.add(ends[group] >= starts[job] + jobs.ticks[job])
        due = jobs.due[job]
        if due is not None:
            model.add(late[group] >= starts[job] + jobs.ticks[job] - due)
    model.minimize(
        sum(w * (e + LATE * over) for w, e, over in zip(jobs.weight, ends, late, strict=True))
    )
    for variable, value in zip((*starts, *ends), (*hint, *jobs.ends(hint)), strict=True):
        model.add_hint(variable, value)
    return model, starts


def _share(model: Any, jobs: Jobs, starts: list[Any], users: list[int], units: int) -> None:
    """Let each bench of some alike ones hold one thing at a time.

    Every job is at one of the benches; two jobs at the same one either work on the same thing or
    follow each other.
    """
    at = {
        job: [model.new_bool_var(f"job {job} at {unit}") for unit in range(units)]
        for job in users
        if jobs.ticks[job]
    }
    for choices in at.values():
        model.add_exactly_one(choices)
    for one, other in combinations(at, 2):
        if jobs.holder[one] == jobs.holder[other]:
            continue
        first, second = model.new_bool_var(""), model.new_bool_var("")
        model.add(starts[other] >= starts[one] + jobs.ticks[one]).only_enforce_if(first)
        model.add(starts[one] >= starts[other] + jobs.ticks[other]).only_enforce_if(second)
        for here, there in zip(at[one], at[other], strict=True):
            model.add_bool_or([first, second, here.negated(), there.negated()])

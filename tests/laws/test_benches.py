"""Laws of plans on limited benches, for any jobs."""

from __future__ import annotations

from dataclasses import replace

from hypothesis import given, settings
from hypothesis import strategies as st
from timing.jobs import faults

from kitting.timing.improve import Effort, by_rank, improved, rules
from kitting.timing.serial import Jobs, justified, place_in_order, tightened

EFFORT = Effort(plans=30)


@st.composite
def some_jobs(draw) -> Jobs:
    """Draw up to twelve jobs of three groups on a bench, alike benches and people."""
    count = draw(st.integers(1, 12))
    capacity = (1, draw(st.integers(1, 2)), draw(st.integers(1, 3)))
    before, demands = [], []
    for job in range(count):
        before.append(
            tuple(sorted(draw(st.sets(st.integers(0, job - 1), max_size=3)))) if job else ()
        )
        bench = draw(st.sampled_from([(), ((0, 1),), ((1, 1),)]))
        people = draw(st.integers(0, capacity[2]))
        demands.append((*bench, *(((2, people),) if people else ())))
    group = [draw(st.integers(0, 2)) for _ in range(count)]
    return Jobs(
        ticks=tuple(draw(st.integers(0, 6)) for _ in range(count)),
        before=tuple(before),
        demands=tuple(demands),
        release=tuple(draw(st.integers(0, 8)) for _ in range(count)),
        group=tuple(group),
        due=tuple(draw(st.sampled_from([None, None, 5, 20])) for _ in range(count)),
        capacity=capacity,
        weight=(1, 2, 4),
        holder=tuple(group),
        shared=(True, True, False),
    )


@settings(deadline=None)
@given(some_jobs(), st.randoms(use_true_random=False))
def test_any_order_gives_a_sound_plan(jobs, random):
    """No bench is double-booked, nobody works twice at once, and what is followed is done."""
    order = by_rank(jobs, [random.random() for _ in range(len(jobs))])
    assert sorted(order) == list(range(len(jobs)))
    assert not faults(jobs, place_in_order(jobs, order))


@settings(deadline=None)
@given(some_jobs(), st.randoms(use_true_random=False))
def test_late_plans_are_sound_and_no_group_ends_later(jobs, random):
    """As late as can be: nothing earlier than before, every end and date kept, some slack zero."""
    starts = place_in_order(jobs, by_rank(jobs, [random.random() for _ in range(len(jobs))]))
    late = justified(jobs, starts)
    assert not faults(jobs, late)
    assert all(after >= before for after, before in zip(late, starts, strict=True))
    assert jobs.ends(late) == jobs.ends(starts)
    assert jobs.cost(late) == jobs.cost(starts)
    for group in set(jobs.group):
        own = [j for j in range(len(jobs)) if jobs.group[j] == group]
        assert any(late[j] == starts[j] for j in own)


@settings(deadline=None)
@given(some_jobs(), st.randoms(use_true_random=False))
def test_tightening_is_never_worse(jobs, random):
    """Neither in cost nor in the end of any one group."""
    starts = place_in_order(jobs, by_rank(jobs, [random.random() for _ in range(len(jobs))]))
    tight = tightened(jobs, starts)
    assert not faults(jobs, tight)
    assert jobs.cost(tight) <= jobs.cost(starts)
    pairs = zip(jobs.ends(tight), jobs.ends(starts), strict=True)
    assert all(after <= before for after, before in pairs)


@settings(deadline=None, max_examples=60)
@given(some_jobs())
def test_the_search_keeps_its_bound_and_beats_every_rule(jobs):
    """Between the bound and the cheapest plan of a priority rule."""
    starts = improved(jobs, EFFORT)
    assert not faults(jobs, starts)
    by_rules = [jobs.cost(place_in_order(jobs, by_rank(jobs, rule))) for rule in rules(jobs)]
    assert jobs.bound() <= jobs.cost(starts)
    assert jobs.cost(starts) <= by_rules[0]


@settings(deadline=None)
@given(some_jobs(), st.integers(0, 2), st.randoms(use_true_random=False))
def test_more_benches_or_people_are_never_later(jobs, resource, random):
    """The plan that there is stays sound with one more, so tightening it is never later."""
    starts = place_in_order(jobs, by_rank(jobs, [random.random() for _ in range(len(jobs))]))
    more = tuple(n + (r == resource) for r, n in enumerate(jobs.capacity))
    roomier = replace(jobs, capacity=more)
    assert not faults(roomier, starts)
    assert roomier.cost(tightened(roomier, starts)) <= jobs.cost(starts)


@settings(deadline=None)
@given(some_jobs())
def test_without_limits_every_job_starts_as_early_as_it_could(jobs):
    """Plan and critical-path arithmetic are then one."""
    free = replace(jobs, demands=((),) * len(jobs))
    assert improved(free, EFFORT) == free.earliest()

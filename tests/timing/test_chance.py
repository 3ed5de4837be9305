"""The exact chance: by hand, by going through every course of events, and by sampling."""

from __future__ import annotations

from itertools import product

import numpy as np
import pytest

from kitting.timing.chance import Uses, days_late, in_time, sway, tightest
from kitting.timing.sampled import Plans, sampled
from kitting.timing.tails import FAR, Work, between, last_days


def work_of(*stages: tuple[tuple[int, ...], float], aside: tuple[int, ...] = ()) -> Work:
    """Make work from what each stage waits for and how long it takes."""
    keys = tuple(("engine", f"S{n}") for n in range(len(stages)))
    lies = np.array([n in aside for n in range(len(stages))])
    return Work(keys, tuple(s[0] for s in stages), np.array([s[1] for s in stages]), lies)


def uses_of(*pairs: tuple[int, int]) -> Uses:
    return Uses(*np.array(sorted(pairs), dtype="int64").reshape(-1, 2).T)


def share(*mass: float, days: int = 12) -> np.ndarray:
    """Cumulative share from the chance to be usable on day 0, 1, ...; the rest comes after all."""
    return np.minimum(np.cumsum([*mass, *[0.0] * (days - len(mass))]), 1.0)


def exact(arrives, uses, plans):
    used, last = tightest(last_days(plans.starts, plans.finish, plans.work), uses)
    return in_time(arrives[used], last), days_late(arrives[used], last)


def by_all_courses(arrives, uses, plans):
    """Go through every combination of days of arrival."""
    work = plans.work
    days = arrives.shape[1]
    mass = np.diff(arrives, axis=1, prepend=0.0)
    mass = np.hstack([mass, 1.0 - arrives[:, -1:]])
    ways = [[d for d in range(days + 1) if m[d] > 0] for m in mass]
    chance, late = np.zeros((2, len(work.keys) + 1))
    for course in product(*ways):
        weight = np.prod([mass[n, d] for n, d in enumerate(course)])
        start, bench, end = (np.full(len(work.keys), -np.inf) for _ in range(3))
        for at, before in enumerate(work.before):
            held = max((bench[b] for b in before), default=-np.inf)
            waits = max((end[b] for b in before), default=-np.inf) if work.aside[at] else held
            own = [course[d] for d, s in zip(uses.delivery, uses.stage, strict=True) if s == at]
            start[at] = max([plans.starts[at], waits, *own])
            end[at] = start[at] + work.days[at]
            bench[at] = held if work.aside[at] else end[at]
        behind = [
            *np.floor(start + 0.02) - plans.starts,
            np.ceil(bench.max() - 0.02) - 1 - plans.finish,
        ]
        behind = np.maximum(behind, 0.0)
        chance += weight * (behind == 0)
        late += weight * behind
    return chance, late


CASES = [
    # one stage, one delivery
    (work_of(((), 1.0)), [2], 2, [(0, 0)]),
    # a chain in which the second stage's delivery has slack
    (work_of(((), 1.0), ((0,), 2.0), ((1,), 0.5)), [0, 1, 5], 6, [(0, 0), (1, 1), (2, 2)]),
    # one delivery for two stages; the later one may bind by the work in between
    (work_of(((), 2.5), ((0,), 1.0)), [1, 3], 4, [(0, 0), (0, 1), (1, 1)]),
    # two branches that join; a deferred stage beside, which waits and holds up nothing
    (
        work_of(((), 1.0), ((), 3.0), ((0, 1), 1.0), ((1,), 4.0), ((2, 3), 0.25), aside=(3,)),
        [2, 2, 5, 5, 6],
        6,
        [(0, 0), (1, 1), (2, 3), (1, 2)],
    ),
    # three stages of a third of a day fill one day
    (work_of(((), 0.33), ((0,), 0.33), ((1,), 0.33)), [1, 1, 1], 1, [(0, 0), (1, 2)]),
]


@pytest.mark.parametrize(("work", "starts", "finish", "pairs"), CASES)
def test_exact_is_what_every_course_of_events_adds_up_to(work, starts, finish, pairs) -> None:
    """Chances and days late of every stage and of the end, to the last digit."""
    arrives = np.stack([
        share(0.1, 0.3, 0.2, 0.15, 0.1, 0.05), share(0.5, 0.0, 0.3, 0.0, 0.2), share(0, 0.6, 0.3),
    ])[: max(d for d, _ in pairs) + 1]  # fmt: skip
    plans = Plans(work, np.array(starts), finish)
    uses = uses_of(*pairs)
    chance, late = exact(arrives, uses, plans)
    expected = by_all_courses(arrives, uses, plans)
    assert chance == pytest.approx(expected[0], abs=1e-12)
    assert late == pytest.approx(expected[1], abs=1e-12)


def test_the_product_of_independent_deliveries() -> None:
    """Two parts, 90 and 80 % by their days: 72 % that the build is in time."""
    work = work_of(((), 1.0), ((0,), 1.0))
    arrives = np.stack([share(0.9, 0.1), share(0.0, 0.8, 0.0, 0.2)])
    chance, late = exact(arrives, uses_of((0, 0), (1, 1)), Plans(work, np.array([0, 1]), 1))
    assert chance == pytest.approx([0.9, 0.72, 0.72])
    # 8 %: only the first is late, by a day; 20 %: the second comes two days after its day.
    assert late[-1] == pytest.approx(0.08 * 1 + 0.2 * 2)


def test_a_kit_of_sure_lines_is_unlikely_to_be_whole() -> None:
    """120 lines of 95 % that come by themselves: a chance of 0.2 %."""
    work = work_of(((), 1.0))
    arrives = np.tile(share(0.95, 0.05), (120, 1))
    chance, _ = exact(
        arrives, uses_of(*((n, 0) for n in range(120))), Plans(work, np.array([0]), 0)
    )
    assert chance[0] == pytest.approx(0.95**120)
    assert round(float(chance[0]), 3) == 0.002


def test_slack_is_used() -> None:
    """A part for a stage that may wait three days does not hold up the end."""
    work = work_of(((), 5.0), ((), 2.0), ((0, 1), 1.0))
    arrives = share(0.0, 0.0, 0.0, 1.0)[None]
    chance, late = exact(arrives, uses_of((0, 1)), Plans(work, np.array([0, 0, 5]), 5))
    assert chance.tolist() == [1.0, 0.0, 1.0, 1.0]
    assert late.tolist() == [0.0, 3.0, 0.0, 0.0]


def test_what_is_not_needed_does_not_matter() -> None:
    """Without deliveries all is in time; a delivery that no stage uses changes nothing."""
    plans = Plans(work_of(((), 1.0)), np.array([0]), 0)
    empty = np.empty((0, 12))
    chance, late = exact(empty, uses_of(), plans)
    assert chance.tolist() == [1.0, 1.0]
    assert late.tolist() == [0.0, 0.0]


def test_longest_work_between_stages() -> None:
    """The longest of two ways; none back; a deferred stage passes on only what it follows."""
    work = work_of(((), 1.0), ((0,), 2.0), ((0,), 4.0), ((1, 2), 1.0), aside=(2,))
    start, to_end = between(work)
    assert start[3].tolist() == [3.0, 2.0, -np.inf, 0.0]
    assert start[2].tolist() == [1.0, -np.inf, 0.0, -np.inf]
    assert to_end.tolist() == [4.0, 3.0, -np.inf, 1.0]
    last = last_days(np.array([0, 1, 1, 3]), 3, work)
    assert last[3].tolist() == [0, 1, FAR, 3]
    assert last[-1].tolist() == [0, 1, FAR, 3]


def test_a_day_sooner() -> None:
    """The gain told for each delivery is what the chance becomes when it comes a day sooner."""
    rng = np.random.default_rng(4)
    arrives = np.sort(rng.random((4, 12)), axis=1)
    arrives[:, -1] = 1.0
    last = np.array([3, 0, 5, -1])
    found = sway(arrives, last)
    whole = in_time(arrives, last[None])[0]
    assert found.share * found.without == pytest.approx(np.full(4, whole))
    for n in range(4):
        sooner = last.copy()
        sooner[n] += 1  # a day sooner is a day more to come
        assert found.sooner[n] == pytest.approx(in_time(arrives, sooner[None])[0])
        saved = days_late(arrives, last[None])[0] - days_late(arrives, sooner[None])[0]
        assert found.late_saved[n] == pytest.approx(saved)
    two = sway(arrives, last, sooner=2)
    assert (two.late_saved >= found.late_saved - 1e-12).all()


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_sampling_agrees(seed) -> None:
    """Within 0.01 in every chance, for work drawn at random."""
    rng = np.random.default_rng(seed)
    stages = 8
    before = [tuple(rng.choice(n, min(n, 2), replace=False).tolist()) for n in range(stages)]
    work = work_of(*((b, float(rng.choice([0.5, 1.0, 2.0]))) for b in before), aside=(5,))
    starts = np.maximum(between(work)[0].max(axis=1), 0).astype("int64") + 3
    arrives = np.stack([1 - 0.9 ** (np.arange(60) + 1.0 + n) for n in range(6)])
    uses = uses_of(*{(n, int(s)) for n in range(6) for s in rng.choice(stages, 2)})
    plans = Plans(work, starts, int(starts.max()) + 4)
    chance, late = exact(arrives, uses, plans)
    drawn = sampled(arrives, uses, plans, np.random.default_rng(seed), 40_000)
    assert chance == pytest.approx(drawn.in_time, abs=0.01)
    assert late == pytest.approx(drawn.late.mean(axis=1), abs=0.15)


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_what_is_late_together_is_in_time_together(seed) -> None:
    """One lorry for some deliveries: their chance is that of the least sure, not the product.

    So it is never below the exact chance of independent ones, and their days late not above.
    """
    rng = np.random.default_rng(seed)
    work = work_of(((), 1.0), ((0,), 1.0), ((1,), 1.0))
    plans = Plans(work, np.array([2, 4, 6]), 8)
    arrives = np.sort(rng.random((5, 12)), axis=1)
    arrives[:, -1] = 1.0
    uses = uses_of((0, 0), (1, 0), (2, 1), (3, 2), (4, 2))
    whose = np.array([0, 0, 1, 0, 1])
    found = sampled(arrives, uses, plans, rng, 40_000, (whose, ()))
    used, last = tightest(last_days(plans.starts, plans.finish, work), uses)
    by = np.where(last >= FAR, 11, np.clip(last, 0, 11))
    single = arrives[used, by]
    least = np.prod([single[:, whose == n].min(axis=1) for n in (0, 1)], axis=0)
    error = np.sqrt(least * (1 - least) / 40_000)
    assert (np.abs(found.in_time - least) <= 3 * error + 1e-12).all()
    apart, late = exact(arrives, uses, plans)
    assert (found.in_time >= apart - 3 * error).all()
    assert (found.late.mean(axis=1) <= late + 0.05).all()


def test_work_that_varies_keeps_its_mean_and_lowers_the_chance() -> None:
    """A stage of one to nine days, likely two, planned with its mean of three."""
    work = work_of(((), 3.0), ((0,), 1.0))
    arrives, uses = share(1.0)[None], uses_of((0, 0))
    starts, rng = np.array([0, 3]), np.random.default_rng

    def drawn(least, likely, most):
        points = np.array([[least, 1.0], [likely, 1.0], [most, 1.0]])
        return sampled(arrives, uses, Plans(work, starts, 3, points), rng(6), 50_000)

    wide, narrow = drawn(1.0, 2.0, 9.0), drawn(2.5, 3.0, 3.5)
    ends = wide.days[1]
    # In time when the first takes less than 3.98 days: the beta distribution (1.5, 4.5) at 0.3725.
    assert wide.in_time[1] == pytest.approx(0.7793, abs=3 * np.sqrt(0.172 / 50_000))
    assert ends.min() == 3
    assert wide.in_time[1] < narrow.in_time[1] == 1.0
    assert np.quantile(ends, 0.9) > np.quantile(narrow.days[1], 0.9)
    assert drawn(1.0, 2.0, 9.0).days.tolist() == wide.days.tolist()


def test_fixed_work_days_are_not_drawn() -> None:
    """Three alike points, or none, are the planned days."""
    work = work_of(((), 2.0), ((0,), 1.0))
    arrives, uses = share(0.5, 0.5)[None], uses_of((0, 0))
    plain = Plans(work, np.array([0, 2]), 2)
    alike = Plans(work, np.array([0, 2]), 2, np.tile(work.days, (3, 1)))
    one, other = (
        sampled(arrives, uses, plans, np.random.default_rng(2), 1000) for plans in (plain, alike)
    )
    assert one.days.tolist() == other.days.tolist()

"""How long the exact chance takes against sampling the same case.

Run as a script: ``python tests/speed/bench_chance.py``. 60 deliveries, 40 stages, each delivery
needed by one to four of them; work days, order of work and arrivals drawn at random.
"""

from __future__ import annotations

import sys
from time import perf_counter
from typing import TYPE_CHECKING

import numpy as np

from kitting.timing.chance import Uses, days_late, in_time, tightest
from kitting.timing.sampled import Plans, sampled
from kitting.timing.tails import Work, last_days

if TYPE_CHECKING:
    from collections.abc import Callable

DELIVERIES, STAGES, DAYS, TIMES = 60, 40, 320, 20_000
Case = tuple[np.ndarray, Uses, Plans]


def case(seed: int, stages: int = STAGES, deliveries: int = DELIVERIES) -> Case:
    """Draw arrivals, who waits for what, and the work."""
    rng = np.random.default_rng(seed)
    before: list[tuple[int, ...]] = []
    for stage in range(stages):
        many = min(stage, int(rng.integers(1, 4)))
        before.append(tuple(sorted(rng.choice(stage, many, replace=False))) if many else ())
    days = rng.choice([0.25, 0.5, 1.0, 1.5, 3.0], stages)
    aside = rng.random(stages) < 0.08
    work = Work(tuple(("engine", f"S{n}") for n in range(stages)), tuple(before), days, aside)
    starts, finish = _planned(work, int(rng.integers(3, 12)))
    pairs = {
        (delivery, int(stage))
        for delivery in range(deliveries)
        for stage in rng.choice(stages, int(rng.integers(1, 5)), replace=False)
    }
    uses = Uses(*np.array(sorted(pairs)).T)
    due = np.full(deliveries, DAYS)
    np.minimum.at(due, uses.delivery, starts[uses.stage])
    middle = np.maximum(due - rng.integers(1, 12, deliveries), 0)
    late = np.arange(DAYS)[None, :] - middle[:, None]
    fade = rng.uniform(0.2, 0.8, deliveries)[:, None]
    share = np.where(late < 0, 0.0, 1.0 - 0.2 * fade ** np.maximum(late, 0))
    return share, uses, Plans(work, starts, finish)


def _planned(work: Work, first: int) -> tuple[np.ndarray, int]:
    """Return the first day of each stage, and the last of all, by the work alone."""
    start, bench, end = (np.zeros(len(work.keys)) for _ in range(3))
    for at, before in enumerate(work.before):
        held = max((bench[b] for b in before), default=0.0)
        done = max((end[b] for b in before), default=0.0)
        start[at] = done if work.aside[at] else held
        end[at] = start[at] + work.days[at]
        bench[at] = held if work.aside[at] else end[at]
    finish = int(np.ceil(bench.max() - 0.02)) - 1
    return np.floor(start + 0.02).astype("int64") + first, finish + first


def exact(of: Case) -> tuple[np.ndarray, np.ndarray]:
    """Return the chance to be in time and the days late, of each stage and at last of the end."""
    arrives, uses, plans = of
    used, last = tightest(last_days(plans.starts, plans.finish, plans.work), uses)
    return in_time(arrives[used], last), days_late(arrives[used], last)


def measure(seed: int = 1, times: int = TIMES) -> dict[str, float]:
    """Return seconds of both, the widest difference in chance, and in days late."""
    of = case(seed)
    exact(of)
    best = min(_timed(lambda: exact(of)) for _ in range(15))
    begin = perf_counter()
    drawn = sampled(of[0], of[1], of[2], np.random.default_rng(seed), times)
    in_time, late_days = drawn.in_time, drawn.late.mean(axis=1)
    slow = perf_counter() - begin
    chance, late = exact(of)
    return {
        "exact": best,
        "sampled": slow,
        "apart": float(np.abs(chance - in_time).max()),
        "late apart": float(np.abs(late - late_days).max()),
        "late": float(late[-1]),
        "chance": float(chance[-1]),
    }


def _timed(run: Callable[[], object]) -> float:
    begin = perf_counter()
    run()
    return perf_counter() - begin


def main() -> int:
    """Print three cases."""
    print(f"{DELIVERIES} deliveries, {STAGES} stages; {TIMES:,} samples")
    print("    exact    sampled   times   chance apart   days late (apart)")
    for seed in (1, 2, 3):
        found = measure(seed)
        print(
            f"{found['exact'] * 1000:6.2f} ms {found['sampled'] * 1000:7.0f} ms "
            f"{found['sampled'] / found['exact']:7.0f}   {found['chance']:.3f} {found['apart']:.4f}"
            f"   {found['late']:.3f} ({found['late apart']:.3f})"
        )
    return 0


if __name__ == "__main__":
    sys.exit(main())

"""Published projects with limited resources, and ten builds on three benches with two people.

Run as a script: ``python tests/speed/bench_schedule.py``. R. Kolisch, A. Sprecher, PSPLIB, European
Journal of Operational Research 96:205-216, 1997: 20 instances of 30 jobs and 6 of 60, read in place
from the folder ``shared`` beside the project's own. With the extra ``schedule`` every instance is
given to the solver too. The ten builds go through ``schedule`` from frames to frames.
"""

from __future__ import annotations

import csv
import importlib.util
import sys
from datetime import date
from pathlib import Path
from time import perf_counter

import numpy as np
import pandas as pd

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from speed.psplib import FOLDER, read_instance

from kitting.tables.flow import BUILT_IN, STAGE_DAYS
from kitting.tables.shop import BUILDS, SETTINGS, STAGES, empty_shop
from kitting.timing.benches import schedule
from kitting.timing.calendars import calendars
from kitting.timing.cp_sat import solved
from kitting.timing.improve import Effort, improved

DAY = date(2026, 3, 9)
OWN_PLANS, SOLVER_SECONDS = 4000, 60.0
SOLVER = importlib.util.find_spec("ortools") is not None


def published() -> bool:
    """Print each instance: optimum, our own search, the solver; tell whether the bounds hold."""
    if not FOLDER.is_dir():
        print("the published instances are not beside the project (shared/checks/scheduling)")
        return True
    print(
        f"{'instance':<10}{'optimum':>8}{'own':>6}{'off':>8}{'s':>7}{'solver':>8}{'off':>8}{'s':>7}"
    )
    fine = True
    for family, solver_off in (("j30", 0.0), ("j60", 0.02)):
        with (FOLDER / f"{family}_selected.csv").open(encoding="utf-8") as file:
            rows = list(csv.DictReader(file))
        for row in rows:
            name, optimum = row["instance"], int(row["published_optimal_makespan"])
            jobs = read_instance(FOLDER / f"psplib_{family}" / f"{name}.sm")
            began = perf_counter()
            own = jobs.cost(improved(jobs, Effort(plans=OWN_PLANS)))
            line = f"{name:<10}{optimum:>8}{own:>6}{own / optimum - 1:>8.1%}"
            line += f"{perf_counter() - began:>7.1f}"
            fine &= optimum <= own <= 1.05 * optimum
            if SOLVER:
                began = perf_counter()
                start = improved(jobs, Effort(plans=100))
                best, proved = solved(jobs, start, SOLVER_SECONDS, 1)
                cost, took = jobs.cost(best), perf_counter() - began
                line += f"{cost:>8}{cost / optimum - 1:>8.1%}{took:>7.1f}"
                line += " proved" if proved else ""
                fine &= optimum <= cost <= (1 + solver_off) * optimum and took < 60
            print(line, flush=True)
    return fine


def ten_builds() -> bool:
    """Print how long ten builds of twenty stages take, from frames to frames."""
    rng = np.random.default_rng(7)
    rows = []
    for n in range(10):
        for stage in range(20):
            after = {int(x) for x in rng.integers(max(0, stage - 4), stage, 2)} if stage else set()
            rows.append(
                {
                    "assembly": f"engine {n}",
                    "stage": f"s{stage}",
                    "after": "; ".join(f"s{a}" for a in sorted(after)),
                    "work_days": float(rng.choice([0.25, 0.5, 1, 1, 2, 3])),
                    "place": f"bench {rng.integers(1, 4)}",
                    "people": int(rng.choice([1, 1, 1, 2])),
                }
            )
    blank = {"name": "", "deferred": False, "work_days_least": np.nan, "work_days_most": np.nan}
    stages = STAGES.conform(pd.DataFrame(rows).assign(**blank))
    builds = pd.DataFrame(
        {
            "build": [f"B{n}" for n in range(10)],
            "assembly": [f"engine {n}" for n in range(10)],
            "start": pd.bdate_range("2026-03-09", periods=10, freq="3B"),
            "priority": rng.integers(3, 7, 10),
        }
    ).assign(options="", customer="", use="", finished=pd.NaT, note="")
    settings = {"benches": "bench 1; bench 2; bench 3", "people": "2"}
    frame = pd.DataFrame(settings.items(), columns=["setting", "value"])
    shop = empty_shop().replaced(
        stages=stages, builds=BUILDS.conform(builds), shop=SETTINGS.conform(frame)
    )
    made = calendars(shop, DAY)
    fine = True
    for plans in (20, 100, 1000):
        began = perf_counter()
        frame, days, _ = schedule(
            shop, shop["builds"], BUILT_IN.empty(), made, None, Effort(plans=plans)
        )
        took = perf_counter() - began
        STAGE_DAYS.check(STAGE_DAYS.conform(frame))
        ends = frame.groupby("build")["ends"].max()
        print(
            f"10 builds x 20 stages, 3 benches, 2 people, {plans:>4} plans: {took:5.2f} s; the "
            f"last build ends on day {ends.max():.2f}, builds on average {ends.mean():.2f}, "
            f"{days['waits'].mean():.1f} days later than alone"
        )
        fine &= took < 10
    return fine


if __name__ == "__main__":
    sys.exit(0 if all([ten_builds(), published()]) else 1)

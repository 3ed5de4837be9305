"""The OR-Library's warehouse location instances through our own model: a line for each.

Run ``python tests/speed/bench_facility.py``; the instances that are not beside the tests are looked
for in ``shared/checks/facility_location`` beside the project. Seconds are those of the wall clock;
each instance may take 60.
"""

from __future__ import annotations

import sys
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from sourcing.facilities import optima, path_of, problem_of

from kitting.sourcing.prove import Effort, prove


def main() -> None:
    """Print the table and what is missing."""
    print("instance  capacities    published         ours        bound  seconds")
    slowest, solved, missing = 0.0, 0, []
    for instance, limited, optimum in optima():
        path = path_of(instance)
        if path is None:
            missing.append(instance)
            continue
        problem = problem_of(path, limited=limited)
        begin = time.perf_counter()
        found = prove(problem, Effort(seconds=60))
        taken = time.perf_counter() - begin
        slowest, solved = max(slowest, taken), solved + (abs(found.cost - optimum) < 0.0011)
        print(
            f"{instance:8}  {'yes' if limited else 'no':10} {optimum:12.3f} {found.cost:12.3f} "
            f"{found.bound:12.3f} {taken:8.2f}",
            flush=True,
        )
    print(f"{solved} at the published optimum; the slowest took {slowest:.2f} s")
    if missing:
        print(f"not there: {', '.join(dict.fromkeys(missing))}")


if __name__ == "__main__":
    main()

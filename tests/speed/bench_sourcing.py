"""How much work the proof of the best set of orders is, beside the plain big-M model.

Run ``python tests/speed/bench_sourcing.py`` (or with sizes, ``300x12 1000x25 5000x40``). For each
synthetic shop: from frames to the proved answer by ours; the heuristic alone; the cheapest offer
part by part; and the textbook integer model of the same shop, with whole packs, one binary for
each price step and one large constant for each supplier, until its gap is 1 % or its time is up.
Times are processor seconds, so that a busy machine does not change the ratio.
"""

from __future__ import annotations

import gc
import sys
import time
from pathlib import Path

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import csr_array

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from sourcing.shops import TODAY
from sourcing.synthetic import synthetic

from kitting.sourcing.case import read_case
from kitting.sourcing.heuristic import improve
from kitting.sourcing.proved import BALANCED, NO_PINS, Effort, find, simple_choice
from kitting.sourcing.worth import weigh

SIZES = ((300, 12), (1000, 25), (5000, 40))


class BigM:
    """The textbook model of a case in which everything comes in time and no part is shared."""

    def __init__(self, case) -> None:
        self.cost, self.whole, self.upper = [], [], []
        self.row, self.column, self.factor, self.low, self.high = [], [], [], [], []
        sellers = {d.seller for deals in case.market.deals.values() for d in deals}
        parcel = case.policy.parcel_cost
        self.orders = {
            s.name: (s, self.add(parcel + s.steps[0][1]), self.add(0, whole=False, upper=1e9), [])
            for s in sorted(sellers, key=lambda s: s.name)
        }
        used = {name: [] for name in self.orders}
        for part, needs in case.demand.items():
            asked = sum(n.quantity for n in needs)
            held = []
            for way in case.market.ways[part]:
                held += self.deal(way.deal, asked, used)
            self.limit(held, asked, np.inf)
        for name, (seller, placed, filled, goods) in self.orders.items():
            self.cost[filled] = 1.0
            marks = used[name]
            self.limit([*((z, 1.0) for z in marks), (placed, -len(marks))], -np.inf, 0.0)
            filling = [*goods, (filled, 1.0)]
            if seller.least_order:
                self.limit([*filling, (placed, -seller.least_order)], 0.0, np.inf)
            if len(seller.steps) > 1:
                free = self.add(-seller.steps[0][1])
                self.limit([(free, 1.0), (placed, -1.0)], -np.inf, 0.0)
                self.limit([*filling, (free, -seller.steps[1][0])], 0.0, np.inf)

    def add(self, cost: float, *, whole: bool = True, upper: float = 1.0) -> int:
        """Add a variable."""
        self.cost.append(float(cost))
        self.whole.append(int(whole))
        self.upper.append(upper)
        return len(self.cost) - 1

    def limit(self, entries, low: float, high: float) -> None:
        """Add a row."""
        for column, factor in entries:
            self.row.append(len(self.low))
            self.column.append(column)
            self.factor.append(factor)
        self.low.append(low)
        self.high.append(high)

    def deal(self, deal, asked: int, used):
        """Add packs and a mark for each price step; return what the packs hold."""
        most = max(-(-asked // deal.pack), *(max(s.from_packs, s.least_packs) for s in deal.steps))
        held, marks = [], []
        for step, until in zip(deal.steps, (*deal.steps[1:], None), strict=True):
            least = max(step.from_packs, step.least_packs)
            end = most if until is None else until.from_packs - 1
            if end < least:
                continue
            price = deal.pack * step.price / step.per
            packs, mark = self.add(price, upper=float(end)), self.add(0.0)
            self.limit([(packs, 1.0), (mark, -least)], 0.0, np.inf)
            self.limit([(packs, 1.0), (mark, -end)], -np.inf, 0.0)
            self.orders[deal.seller.name][3].append((packs, price))
            held.append((packs, float(deal.pack)))
            marks.append((mark, 1.0))
        self.limit(marks, -np.inf, 1.0)
        used[deal.seller.name] += [mark for mark, _ in marks]
        return held

    def solve(self, seconds: float, gap: float):
        """Return the answer's cost, the proved gap and the seconds taken."""
        shape = (len(self.low), len(self.cost))
        matrix = csr_array((self.factor, (self.row, self.column)), shape=shape)
        begin = time.process_time()
        found = milp(
            self.cost,
            integrality=self.whole,
            bounds=Bounds(0.0, self.upper),
            constraints=LinearConstraint(matrix, self.low, self.high),
            options={"time_limit": seconds, "mip_rel_gap": gap},
        )
        taken = time.process_time() - begin
        return (found.fun, found.mip_gap, taken) if found.x is not None else (np.inf, np.inf, taken)


def bench(parts: int, sellers: int, limit: float) -> None:
    """Measure one size and print a line."""
    the_shop, wants, when = synthetic(parts, sellers)
    gc.collect()
    begin = time.process_time()
    case = read_case(the_shop, wants, when, TODAY)
    read = time.process_time()
    answer = find(case, BALANCED, NO_PINS, Effort())
    ours = time.process_time()
    quick = improve(answer.model.problem)
    heuristic = time.process_time() - ours
    simple = weigh(simple_choice(case).takes, case.market, case.policy).total
    total = answer.worth.total
    print(f"{parts} x {sellers}: total {total / 100:.2f}, gap {answer.gap:.6%}", end=", ")
    print(f"read {read - begin:.2f} s, proved {ours - read:.2f} s;", end=" ")
    print(f"heuristic {quick.cost / total - 1:.3%} above in {heuristic:.2f} s;", end=" ")
    print(f"cheapest per part {simple / total - 1:.2%} above;", flush=True, end=" ")
    cost, gap, taken = BigM(case).solve(limit, 0.01)
    print(f"big-M {cost / total - 1:+.3%}, gap {gap:.2%}, {taken:.1f} s = ", end="")
    print(f"{taken / (ours - begin):.1f} times ours", flush=True)


if __name__ == "__main__":
    asked = [tuple(int(n) for n in text.split("x")) for text in sys.argv[1:]] or SIZES
    find(read_case(*synthetic(200, 9), TODAY), BALANCED)  # so that nothing is loaded while timed
    for size in asked:
        bench(*size, limit=120.0)

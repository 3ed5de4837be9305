"""Waiting, freight steps, price steps, columns and bounds, each by itself."""

from __future__ import annotations

from datetime import date, timedelta
from fractions import Fraction

import numpy as np
import pytest
from sourcing.shops import TODAY
from sourcing.synthetic import synthetic

from kitting.sourcing.bound import Relaxation
from kitting.sourcing.case import read_case
from kitting.sourcing.columns import Source, Stakes, columns_of
from kitting.sourcing.demand import Need
from kitting.sourcing.formulate import formulate, ways_to_buy
from kitting.sourcing.heuristic import improve
from kitting.sourcing.lateness import UNKNOWN, days_late, serve, waits, weekdays
from kitting.sourcing.market import FAR, NEVER, Deal, Step, Way
from kitting.sourcing.policy import Pins
from kitting.sourcing.problem import Order, Rung, switches_on, value
from kitting.sourcing.programme import solve
from kitting.sourcing.sellers import Seller
from kitting.terms.freight import parse_steps

EURO = Seller("Town", "EUR", Fraction(1))
MONDAY = (date(2026, 3, 2) - date(1970, 1, 1)).days


def deal(*steps: tuple[int, int], pack: int = 1, usable: int = MONDAY, **more) -> Deal:
    """Make a deal from its from-packs and prices per pack."""
    seller = Seller("Town", "EUR", Fraction(1), **more)
    rows = tuple(Step(n, start, 1, price, pack) for n, (start, price) in enumerate(steps))
    return Deal(seller, "nut", "", pack, rows, usable, usable)


@pytest.mark.parametrize("span", range(15))
@pytest.mark.parametrize("start", range(7))
def test_weekdays_are_counted_as_a_calendar_does(start, span):
    """Monday to Friday, from any day of the week."""
    first = date(2026, 3, 2) + timedelta(days=start)
    days = sum((first + timedelta(days=d)).weekday() < 5 for d in range(span))
    assert weekdays(MONDAY + start + span) - weekdays(MONDAY + start) == days


def test_waiting_is_never_negative_and_unknown_is_a_year():
    """In time is no waiting; without a day of need there is nothing to wait for."""
    assert waits(MONDAY, MONDAY) == 0
    assert waits(MONDAY + 9, MONDAY) == 0
    assert waits(MONDAY, MONDAY + 7) == 5
    assert waits(MONDAY, NEVER) == UNKNOWN
    assert days_late((Need(1, "nut", 2, FAR, False),), [(NEVER, 2)], {1: 0}) == ()


def test_what_comes_first_serves_what_is_due_first():
    """Five arrive early, three late: the late ones go to the last need."""
    first, last = Need(1, "nut", 4, MONDAY, False), Need(2, "nut", 4, MONDAY + 1, False)
    served = serve((first, last), [(MONDAY + 9, 3), (MONDAY, 5)])
    assert served == [(first, 1, 4), (last, 1, 1), (last, 0, 3)]
    late = days_late((first, last), [(MONDAY + 9, 3), (MONDAY, 5)], {1: 0, 2: 1})
    assert late == ((1, 6),)


def test_a_quote_takes_a_higher_break_when_that_costs_less():
    """23 at 1.00 against 25 at 0.90; breaks that cross are priced as they are written."""
    found = deal((1, 100), (25, 90)).quote(23)
    assert (found.packs, found.cost) == (25, 2250)
    crossing = deal((1, 100), (5, 300), (10, 50))
    assert [crossing.quote(n).cost for n in (4, 5, 6, 10)] == [400, 500, 500, 500]
    assert crossing.quote(4).packs == 4


def test_incremental_breaks_price_each_pack_by_its_own_step():
    """Four at 1.00 and six at 0.80."""
    found = deal((1, 100), (5, 80), incremental=True)
    assert [found.quote(n).cost for n in (4, 5, 10)] == [400, 480, 880]


def test_freight_steps_are_read():
    """In any order; the first must start from nothing."""
    assert parse_steps("200=0; 0=9.50") == ((0, 950), (20_000, 0))
    for wrong in ("", "9.50", "0=9,50", "5=1"):
        with pytest.raises(ValueError, match=r"step|start|price"):
            parse_steps(wrong)


def test_the_charge_of_an_order_is_the_least_of_freight_and_filling_up():
    """A seller and an order of the problem agree, with steps that fall and steps that rise."""
    falling = Seller("Town", "EUR", Fraction(1), ((0, 900), (5000, 400), (9000, 0)), 1000)
    rungs = (Rung(1000, freight=900), Rung(5000, freight=400), Rung(9000))
    for goods in (0, 500, 1000, 4400, 4600, 5000, 8500, 8800, 9000, 20_000):
        freight, filling = falling.charge(goods)
        assert freight + filling == Order(0, rungs).charge(goods)
        assert goods + filling >= 1000
    rising = Seller("Town", "EUR", Fraction(1), ((0, 100), (1200, 600)))
    assert rising.charge(1199) == (100, 0)
    assert rising.charge(1200) == (600, 0)


def test_a_foreign_seller_s_money_is_rounded_half_up():
    """0.5 of a cent goes up."""
    isle = Seller("Isle", "GBP", Fraction("1.17"))
    assert isle.in_shop_money(50) == 59  # 58.5
    assert isle.in_shop_money(1000) == 1170


def columns(needs, *deals):
    """List the columns of one part bought from some deals, one seller each."""
    sources = [Source(Way(d, "nut"), 1 << 2 * n, n) for n, d in enumerate(deals)]
    size = len(deals)
    stages = {need.need: 0 for need in needs if not need.deferred}
    stakes = Stakes((0.0,) * size, (1.0,) * size, (False,) * size, stages)
    return [
        (c.cost, sorted(q for _, q in c.lines), c.late) for c in columns_of(needs, sources, stakes)
    ]


def test_a_part_has_a_column_for_each_source_and_each_split_that_beats_them():
    """23 pieces from packs of ten, from singles, and from two packs and three singles."""
    needs = (Need(1, "nut", 23, MONDAY, False),)
    found = columns(needs, deal((1, 300), pack=10), deal((1, 50)))
    assert found == [(750, [3, 20], ()), (900, [23], ()), (1150, [23], ())]


def test_no_column_is_split_where_that_saves_nothing():
    """The same price for a piece everywhere."""
    needs = (Need(1, "nut", 5, MONDAY, False),)
    assert len(columns(needs, deal((1, 50)), deal((1, 51)))) == 2


def test_a_fast_and_dear_source_serves_only_what_cannot_wait():
    """One piece is due now, nine later: three columns, from cheap and late to dear and in time."""
    needs = (Need(1, "nut", 1, MONDAY, False), Need(2, "nut", 9, MONDAY + 30, False))
    found = columns(needs, deal((1, 90)), deal((1, 10), usable=MONDAY + 7))
    assert found == [(100, [10], ((0, 5),)), (180, [1, 9], ()), (900, [10], ())]


@pytest.fixture(scope="module")
def problem():
    """Make a problem of 60 parts and 5 suppliers."""
    case = read_case(*synthetic(60, 5, 7), TODAY)
    ways = ways_to_buy(case.market, case.demand, Pins())
    return formulate(case.market, case.demand, ways, case.policy).problem


def test_bound_solver_and_heuristic_agree(problem):
    """Bound below optimum below heuristic, all near; values are what the solver says."""
    best = solve(problem, 60)
    quick = improve(problem)
    bound = Relaxation(problem).improve(quick.cost, 300)
    assert bound.cost <= best.cost + 1e-6 <= quick.cost + 2e-6
    assert quick.cost <= 1.005 * best.cost
    assert bound.cost >= 0.97 * best.cost
    assert value(problem, best.columns) == pytest.approx(best.bound, abs=1e-3)


def test_reduced_costs_never_exclude_the_best_answer(problem):
    """Each column of the best answer costs beyond the bound no more than the answer does."""
    best = solve(problem, 60)
    bound = Relaxation(problem).improve(best.cost, 200)
    assert (bound.reduced[best.columns] <= best.cost - bound.cost + 1e-6).all()
    on = switches_on(problem, best.columns)
    for order, beyond in zip(problem.orders, bound.beyond, strict=True):
        least = min(beyond.values()) if on[order.switch] else beyond[-1]
        assert least <= best.cost - bound.cost + 1e-6


def test_leaving_columns_out_keeps_the_rest_in_place(problem):
    """The best answer keeps its cost among half of the columns."""
    best = solve(problem, 60)
    keep = np.zeros(len(problem.cost), bool)
    keep[best.columns] = True
    keep[::2] = True
    fewer = problem.only(keep)
    places = np.cumsum(keep)[best.columns] - 1
    assert value(fewer, places) == pytest.approx(value(problem, best.columns))

"""What must hold of the proved choice for any shop."""

from __future__ import annotations

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from sourcing.shops import TODAY, days
from sourcing.synthetic import synthetic
from sourcing.tiny import an_offer, best_total, remade, tiny

from kitting.sourcing import bound, doors, heuristic, prove
from kitting.sourcing.case import read_case
from kitting.sourcing.proved import BALANCED, EARLIEST, LEAST_COST, Effort, find, simple_choice
from kitting.sourcing.worth import weigh

SLOWLY = settings(
    max_examples=20,
    deadline=None,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large],
)


def case_of(of):
    """Read the case of a tiny shop."""
    return read_case(of.shop, of.shortages, days(of.shop), TODAY)


@SLOWLY
@given(tiny())
def test_the_proved_total_is_the_least_of_all_ways(of):
    """Every way to cover every part is tried by brute force: one costs the same, none less."""
    best, covered = best_total(of)
    case = case_of(of)
    answer = find(case, BALANCED)
    assert set(case.demand) - set(answer.unmet) == covered
    assert answer.proved
    assert answer.worth.total == best


@settings(SLOWLY, max_examples=60)
@given(tiny(most_offers=5, deposits=(0, 90, 455, 1500)))
def test_the_proved_total_is_the_least_where_old_parts_have_deposits(of):
    """What is not expected back counts as the price does, in packs, breaks, sets and stand-ins."""
    case = case_of(of)
    answer = find(case, BALANCED)
    assert answer.proved
    assert answer.worth.total == best_total(of)[0]
    worth = answer.worth
    paid = worth.goods + worth.freight + worth.hazard + worth.filling
    assert worth.total == (
        paid + worth.deposits - worth.deposits_back + worth.waiting + worth.parcels
    )
    assert 0 <= worth.deposits_back <= worth.deposits


@SLOWLY
@given(tiny())
def test_branching_over_orders_finds_the_least_of_all_ways(of):
    """The same when nothing is small enough to be left to the solver at once."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(prove, "SMALL", 0)
        answer = find(case_of(of), BALANCED)
    assert answer.proved
    assert answer.worth.total == best_total(of)[0]


@SLOWLY
@given(tiny())
def test_needs_are_covered_exactly_or_reported(of):
    """Nothing is covered twice, nothing is left out in silence, and what is bought is enough."""
    compared = doors.compare(of.shop, of.shortages, days(of.shop), TODAY)
    for bought in map(compared.bought, compared.found):
        covered = bought.buy_needs.groupby("need")["quantity"].sum()
        told = {f.about for f in bought.findings if f.level in {"stop", "warn"}}
        for need, part, quantity in zip(
            of.shortages["need"], of.shortages["part"], of.shortages["quantity"], strict=True
        ):
            assert covered.get(need, 0) == (0 if part in told else quantity)
        assert (bought.buys["quantity"] >= bought.buys["needed"]).all()


@SLOWLY
@given(tiny())
def test_each_answer_is_best_in_its_aim(of):
    """None pays suppliers less, waits less, or totals less than the one that aims at it."""
    case = case_of(of)
    found = {aim: find(case, aim).worth for aim in (LEAST_COST, BALANCED, EARLIEST)}
    for worth in found.values():
        assert found[BALANCED].total <= worth.total
        assert found[LEAST_COST].money <= worth.money + sum(worth.days_late.values())
        late = sum(worth.days_late.values())
        assert sum(found[EARLIEST].days_late.values()) <= late


@SLOWLY
@given(tiny(), an_offer())
def test_one_more_offer_never_raises_the_total(of, offer):
    """Only where it covers what nobody sold before may more be spent."""
    before = find(case_of(of), BALANCED)
    after = find(case_of(remade(of, offer)), BALANCED)
    if before.unmet.keys() == after.unmet.keys():
        assert after.worth.total <= before.worth.total


@settings(max_examples=4, deadline=None)
@given(st.integers(2, 10_000))
def test_the_proved_total_is_never_above_the_simple_one(seed):
    """Shops of 40 parts and 6 suppliers; the bound is below, the heuristic above and near."""
    case = read_case(*synthetic(40, 6, seed), TODAY)
    answer = find(case, BALANCED)
    simple = weigh(simple_choice(case).takes, case.market, case.policy)
    assert answer.worth.total <= simple.total
    problem = answer.model.problem
    quick = heuristic.improve(problem)
    assert answer.worth.total <= quick.cost + 1e-6
    lower = bound.Relaxation(problem).improve(quick.cost, 60)
    assert lower.cost <= answer.worth.total + 1e-6
    assert answer.proved


def test_when_the_solver_finds_nothing_the_heuristic_answers_and_says_so(monkeypatch):
    """The gap is then not zero, and a note tells it."""
    monkeypatch.setattr(prove, "solve", lambda *_: None)
    case = read_case(*synthetic(30, 5), TODAY)
    answer = find(case, BALANCED, effort=Effort(nodes=3))
    assert not answer.proved
    assert answer.gap > 0
    assert answer.takes
    notes = [f.message for f in doors.bought(case, answer).findings]
    assert any("the best found so far" in note for note in notes)

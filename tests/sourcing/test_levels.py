"""What to keep of what is always used: from past use and lead times to a proposal."""

from __future__ import annotations

from collections import Counter
from dataclasses import fields
from datetime import timedelta
from fractions import Fraction
from itertools import product

import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st
from sourcing.shops import TODAY, days, frame, shop, short

from kitting import sourcing
from kitting.sourcing.joint import Shared, from_seller, together
from kitting.sourcing.known_needs import best_lots
from kitting.sourcing.lot_sizes import lots, with_breaks
from kitting.sourcing.sellers import Seller
from kitting.sourcing.service import demand_shares, passed
from kitting.tables import flow
from kitting.tables.outlook import LEAD_SPREAD
from kitting.tables.plan import Plan
from kitting.tables.sourcing import LEVELS

COUNT = 8  # finished builds, one a month


def past(use=4, builds=COUNT, part="ring"):
    """Return the sheets builds and used: ``builds`` of eight finished builds used the part."""
    start = pd.Timestamp(TODAY) - pd.Timedelta(days=30 * COUNT)
    done = [
        {
            "build": f"P{n}",
            "assembly": "engine",
            "start": start + pd.Timedelta(days=30 * n),
            "finished": start + pd.Timedelta(days=30 * n + 20),
        }
        for n in range(COUNT)
    ]
    used = [
        {"entry": n + 1, "build": f"P{n}", "stage": "close", "part": part, "quantity": use}
        for n in range(builds)
    ]
    return {"builds": done, "used": used}


def plan_of(offers, settings=None, have=0, wants=(), suppliers=("Town", "Far"), **sheets):
    """Return a plan in which only what levels look at is filled in."""
    rows = {"parts": [{"part": "ring", "name": "o-ring", "unit": "piece"}], **past(), **sheets}
    the_shop = shop([{"supplier": s} for s in suppliers], offers, settings, **rows)
    supply = [{"supply": 1, "part": "ring", "quantity": have}] if have else []
    empty = {f.name: pd.DataFrame() for f in fields(Plan)}
    return Plan(
        **{
            **empty,
            "shop": the_shop,
            "day": TODAY,
            "builds": (),
            "supply": frame(flow.SUPPLY, supply),
            "picks": frame(flow.PICKS, []),
            "shortages": short(*wants) if wants else flow.SHORTAGES.empty(),
            "offer_days": days(the_shop),
            "findings": (),
        }
    )


def propose(plan, late=0, **more):
    """Propose levels; an order comes ``late`` days after its stated days in one case of ten."""
    rows = []
    for offer, lead in zip(
        *(plan.shop["offers"][c].tolist() for c in ("offer", "lead_days")), strict=True
    ):
        rows.append({"offer": offer, "days": lead + 1, "chance": 0.9 if late else 1.0})
        if late:
            rows.append({"offer": offer, "days": lead + 1 + late, "chance": 0.1})
    found, told = sourcing.levels(plan, frame(LEAD_SPREAD, rows), **more)
    return LEVELS.check(found), told


def offer(supplier, price, lead_days=2, **more):
    return {"supplier": supplier, "part": "ring", "price": price, "lead_days": lead_days, **more}


def test_what_is_always_used_gets_a_level_and_a_quantity():
    """Use in a year from 8 builds in 34 weeks, whole packs, the level a whole build's use at least.

    Use: 4 x 8 rings in 172 working days are 48 in 260. The economic quantity is the root of
    2 x 5.00 x 48.4 / (0.25 x 0.10) = 139, in packs of 10 then 140.
    """
    (row,) = propose(plan_of([offer("Town", 100, pack=10)], have=5))[0].to_dict("records")
    assert row["use"] == 49
    assert (row["supplier"], row["packs"], row["quantity"], row["cost"]) == ("Town", 14, 140, 1400)
    assert row["level"] % 4 == 0
    assert row["level"] >= 4
    assert row["service"] > 0.999
    assert not row["low"] or row["have"] <= row["level"]


def test_a_longer_or_looser_lead_time_asks_for_more():
    """More days, or one order in ten that comes weeks late, never lower the level."""
    at = [
        propose(plan_of([offer("Town", 100, lead_days=lead)]), late)[0]["level"].iloc[0]
        for lead, late in ((2, 0), (20, 0), (20, 40))
    ]
    assert at == sorted(at)
    assert at[0] < at[2]


def test_shelf_life_and_price_breaks_bound_the_quantity():
    """No more than can be used in time; a break is taken where it pays."""
    parts = [{"part": "ring", "unit": "piece", "shelf_days": 182}]
    plain = [offer("Town", 10)]
    assert propose(plan_of(plain))[0]["quantity"].iloc[0] > 100
    assert propose(plan_of(plain, parts=parts))[0]["quantity"].iloc[0] == 24
    broken = [offer("Town", 1000), offer("Town", 700, from_packs=30)]
    assert propose(plan_of(broken))[0]["quantity"].iloc[0] == 30


def test_the_offer_that_costs_least_over_a_year_stands():
    """A dearer pack that comes at once loses to a cheap slow one when both keep the work going."""
    found, _ = propose(plan_of([offer("Town", 200, 0), offer("Far", 100, 20)]))
    assert found["supplier"].iloc[0] == "Far"
    found, told = propose(plan_of([]))
    assert (found["supplier"].iloc[0], found["level"].iloc[0]) == ("", -1)
    assert "no offer of it can be compared" in told[0].message


def test_what_is_seldom_used_is_left_out():
    """Six of eight builds are enough, five are not, and two builds tell nothing."""
    offers = [offer("Town", 100)]
    assert len(propose(plan_of(offers, **past(builds=6)))[0]) == 1
    found, told = propose(plan_of(offers, **past(builds=5)))
    assert found.empty
    assert "8 finished builds tell of no part" in told[0].message
    assert propose(plan_of(offers, **past(builds=2)), share=0.1)[0].empty


def test_settings_change_the_proposal_and_bad_ones_are_told():
    """Dearer holding means smaller lots; a share that cannot be read is told and 25 stands."""
    offers = [offer("Town", 100)]
    usual = propose(plan_of(offers))[0]["quantity"].iloc[0]
    dear = propose(plan_of(offers, {"holding_rate": "100"}))[0]["quantity"].iloc[0]
    assert dear == pytest.approx(usual / 2, abs=1)
    found, told = propose(plan_of(offers, {"holding_rate": "much"}))
    assert found["quantity"].iloc[0] == usual
    assert "holding_rate" in told[0].message


@pytest.mark.parametrize("settings", [{}, {"late_cost_per_day": "0"}, {"parcel_cost": "0"}])
@pytest.mark.parametrize("price", [0, 1, 10**8])
@pytest.mark.parametrize("incremental", ["", "Town"])
def test_extreme_prices_still_get_a_proposal(settings, price, incremental):
    """Nothing to pay, waiting or orders at no cost, breaks below the least order: all finite."""
    offers = [
        offer("Town", price, pack=10, least_packs=3),
        offer("Town", price // 2, pack=10, from_packs=2),
        offer("Town", price // 3, pack=10, from_packs=7),
    ]
    plan = plan_of(offers, {**settings, "incremental_breaks": incremental})
    (row,) = propose(plan)[0].to_dict("records")
    assert row["packs"] >= 3
    assert row["quantity"] == 10 * row["packs"]
    assert row["level"] >= 0


def test_known_shortages_are_ordered_together_or_apart():
    """Cheap to hold: one order; dear to hold: one for each week that needs it, in whole packs."""
    wants = short(("ring", 4, 1), ("ring", 4, 8), ("ring", 4, 60))
    monday = TODAY - timedelta(days=TODAY.weekday())
    assert best_lots(wants, TODAY, (500, 0.01), 10) == f"2 packs for {monday + timedelta(days=1)}"
    said = best_lots(wants, TODAY, (500, 10_000.0), 4).split("; ")
    assert [text.split(" for ")[0] for text in said] == ["1 pack"] * 3
    assert best_lots(flow.SHORTAGES.empty(), TODAY, (500, 1.0), 4) == ""


@given(
    st.lists(st.integers(0, 9), min_size=1, max_size=6),
    st.lists(st.integers(0, 30), min_size=6, max_size=6),
    st.integers(0, 5),
    st.lists(st.integers(0, 5), min_size=6, max_size=6),
)
def test_no_other_plan_costs_less(needs, fixed, holding, price):
    """Against every choice of periods in which to order, with prices that change."""
    count = len(needs)
    _, cost = lots(needs, fixed[:count], holding, price[:count])
    best = None
    for chosen in product((False, True), repeat=count):
        total, since = 0.0, None
        for period, need in enumerate(needs):
            if chosen[period]:
                since, paid = period, False
            if not need:
                continue
            if since is None:
                break
            if not paid:
                total, paid = total + fixed[since], True
            total += need * (price[since] + holding * (period - since))
        else:
            best = total if best is None else min(best, total)
    assert cost == pytest.approx(best)


@given(
    st.integers(1, 20),
    st.integers(1, 300),
    st.lists(st.integers(1, 60), min_size=0, max_size=3, unique=True),
    st.integers(1, 12),
    st.booleans(),
)
def test_no_other_quantity_costs_less(fixed, rate, starts, step, incremental):
    """Against every whole number of packs, each costed as an order would be."""
    breaks = [(float(step), 9.0)]
    breaks += [(float(s * step), 8.0 - n) for n, s in enumerate(sorted(starts)) if s > 1]
    found = with_breaks((fixed, 0.3, rate), breaks, step, incremental=incremental)

    def cost(quantity):
        paid = 0.0
        for place, (start, price) in enumerate(breaks):
            until = breaks[place + 1][0] if place + 1 < len(breaks) else quantity
            if incremental:
                first = 0.0 if place == 0 else start
                paid += price * max(0.0, min(quantity, max(until, first)) - first)
            elif quantity >= start:
                paid = price * quantity
        return rate / quantity * (paid + fixed) + 0.3 * paid / 2

    # A large price difference, paid once, makes more than two hundred packs the best at times.
    best = min(cost(n * step) for n in range(1, 2 * round(found.quantity / step) + 200))
    assert found.cost == pytest.approx(best)
    assert found.cost == pytest.approx(cost(found.quantity))


@given(st.dictionaries(st.integers(1, 9), st.integers(1, 9), min_size=1), st.integers(1, 20))
def test_what_a_build_leaves_below_the_level(sizes, quantity):
    """A build finds each height equally often, leaves each equally often again, and passes so."""
    total = sum(sizes.values())
    after, below = Counter(), Counter()
    for at in range(1, quantity + 1):
        for size, count in sizes.items():
            chance, left = count / total / quantity, at - size
            if left <= 0:
                below[-left] += chance
                left += quantity * -((left - 1) // quantity)
            after[left] += chance
    assert [after[at] for at in range(1, quantity + 1)] == pytest.approx([1 / quantity] * quantity)
    found = passed({size: count / total for size, count in sizes.items()}, quantity)
    often = sum(below.values())
    assert found == pytest.approx([below[n] / often for n in range(len(found))])
    assert sum(found) == pytest.approx(1.0)


def test_a_build_that_takes_many_raises_the_level():
    """Seven builds took one and one took twenty: it may pass the level by nineteen."""
    sheets = past(use=1)
    small = propose(plan_of([offer("Town", 100)], **sheets))[0].iloc[0]
    sheets["used"][3]["quantity"] = 20
    large = propose(plan_of([offer("Town", 100)], **sheets))[0].iloc[0]
    assert small["level"] < 5
    assert large["level"] >= 19
    assert min(small["service"], large["service"]) > 0.99


@given(st.floats(0.0, 3.0), st.dictionaries(st.integers(1, 5), st.integers(1, 9), min_size=1))
def test_demand_adds_up(rate, sizes):
    """Chances come to one, and the mean is jobs times the mean of a job."""
    total = sum(sizes.values())
    shares = demand_shares(rate, {s: n / total for s, n in sizes.items()}, {2: 0.5, 4: 0.5})
    assert sum(shares) == pytest.approx(1.0)
    mean = sum(d * share for d, share in enumerate(shares))
    assert mean == pytest.approx(3 * rate * sum(s * n for s, n in sizes.items()) / total, abs=1e-6)


@given(
    st.integers(1, 50),
    st.lists(st.tuples(st.integers(0, 99), st.integers(1, 99)), min_size=1, max_size=3),
    st.floats(0.1, 3.0),
)
def test_no_other_rhythm_costs_less(fixed, parts, longest):
    """Against every choice of turns up to 8, each at its own best cycle no longer than allowed."""
    found = together(fixed, [Shared(f, h) for f, h in parts], (0.0, longest))
    assert found.cycle <= longest
    for turns in product(range(1, 9), repeat=len(parts)):
        orders = fixed + sum(f / k for (f, _), k in zip(parts, turns, strict=True))
        held = sum(h * k for (_, h), k in zip(parts, turns, strict=True))
        cycle = min((2 * orders / held) ** 0.5, longest)
        assert found.cost <= (orders / cycle + held * cycle / 2) * (1 + 1e-9)


def two_parts(settings=None, price=100, pack=1, **more):
    """Return a plan in which rings and plugs of one supplier are on every build."""
    rings, plugs = past(), past(part="plug", use=1)
    for n, row in enumerate(plugs["used"], start=COUNT + 1):
        row["entry"] = n
    parts = [{"part": p, "name": p, "unit": "piece", **more} for p in ("ring", "plug")]
    offers = [offer("Town", price, pack=pack)]
    offers.append({**offer("Town", 3 * price, pack=pack), "part": "plug"})
    used = [*rings["used"], *plugs["used"]]
    return plan_of(offers, settings, parts=parts, builds=rings["builds"], used=used)


def test_parts_of_one_supplier_are_ordered_together():
    """The cycle is the root of 2 x 5.00 / (0.25 x goods of a year), shelf life at most."""
    rows = propose(two_parts())[0].set_index("part")
    goods = 100 * 4 * rows.loc["plug", "builds"] + 300 * rows.loc["plug", "builds"]
    goods *= rows.loc["ring", "use"] / (4 * rows.loc["ring", "builds"])
    cycle = (2 * rows["order_cost"] / (0.25 * goods)) ** 0.5
    assert rows["cycle"].tolist() == pytest.approx((260 * cycle).tolist(), rel=0.02)
    assert rows["turn"].tolist() == [1, 1]
    assert rows["turn_packs"].tolist() == pytest.approx((rows["use"] * cycle).tolist(), abs=2)
    short_lived = propose(two_parts(shelf_days=73))[0]
    assert short_lived["cycle"].tolist() == [52, 52]
    too_old = propose(two_parts(shelf_days=73, pack=1000))[0]
    assert too_old[["cycle", "turn", "turn_packs"]].to_numpy().tolist() == [[52, 1, 1]] * 2
    alone = propose(plan_of([offer("Town", 100)]))[0]
    assert alone["cycle"].tolist() == [0]


@given(
    st.lists(st.tuples(st.integers(1, 300), st.integers(0, 30)), max_size=3),
    st.integers(0, 200),
    st.integers(1, 10**4),
    st.integers(0, 20),
    st.integers(1, 8),
)
def test_no_other_cycle_costs_less_with_freight_by_goods_value(steps, least, goods, parcel, years):
    """Against cycles of 1, 2 ... working days, each at the freight that its goods ask for."""
    steps = tuple(sorted({0: 25, **dict(steps)}.items()))
    seller = Seller("Town", "GBP", Fraction(1), steps, least)
    parts = [Shared(0.0, 3.0), Shared(0.0, 5.0)]
    rhythm, freight = from_seller(seller, parcel, goods, parts, years)
    assert freight in {f for _, f in steps}
    assert 1 / 260 <= rhythm.cycle <= years
    for day in range(1, 260 * years + 1):
        cycle = day / 260
        if goods * cycle >= least:
            cost = (parcel + seller.freight_at(goods * cycle)) / cycle + 4 * cycle
            assert rhythm.cost <= cost * (1 + 1e-9) + 1e-9


@pytest.mark.parametrize("settings", [{}, {"late_cost_per_day": "0"}, {"parcel_cost": "0"}])
@pytest.mark.parametrize("price", [0, 1, 10**8])
def test_extreme_prices_still_get_a_rhythm(settings, price):
    """From a working day upwards, and one pack of each at least."""
    found = propose(two_parts(settings=settings, price=price))[0]
    assert (found["cycle"] >= 1).all()
    assert (found["turn_packs"] >= 1).all()

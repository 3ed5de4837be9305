"""The proved choice as a person meets it: three answers, pins, reasons, drops, questions."""

from __future__ import annotations

import pandas as pd
import pytest
from sourcing.shops import TODAY, days, shop, short

from kitting import sourcing
from kitting.tables import flow
from kitting.tables import sourcing as tables

FREE_OF_CHARGE = {"parcel_cost": "0", "late_cost_per_day": "0"}


def offer(supplier, part, price, **more):
    return {"supplier": supplier, "part": part, "price": price, **more}


def compare(the_shop, wants, **pins):
    """Compare and check every contract."""
    found = sourcing.compare(the_shop, wants, days(the_shop), TODAY, sourcing.Pins(**pins))
    tables.ANSWERS.check(found.answers)
    assert list(found.found) == found.answers["answer"].tolist()
    if not pins:
        best = found.answers.set_index("answer").at["balanced", "total"]
        assert tables.ANSWERS.check(found.by_hand())["total"].iloc[0] >= best
    for bought in map(found.bought, found.found):
        flow.BUYS.check(bought.buys)
        flow.BUY_NEEDS.check(bought.buy_needs)
        tables.ORDER_TERMS.check(bought.order_terms)
    return found


def totals(found):
    return found.answers.set_index("answer")


@pytest.fixture
def three_ways():
    """Town is dear and here tomorrow, Far is cheap and comes in two weeks."""
    offers = [
        offer("Town", "ring", 2000, lead_days=1),
        offer("Far", "ring", 500, lead_days=14),
        offer("Town", "seal", 900, lead_days=1),
        offer("Far", "seal", 800, lead_days=14),
    ]
    sellers = [{"supplier": "Town", "freight": 600}, {"supplier": "Far", "freight": 700}]
    return shop(sellers, offers, {"late_cost_per_day": "10.00", "parcel_cost": "3.00"})


def test_three_answers_side_by_side(three_ways):
    """The ring is due in 2 days, the seal in 20: each answer is the best in its own aim."""
    found = totals(compare(three_ways, short(("ring", 1, 2), ("seal", 1, 20))))
    least, balanced, earliest = (found.loc[n] for n in ("least cost", "balanced", "earliest"))
    assert (least["goods"], least["freight"], least["parcels"]) == (1300, 700, 1)
    assert least["days_late"] == 8  # weekdays from Wednesday 4 to Monday 16 March
    assert least["waiting"] == 8 * 1000
    assert (balanced["goods"], balanced["freight"]) == (2900, 600)
    assert (balanced["waiting"], balanced["handling"]) == (0, 300)
    assert balanced["total"] == 2900 + 600 + 300
    assert earliest["days_late"] == 0
    assert earliest["last"] == pd.Timestamp("2026-03-03")
    assert (found["gap"] == 0).all()


def test_every_term_is_printed(three_ways):
    """The total is the sum of the terms that stand beside it."""
    found = compare(three_ways, short(("ring", 1, 2), ("seal", 1, 20))).answers
    terms = ["goods", "freight", "hazard", "filling", "waiting", "handling"]
    assert (found[terms].sum(axis=1) == found["total"]).all()


def test_the_reason_names_the_runner_up_and_what_it_costs_or_delays(three_ways):
    """Far would save money and let the stage wait; the seal elsewhere is one more parcel."""
    buys = compare(three_ways, short(("ring", 1, 2), ("seal", 1, 20))).bought("balanced").buys
    why = dict(zip(buys["part"], buys["why"], strict=True))
    assert why["ring"] == "Far would save 8.00 EUR but make the work wait 8 days."
    assert why["seal"] == "Far would cost 6.00 EUR more."


def test_only_and_not_and_prefer_pin_the_choice(three_ways):
    """What is pinned is kept to, and what nobody allowed sells is told."""
    wants = short(("ring", 1, 2), ("seal", 1, 20))

    def sellers(**pins):
        return set(compare(three_ways, wants, **pins).bought("balanced").buys["supplier"])

    assert sellers() == {"Town"}
    assert sellers(only=frozenset({"Far"})) == {"Far"}
    assert sellers(supplier_not=frozenset({"Town"})) == {"Far"}
    assert sellers(prefer=("Far",)) == {"Far"}
    assert sellers(prefer=("Nobody", "Far")) == {"Far"}
    nothing = compare(three_ways, wants, only=frozenset({"Nobody"})).bought("balanced")
    assert len(nothing.buys) == 0
    assert [f.level for f in nothing.findings] == ["stop", "stop"]


def test_an_order_that_is_kept_is_paid_for_either_way(three_ways):
    """With Far's freight and parcel paid anyhow, the seal moves to it."""
    wants = short(("ring", 1, 2), ("seal", 1, 20))
    found = compare(three_ways, wants, keep=frozenset({"Far"}))
    buys = found.bought("balanced").buys
    assert dict(zip(buys["part"], buys["supplier"], strict=True)) == {"ring": "Town", "seal": "Far"}
    row = totals(found).loc["balanced"]
    assert (row["freight"], row["parcels"], row["handling"]) == (1300, 2, 600)
    empty = compare(three_ways, wants, keep=frozenset({"Far"}), supplier_not=frozenset({"Far"}))
    assert totals(empty).loc["balanced", "freight"] == 1300, "the kept order is sent all the same"


def test_free_freight_draws_an_order_together():
    """Two parts cost 0.40 more at Far, whose freight is then free."""
    sellers = [
        {"supplier": "Town", "freight": 500},
        {"supplier": "Far", "freight": 900, "free_freight_above": 3000},
    ]
    offers = [
        offer("Town", "ring", 1980), offer("Far", "ring", 2000),
        offer("Town", "seal", 1180), offer("Far", "seal", 1200),
    ]  # fmt: skip
    the_shop = shop(sellers, offers, FREE_OF_CHARGE)
    found = compare(the_shop, short(("ring", 1, 9), ("seal", 1, 9)))
    assert set(found.bought("balanced").buys["supplier"]) == {"Far"}
    assert totals(found).loc["balanced", "total"] == 3200


def test_adding_goods_is_proposed_where_that_lowers_the_freight():
    """29.00 of goods: 1.00 more saves 9.00; the sum stands in the terms and in a note."""
    sellers = [{"supplier": "Far", "freight": 900, "free_freight_above": 3000}]
    the_shop = shop(sellers, [offer("Far", "ring", 2900)], FREE_OF_CHARGE)
    bought = compare(the_shop, short(("ring", 1, 9))).bought("balanced")
    assert bought.order_terms[["goods", "freight", "filling"]].values.tolist() == [[2900, 0, 100]]
    assert [f.message for f in bought.findings] == [
        "adding 1.00 EUR of goods to the order to Far lowers its freight from 9.00 EUR to 0.00 EUR"
    ]


def test_a_least_order_that_nobody_can_reach_is_told():
    """The rest is still solved; what is missing counts in the total."""
    sellers = [{"supplier": "Far", "least_order": 99_900}, {"supplier": "Town"}]
    offers = [offer("Far", "ring", 2900), offer("Town", "seal", 100)]
    found = compare(shop(sellers, offers, FREE_OF_CHARGE), short(("ring", 1, 9), ("seal", 1, 9)))
    assert totals(found).loc["balanced", "filling"] == 97_000
    messages = [f.message for f in found.bought("balanced").findings]
    assert len(messages) == 1
    assert "970.00 EUR below its least of 999.00 EUR" in messages[0]


def test_a_split_over_two_suppliers_is_found():
    """23 pieces: two packs of ten and three singles beat three packs and 23 singles."""
    offers = [offer("Town", "nut", 50), offer("Far", "nut", 300, pack=10)]
    the_shop = shop([{"supplier": "Town"}, {"supplier": "Far"}], offers, FREE_OF_CHARGE)
    buys = compare(the_shop, short(("nut", 23, 9))).bought("balanced").buys
    assert buys[["supplier", "packs"]].values.tolist() == [["Far", 2], ["Town", 3]]
    assert buys["why"].str.contains("Shared with").all()


def test_one_set_covers_parts_of_several_stages_and_what_is_left_is_bought_alone():
    """A set for three parts costs less than two of them."""
    sets = [
        {"set": "kit", "part": part, "quantity": 1, "fits": "needed"}
        for part in ("gasket", "seal", "ring")
    ]
    offers = [
        offer("Town", "gasket", 800), offer("Town", "seal", 700), offer("Town", "ring", 900),
        offer("Far", "kit", 1400), offer("Far", "ring", 950),
    ]  # fmt: skip
    the_shop = shop([{"supplier": "Town"}, {"supplier": "Far"}], offers, FREE_OF_CHARGE, sets=sets)
    wants = short(("gasket", 1, 9), ("seal", 1, 9), ("ring", 2, 9))
    bought = compare(the_shop, wants).bought("balanced")
    assert bought.buys[["part", "supplier", "packs"]].values.tolist() == [
        ["kit", "Far", 1],
        ["ring", "Town", 1],
    ]
    assert "set covers gasket, ring and seal" in bought.buys["why"].iloc[0]
    assert bought.buy_needs["quantity"].sum() == 4


def test_a_purchase_that_two_parts_share_is_rounded_once():
    """A pack of ten serves 4 of the part and 6 of the part that it stands in for."""
    stands = [{"part": "old", "stand_in": "new", "kind": "supersedes", "take": 1, "give": 1}]
    the_shop = shop(
        [{"supplier": "Town"}],
        [offer("Town", "new", 700, pack=10), offer("Town", "old", 300, pack=6)],
        FREE_OF_CHARGE,
        stand_ins=stands,
    )
    buys = compare(the_shop, short(("new", 4, 9), ("old", 6, 9))).bought("balanced").buys
    assert buys[["part", "packs", "needed", "cost"]].values.tolist() == [["new", 1, 10, 700]]


def test_incremental_breaks_make_a_line_for_each_step():
    """The first four at 1.00, the next six at 0.80; the lines add up and cover the need."""
    offers = [offer("Town", "nut", 100), offer("Town", "nut", 80, from_packs=5)]
    settings = {**FREE_OF_CHARGE, "incremental_breaks": "Town"}
    the_shop = shop([{"supplier": "Town"}], offers, settings)
    for how in ("simple", "proved"):
        buys, needs, _ = sourcing.choose(
            the_shop, short(("nut", 10, 9)), days(the_shop), TODAY, how=how
        )
        rows = buys[["offer", "packs", "needed", "cost"]].values.tolist()
        assert rows == [[1, 4, 4, 400], [2, 6, 6, 480]]
        assert needs[["buy", "quantity"]].values.tolist() == [[1, 4], [2, 6]]


def test_freight_by_steps_and_a_setting_that_cannot_be_read():
    """9.50 below 50, 4.00 from there; a bad setting is told and the sheet's freight stands."""
    sellers = [{"supplier": "Town", "freight": 100}]
    offers = [offer("Town", "ring", 6000)]
    good = shop(sellers, offers, {"freight steps Town": "0=9.50; 50=4; 200=0"})
    assert totals(compare(good, short(("ring", 1, 9)))).loc["balanced", "freight"] == 400
    bad = compare(shop(sellers, offers, {"freight steps Town": "50=4"}), short(("ring", 1, 9)))
    assert totals(bad).loc["balanced", "freight"] == 100
    assert [f.message for f in bad.bought("balanced").findings] == [
        'setting "freight steps Town": the first step must start from 0'
    ]


def test_hazardous_parts_pay_the_charge_once_and_are_not_sent_by_air():
    """Two aerosols, one charge; from a seller who brings nothing hazardous none is bought."""
    sellers = [{"supplier": "Town", "hazard_charge": 250}, {"supplier": "Air"}]
    offers = [offer("Town", "spray", 900), offer("Town", "paint", 800), offer("Air", "spray", 100)]
    parts = [{"part": "spray", "hazard": "aerosol"}, {"part": "paint", "hazard": "flammable"}]
    settings = {**FREE_OF_CHARGE, "hazard_not_by": "Air"}
    found = compare(
        shop(sellers, offers, settings, parts=parts), short(("spray", 1, 9), ("paint", 1, 9))
    )
    assert totals(found).loc["balanced", ["goods", "hazard"]].tolist() == [1700, 250]
    notes = [f.message for f in found.bought("balanced").findings]
    assert notes == ["Air sends nothing hazardous; its offers for spray were not used"]


@pytest.mark.parametrize(
    ("own", "usual", "bought"),
    [("night", "", "Town"), ("", "night", "Town"), ("van", "night", "Air"), ("", "", "Air")],
)
def test_hazardous_parts_do_not_come_by_a_carrier_who_takes_none(own, usual, bought):
    """An offer's own carrier goes before the supplier's; who refuses is told; others may bring."""
    sellers = [{"supplier": "Town"}, {"supplier": "Air", "carrier": usual}]
    offers = [
        offer("Town", "spray", 900),
        {**offer("Air", "spray", 100), "carrier": own},
        {**offer("Air", "ring", 100), "carrier": own},
    ]
    carriers = [{"carrier": "night", "no_hazard": True}, {"carrier": "van"}]
    parts = [{"part": "spray", "hazard": "aerosol"}, {"part": "ring"}]
    the_shop = shop(sellers, offers, FREE_OF_CHARGE, parts=parts, carriers=carriers)
    found = compare(the_shop, short(("spray", 1, 9), ("ring", 1, 9))).bought("balanced")
    by_part = dict(zip(found.buys["part"], found.buys["supplier"], strict=True))
    assert by_part == {"spray": bought, "ring": "Air"}
    told = ["night takes nothing hazardous; offers of Air that it brings were not used for spray"]
    assert [f.message for f in found.findings] == (told if bought == "Town" else [])


def test_what_no_carrier_takes_says_so_where_nobody_else_offers_it():
    sellers = [{"supplier": "Air", "carrier": "night"}]
    parts = [{"part": "spray", "hazard": "aerosol"}]
    carriers = [{"carrier": "night", "no_hazard": True}]
    the_shop = shop(sellers, [offer("Air", "spray", 100)], parts=parts, carriers=carriers)
    found = compare(the_shop, short(("spray", 1, 9))).bought("balanced")
    assert found.buys.empty
    assert any("night takes nothing hazardous from Air" in f.message for f in found.findings)


def test_a_deferred_stage_waits_at_no_cost(three_ways):
    """Nothing is paid for speed there."""
    found = compare(three_ways, short(("ring", 1, 2, True)))
    row = totals(found).loc["balanced"]
    assert found.bought("balanced").buys["supplier"].item() == "Far"
    assert (row["days_late"], row["late"]) == (0, 1)


def test_one_stage_waits_once_for_all_its_parts():
    """Two late parts of a stage delay it by the later one, not by both."""
    offers = [offer("Far", "ring", 100, lead_days=9), offer("Far", "seal", 100, lead_days=8)]
    settings = {"late_cost_per_day": "10.00", "late_cost_per_day B1": "20.00", "parcel_cost": "0"}
    the_shop = shop([{"supplier": "Far"}], offers, settings)
    row = totals(compare(the_shop, short(("ring", 1, 2), ("seal", 1, 2)))).loc["balanced"]
    assert row["days_late"] == 5  # Wednesday 4 to Wednesday 11 March
    assert row["waiting"] == 5 * 2000


def test_drops_tell_what_each_supplier_is_worth(three_ways):
    """Without Town the ring is late; what nobody else sells is named and left out."""
    the_shop = three_ways.replaced(
        offers=pd.concat([three_ways["offers"], three_ways["offers"].tail(1).assign(
            offer=5, part="oil", supplier="Town", lead_days=1)], ignore_index=True)
    )  # fmt: skip
    wants = short(("ring", 1, 2), ("seal", 1, 20), ("oil", 1, 9))
    drops = sourcing.drops(the_shop, wants, days(the_shop), TODAY)
    tables.DROPS.check(drops)
    assert drops["supplier"].tolist() == ["Town"]
    assert drops["unmet"].item() == "oil"
    assert drops["money"].item() == (1300 + 700) - (2900 + 600)
    assert drops["days_late"].item() == 8
    assert drops["total"].item() == drops["money"].item() + 8 * 1000


def test_questions_are_written_for_what_nobody_offers():
    """Who offered it before is asked, and who sells other parts of its maker."""
    parts = [
        {"part": "0042", "name": "thrust ring", "maker": "Curlew", "unit": "piece"},
        {"part": "0043", "maker": "Curlew", "unit": "piece"},
    ]
    offers = [
        offer("Town", "0043", 100),
        offer("Far", "0042", 100, valid_to=pd.Timestamp("2026-01-31")),
    ]
    the_shop = shop([{"supplier": "Town"}, {"supplier": "Far"}], offers, parts=parts)
    wants = short(("0042", 2, 9), ("0043", 1, 9), ("odd", 1, 4))
    asked = sourcing.questions(the_shop, wants, days(the_shop), TODAY)
    tables.QUESTIONS.check(asked)
    rows = asked[["supplier", "part", "name", "quantity", "known"]].values.tolist()
    assert rows == [
        ["Far", "0042", "thrust ring", 2, "the price of Far has ended"],
        ["Town", "0042", "thrust ring", 2, "the price of Far has ended"],
        ["", "odd", "", 1, ""],
    ]
    assert asked["day"].iloc[0] == pd.Timestamp("2026-03-11")


def test_what_is_not_complete_is_asked_for_and_never_bought():
    """Blank price or days, and an ended price, are asked of that seller; a whole offer is taken."""
    offers = [
        offer("Town", "ring", pd.NA, supplier_part="T1"),
        offer("Town", "seal", 100, lead_days=pd.NA),
        offer("Town", "pin", 50),
        offer("Far", "ring", 900),
        offer("Far", "pin", pd.NA, lead_days=pd.NA),
        offer("Far", "nut", pd.NA, valid_to=pd.Timestamp("2026-01-31")),
        offer("Far", "cap", 10),
        offer("Far", "cap", pd.NA, pack=100),
    ]
    the_shop = shop([{"supplier": "Town"}, {"supplier": "Far"}], offers, FREE_OF_CHARGE)
    names = ("ring", "seal", "pin", "nut", "cap")
    found = compare(the_shop, short(*((name, 1, 9) for name in names)))
    best = found.bought("least cost")
    assert best.buys[["supplier", "part"]].values.tolist() == [
        ["Far", "cap"],
        ["Far", "ring"],
        ["Town", "pin"],
    ]
    asked = tables.QUESTIONS.check(found.questions())
    assert asked[["supplier", "part", "supplier_part", "ask"]].values.tolist() == [
        ["Town", "ring", "T1", "price"],
        ["Town", "seal", "", "delivery days"],
        ["Far", "pin", "", "price and delivery days"],
        ["Far", "nut", "", "price, pack and delivery days"],
    ]
    said = " ".join(f.message for f in best.findings)
    assert "no offer can be used for seal" in said
    assert "offers of Town for ring, seal have no price or no lead time yet" in said


def test_a_foreign_order_is_weighed_in_the_shop_s_money():
    """Terms of the order stay in its own currency, the answer is in the shop's."""
    sellers = [{"supplier": "Isle", "currency": "GBP", "freight": 1000}]
    the_shop = shop(sellers, [offer("Isle", "ring", 1000)], {**FREE_OF_CHARGE, "rate GBP": "1.17"})
    found = compare(the_shop, short(("ring", 1, 9)))
    row = totals(found).loc["balanced"]
    assert (row["goods"], row["freight"], row["currency"]) == (1170, 1170, "EUR")
    terms = found.bought("balanced").order_terms
    assert terms[["currency", "goods", "freight"]].values.tolist() == [["GBP", 1000, 1000]]


def test_nothing_short_makes_three_empty_answers():
    """All terms are nothing and everything is proved."""
    found = compare(shop([{"supplier": "Town"}], []), flow.SHORTAGES.empty())
    assert (found.answers["total"] == 0).all()
    assert found.answers["last"].isna().all()


def test_settings_that_cannot_be_read_are_told(three_ways):
    """A cost with a comma or below zero is not used; the default stands."""
    bad = shop(
        [{"supplier": "Town"}],
        [offer("Town", "ring", 100)],
        {"late_cost_per_day": "1,50", "parcel_cost": "-1"},
    )
    found = compare(bad, short(("ring", 1, 9))).bought("balanced").findings
    assert len(found) == 2
    assert all(f.level == "warn" for f in found)


def test_the_simple_and_the_proved_choice_keep_the_same_contract(three_ways):
    """Asked either way, the door gives buys, their needs and findings."""
    wants = short(("ring", 1, 2), ("seal", 1, 20))
    for how in ("simple", "proved"):
        buys, needs, _ = sourcing.choose(three_ways, wants, days(three_ways), TODAY, how=how)
        flow.BUYS.check(buys)
        flow.BUY_NEEDS.check(needs)
        assert needs["quantity"].sum() == 2

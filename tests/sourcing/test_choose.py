"""The simple choice: cheapest in time, else fastest; packs, breaks, sets, stand-ins, currencies."""

from __future__ import annotations

import subprocess
import sys
import time

import pandas as pd
import pytest
from sourcing.shops import TODAY, days, frame, shop, short

from kitting import sourcing
from kitting.tables import flow
from kitting.terms.words import Level

TOWN = {"supplier": "Town"}
FAR = {"supplier": "Far"}


def run(the_shop, shortages):
    """Choose, check both contracts, and return the answer."""
    buys, pairs, findings = sourcing.choose(the_shop, shortages, days(the_shop), TODAY)
    flow.BUYS.check(buys)
    flow.BUY_NEEDS.check(pairs)
    return buys, pairs, findings


def offer(supplier, part, price, **more):
    return {"supplier": supplier, "part": part, "price": price, **more}


def texts(findings):
    return [f"{f.level}: {f.message}" for f in findings]


def test_the_cheapest_offer_in_time_is_taken():
    """A cheaper offer that comes too late is passed over; the reason names the next best."""
    offers = [
        offer("Town", "ring", 500, lead_days=1),
        offer("Far", "ring", 100, lead_days=9),
        offer("Mid", "ring", 400, lead_days=3),
    ]
    buys, pairs, findings = run(
        shop([TOWN, FAR, {"supplier": "Mid"}], offers), short(("ring", 2, 3))
    )
    assert buys[["supplier", "packs", "cost", "in_time"]].values.tolist() == [["Mid", 2, 800, True]]
    assert buys["why"].item() == "Cheapest of 2 offers in time; next is Town at 10.00 EUR."
    assert pairs.values.tolist() == [[1, 1, 2]]
    assert findings == ()


def test_without_an_offer_in_time_the_fastest_is_taken():
    """The buy is marked late and says by how many days."""
    offers = [offer("Town", "ring", 500, lead_days=5), offer("Far", "ring", 100, lead_days=9)]
    buys, _, _ = run(shop([TOWN, FAR], offers), short(("ring", 1, 3)))
    assert buys["supplier"].item() == "Town"
    assert not buys["in_time"].item()
    assert buys["why"].item() == "Fastest of 2 offers, yet late by 2 days."


def test_what_can_wait_is_bought_apart_when_cheaper():
    """Only the need that is late anyway pays for speed; freight counts against a second order."""
    offers = [offer("Town", "ring", 500, lead_days=5), offer("Far", "ring", 100, lead_days=9)]
    wants = short(("ring", 1, 3), ("ring", 10, 30))
    buys, pairs, _ = run(shop([TOWN, FAR], offers), wants)
    assert buys[["supplier", "packs"]].values.tolist() == [["Far", 10], ["Town", 1]]
    assert pairs.values.tolist() == [[1, 2, 10], [2, 1, 1]]
    dear = shop([TOWN, {**FAR, "freight": 9000}], offers)
    assert run(dear, wants)[0][["supplier", "packs"]].values.tolist() == [["Town", 11]]


def test_needs_of_several_builds_share_packs():
    """Packs are rounded once for all needs of a part, deferred ones too."""
    offers = [offer("Town", "screw", 420, pack=10)]
    buys, pairs, _ = run(shop([TOWN], offers), short(("screw", 4, 5), ("screw", 5, 9, True)))
    assert buys[["packs", "quantity", "needed", "cost"]].values.tolist() == [[1, 10, 9, 420]]
    assert pairs["quantity"].sum() == 9
    assert buys["day"].item() == pd.Timestamp("2026-03-07")


@pytest.mark.parametrize(
    ("need", "packs", "cost"),
    [
        (20, 20, 2000),  # 25 at 90 would be 2250
        (23, 25, 2250),  # 23 at 100 is 2300: buying two more is cheaper
        (26, 26, 2340),  # above the break
        (2, 3, 300),  # the least is three packs
    ],
)
def test_a_price_break_is_reached_when_that_is_cheaper(need, packs, cost):
    """All packs get the price of the break that is reached."""
    offers = [
        offer("Town", "nut", 100, least_packs=3),
        offer("Town", "nut", 90, from_packs=25),
    ]
    buys, _, _ = run(shop([TOWN], offers), short(("nut", need, 9)))
    assert buys[["packs", "cost"]].values.tolist() == [[packs, cost]]
    assert buys["offer"].item() == (2 if packs >= 25 else 1)
    if need == 23:
        assert "25 packs at the better price cost less than 23" in buys["why"].item()


def test_a_price_per_hundred_is_rounded_once():
    """7 packs of 10 at 3.15 for 100 are 2.205: 2.21 on the line."""
    offers = [offer("Town", "washer", 315, pack=10, per=100)]
    buys, _, _ = run(shop([TOWN], offers), short(("washer", 61, 9)))
    assert buys["cost"].item() == 221


def test_an_expired_offer_is_not_used_and_told():
    """The last day of a price still counts."""
    ended = offer("Town", "ring", 100, valid_to=pd.Timestamp("2026-03-01"))
    last = offer("Far", "ring", 200, valid_to=pd.Timestamp("2026-03-02"))
    buys, _, findings = run(shop([TOWN, FAR], [ended, last]), short(("ring", 1, 9)))
    assert buys["supplier"].item() == "Far"
    assert texts(findings) == [
        "note: prices of Town for ring have ended and were not used; ask for new ones"
    ]


def test_a_price_that_ended_is_not_told_where_a_newer_one_stands():
    """The supplier's new price is used; for its other part a new one is asked for."""
    ended = [offer("Town", p, 100, valid_to=pd.Timestamp("2026-03-01")) for p in ("ring", "seal")]
    others = [offer("Town", "ring", 120), offer("Far", "seal", 200)]
    wants = short(("ring", 1, 9), ("seal", 1, 9))
    buys, _, findings = run(shop([TOWN, FAR], [*ended, *others]), wants)
    assert buys["price"].tolist() == [200, 120]
    assert texts(findings) == [
        "note: prices of Town for seal have ended and were not used; ask for new ones"
    ]


def test_a_part_that_nobody_offers_is_a_stop_that_says_whom_to_ask():
    """The supplier of another part of the same maker is proposed, and the rest is still bought."""
    parts = [
        {"part": "0042", "name": "thrust ring", "maker": "Curlew", "unit": "piece"},
        {"part": "0043", "maker": "Curlew", "unit": "piece"},
    ]
    the_shop = shop([TOWN], [offer("Town", "0043", 100)], parts=parts)
    buys, _, findings = run(the_shop, short(("0042", 2, 9), ("0043", 1, 9)))
    assert buys["part"].tolist() == ["0043"]
    assert texts(findings) == [
        "stop: nobody offers 0042 (thrust ring); 2 pieces short for B1 close by 2026-03-11; "
        "ask Town"
    ]
    assert findings[0].about == "0042"


def test_a_deferred_part_that_nobody_offers_only_warns():
    """What never holds the bench is no stop."""
    _, _, findings = run(shop([TOWN], []), short(("ring", 2, 9, True)))
    assert [f.level for f in findings] == [Level.WARN]


def test_a_part_that_the_customer_brings_is_asked_for_not_bought():
    """There may be offers; the customer's part is not ordered all the same."""
    parts = [{"part": "pump", "customer_supplied": True, "unit": "piece"}]
    the_shop = shop([TOWN], [offer("Town", "pump", 100)], parts=parts)
    buys, _, findings = run(the_shop, short(("pump", 1, 9)))
    assert len(buys) == 0
    assert texts(findings) == [
        "warn: the customer of B1 brings 1 piece of pump; ask for it by 2026-03-11"
    ]


def test_a_least_order_is_told_with_the_sum_missing():
    """Without another seller the small order stands, and the person is told."""
    least = {"supplier": "Town", "least_order": 5000}
    buys, _, findings = run(shop([least], [offer("Town", "ring", 1200)]), short(("ring", 1, 9)))
    assert len(buys) == 1
    assert findings[0].level is Level.WARN
    assert "12.00 EUR, 38.00 EUR below its least of 50.00 EUR" in findings[0].message


def test_a_small_order_moves_elsewhere_when_that_costs_less_than_filling_up():
    """38.00 would be missing at Town; Far asks only 5.00 more."""
    least = {"supplier": "Town", "least_order": 5000}
    offers = [offer("Town", "ring", 1200), offer("Far", "ring", 1700)]
    buys, _, findings = run(shop([least, FAR], offers), short(("ring", 1, 9)))
    assert buys["supplier"].item() == "Far"
    assert findings == ()
    late = [offer("Town", "ring", 1200), offer("Far", "ring", 1700, lead_days=20)]
    assert run(shop([least, FAR], late), short(("ring", 1, 9)))[0]["supplier"].item() == "Town"


def test_a_stand_in_is_bought_when_cheaper_or_alone():
    """Two of the stand-in serve for one of the part; the buy is of the stand-in."""
    stands = [{"part": "old", "stand_in": "new", "kind": "supersedes", "take": 2, "give": 1}]
    offers = [offer("Town", "old", 500), offer("Town", "new", 200)]
    buys, pairs, _ = run(shop([TOWN], offers, stand_ins=stands), short(("old", 3, 9)))
    assert buys[["part", "packs", "cost"]].values.tolist() == [["new", 6, 1200]]
    assert pairs.values.tolist() == [[1, 1, 3]]
    assert "stands in for old" in buys["why"].item()
    back = run(shop([TOWN], offers[:1], stand_ins=stands), short(("new", 2, 9)))
    assert len(back[0]) == 0, "a superseded part does not serve for its successor"


def test_an_alternate_serves_both_ways_and_a_supersession_is_followed():
    """From a to b to c by supersession; c and d are alternates, which do not chain from a."""
    stands = [
        {"part": "a", "stand_in": "b", "kind": "supersedes", "take": 1, "give": 1},
        {"part": "b", "stand_in": "c", "kind": "supersedes", "take": 3, "give": 2},
        {"part": "c", "stand_in": "d", "kind": "alternate", "take": 1, "give": 1},
    ]
    only_c = shop([TOWN], [offer("Town", "c", 100)], stand_ins=stands)
    assert run(only_c, short(("a", 2, 9)))[0]["packs"].item() == 3
    assert run(only_c, short(("d", 2, 9)))[0]["packs"].item() == 2
    only_d = shop([TOWN], [offer("Town", "d", 100)], stand_ins=stands)
    assert len(run(only_d, short(("a", 2, 9)))[0]) == 0


SET = [
    {"set": "kit", "part": "gasket", "quantity": 1, "fits": "needed"},
    {"set": "kit", "part": "seal", "quantity": 2, "fits": "needed"},
    {"set": "kit", "part": "old ring", "quantity": 1, "fits": "do not fit"},
]


def test_a_set_is_bought_when_it_costs_less_than_its_parts():
    """One set covers a gasket and two seals; the third seal is bought alone."""
    offers = [offer("Town", "gasket", 800), offer("Town", "seal", 300), offer("Town", "kit", 1200)]
    wants = short(("gasket", 1, 9), ("seal", 3, 9))
    buys, pairs, _ = run(shop([TOWN], offers, sets=SET), wants)
    assert buys[["part", "packs", "needed"]].values.tolist() == [["kit", 1, 1], ["seal", 1, 1]]
    assert pairs.values.tolist() == [[1, 1, 1], [1, 2, 2], [2, 2, 1]]
    assert buys["why"].iloc[0] == "The set covers gasket and seal for 12.00 EUR, less than alone."
    dear = [*offers[:2], offer("Town", "kit", 1500)]
    assert "kit" not in run(shop([TOWN], dear, sets=SET), wants)[0]["part"].tolist()


def test_a_set_covers_parts_that_are_not_sold_alone():
    """What must not be fitted covers nothing."""
    the_shop = shop([TOWN], [offer("Town", "kit", 1500)], sets=SET)
    buys, _, findings = run(the_shop, short(("seal", 3, 9), ("old ring", 1, 9)))
    assert buys[["part", "packs"]].values.tolist() == [["kit", 2]]
    assert [f.about for f in findings] == ["old ring"]


def test_a_late_set_is_not_bought_for_a_part_that_comes_in_time_alone():
    """Cheap but late does not beat dear and in time."""
    offers = [
        offer("Town", "gasket", 800, lead_days=2),
        offer("Town", "seal", 300, lead_days=2),
        offer("Town", "kit", 100, lead_days=20),
    ]
    buys, _, _ = run(shop([TOWN], offers, sets=SET), short(("gasket", 1, 9), ("seal", 1, 9)))
    assert buys["in_time"].all()
    assert "kit" not in buys["part"].tolist()


def test_a_set_inside_a_set_counts_and_a_circle_is_left():
    """The outer set brings two inner sets; the outer set inside the inner one is passed over."""
    sets = [
        {"set": "outer", "part": "kit", "quantity": 2, "fits": "needed"},
        {"set": "kit", "part": "seal", "quantity": 2, "fits": "needed"},
        {"set": "kit", "part": "outer", "quantity": 1, "fits": "needed"},
    ]
    buys, _, _ = run(shop([TOWN], [offer("Town", "outer", 900)], sets=sets), short(("seal", 4, 9)))
    assert buys[["part", "packs"]].values.tolist() == [["outer", 1]]


def test_currencies_are_compared_at_the_rate_of_the_shop():
    """10.00 GBP at 1.17 is 11.70 EUR, less than 11.80 EUR; the buy keeps its own currency."""
    sellers = [TOWN, {"supplier": "Isle", "currency": "GBP"}]
    offers = [offer("Town", "ring", 1180), offer("Isle", "ring", 1000)]
    buys, _, findings = run(shop(sellers, offers, {"rate GBP": "1.17"}), short(("ring", 1, 9)))
    assert buys[["supplier", "cost", "currency"]].values.tolist() == [["Isle", 1000, "GBP"]]
    assert findings == ()
    dear = run(shop(sellers, offers, {"rate GBP": "1.19"}), short(("ring", 1, 9)))
    assert dear[0]["supplier"].item() == "Town"


@pytest.mark.parametrize("rate", [{}, {"rate GBP": "1,17"}, {"rate GBP": "0"}])
def test_an_offer_without_a_rate_is_not_compared_and_told(rate):
    """It is chosen only for want of another."""
    sellers = [TOWN, {"supplier": "Isle", "currency": "GBP"}]
    offers = [offer("Town", "ring", 9900), offer("Isle", "ring", 10), offer("Isle", "seal", 20)]
    buys, _, findings = run(shop(sellers, offers, rate), short(("ring", 1, 9), ("seal", 1, 9)))
    assert buys[["supplier", "part"]].values.tolist() == [["Isle", "seal"], ["Town", "ring"]]
    assert texts(findings) == [
        "warn: no rate is known for GBP, so offers in GBP cannot be compared; add the setting "
        '"rate GBP": what 1 GBP is in EUR; one of them is chosen for want of another'
    ]


def test_an_offer_without_a_day_is_never_in_time():
    """It may still be the only one; its days stay blank."""
    the_shop = shop([TOWN], [offer("Town", "ring", 100)])
    buys, _, _ = sourcing.choose(the_shop, short(("ring", 1, 9)), flow.OFFER_DAYS.empty(), TODAY)
    assert buys["usable"].isna().all()
    assert not buys["in_time"].item()


def test_a_need_without_a_day_is_served_by_the_cheapest():
    """There is nothing to be late for."""
    wants = short(("ring", 1, 9))
    wants["day"] = pd.Series([pd.NaT], dtype="datetime64[s]")
    offers = [offer("Town", "ring", 500, lead_days=1), offer("Far", "ring", 100, lead_days=90)]
    buys, _, _ = run(shop([TOWN, FAR], offers), wants)
    assert buys["supplier"].item() == "Far"
    assert buys["in_time"].item()
    assert buys["day"].isna().all()


def test_a_pack_of_nothing_is_left_out_and_told():
    """The rest is still chosen."""
    offers = [offer("Town", "ring", 100, pack=0, per=1), offer("Far", "ring", 200)]
    buys, _, findings = run(shop([TOWN, FAR], offers), short(("ring", 1, 9)))
    assert buys["supplier"].item() == "Far"
    assert [f.level for f in findings] == [Level.WARN]


def test_nothing_short_buys_nothing():
    """Both frames are empty and keep their contracts."""
    buys, pairs, findings = run(shop([TOWN], []), flow.SHORTAGES.empty())
    assert (len(buys), len(pairs), findings) == (0, 0, ())


def test_frames_that_were_given_are_unchanged():
    """Choosing alters no frame of the shop."""
    the_shop = shop([TOWN], [offer("Town", "kit", 1500)], sets=SET)
    before = {name: table.copy() for name, table in the_shop.tables.items()}
    wants, when = short(("seal", 3, 9)), days(the_shop)
    kept = wants.copy(), when.copy()
    sourcing.choose(the_shop, wants, when, TODAY)
    for name, table in the_shop.tables.items():
        pd.testing.assert_frame_equal(table, before[name])
    pd.testing.assert_frame_equal(wants, kept[0])
    pd.testing.assert_frame_equal(when, kept[1])


def test_a_thousand_shortages_are_chosen_fast():
    """1,000 shortages against 5 offers each take well under a second."""
    sellers = [{"supplier": f"S{s}", "least_order": 100} for s in range(5)]
    offers = [
        {"supplier": f"S{s}", "part": f"P{p}", "price": 100 + (p * 7 + s * 13) % 50, "lead_days": s}
        for p in range(1000)
        for s in range(5)
    ]
    the_shop = shop(sellers, offers)
    wants, when = short(*((f"P{p}", 1 + p % 7, p % 9) for p in range(1000))), days(the_shop)
    begin = time.process_time()
    buys, _, _ = sourcing.choose(the_shop, wants, when, TODAY)
    assert time.process_time() - begin < 8
    assert len(buys) == 1000


def test_the_simple_choice_loads_no_solver():
    """Importing the room and its door leaves scipy alone."""
    code = "import sys; import kitting.sourcing; sys.exit('scipy' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0


def test_rows_of_no_quantity_are_not_bought():
    """A shortage of nothing asks for nothing."""
    rows = [{"need": 1, "part": "ring", "quantity": 0}]
    buys, _, _ = run(shop([TOWN], [offer("Town", "ring", 1)]), frame(flow.SHORTAGES, rows))
    assert len(buys) == 0

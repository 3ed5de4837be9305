"""Kits: what goes in, what comes out, and whose it is."""

from __future__ import annotations

from datetime import date

import pandas as pd
import pytest

from kitting import records
from kitting.errors import InputError, UnknownName
from kitting.records import Arrival, Count
from kitting.records.carrying import Carry, away, carry
from kitting.records.completing import Back, complete, fit, put_back
from kitting.records.picking import Pick, pick, stage_of
from kitting.records.places import CUSTOMER, SCRAP, Kit, kit_of, outwork_place, site_place

DAY, NEXT = date(2026, 3, 9), date(2026, 3, 10)
KIT, OTHER = Kit("E-1", "engine", "bottom"), Kit("E-2", "engine", "bottom")


@pytest.fixture
def bench(shop, sheets, make):
    """Return the small shop with two customers' builds and a set of two parts."""
    builds = sheets["builds"].assign(customer=["ann", "bob"])
    sets = make(
        "sets",
        {"set": "SET", "part": "0012", "quantity": 2, "fits": "needed"},
        {"set": "SET", "part": "1E5", "quantity": 1, "fits": "left over"},
    )
    parts = make("parts", {"part": "SET", "name": "seal set", "unit": "piece"})
    both = pd.concat([sheets["parts"], parts], ignore_index=True)
    records.apply(shop, {"builds": builds, "sets": sets, "parts": both}, DAY)
    return shop


@pytest.fixture
def kitted():
    """Return what lies in kits or was fitted: (build, part, owner, fitted) to quantity."""

    def read(opened, day=None):
        frame = records.snapshot(opened, day).check()["kitted"]
        return frame.groupby(["build", "part", "owner", "fitted"])["quantity"].sum().to_dict()

    return read


@pytest.mark.parametrize(
    "names", [("E-1", "engine", "bottom"), ("a/b", "50 % / x", "/"), ("", "", "")]
)
def test_a_kit_place_tells_its_kit(names):
    """Whatever the names hold, the place gives them back."""
    for fitted in (False, True):
        kit = Kit(*names, fitted)
        assert kit_of(kit.place) == kit
    assert kit_of("shelf 3") is None


def test_what_is_held_goes_first_then_what_spoils_first(bench, kitted, shelf):
    """Held for the build, then the customer's, then free; the soonest to spoil among each."""
    records.receive(bench, Arrival("K0001", 1, "B1", DAY, line=2))
    for place, owner, until in (("C1", "ann", None), ("C2", "bob", None), ("D1", "", NEXT)):
        records.count(bench, Count("1E5", place, 1, DAY, owner=owner, use_by=until))
    records.count(bench, Count("1E5", "D2", 5, DAY))
    (done,) = pick(bench, Pick(KIT, "1E5", 4, DAY, by="jo", checked="mk"))
    assert [m.from_place for m in done.moves] == ["B1", "C1", "D1", "D2"]
    assert {(m.by, m.checked, m.build) for m in done.moves} == {("jo", "mk", "E-1")}
    assert sum(n for (b, p, *_), n in kitted(bench).items() if (b, p) == ("E-1", "1E5")) == 4
    assert shelf(bench)[("1E5", "", "C2", "")] == 1


def test_what_is_past_its_day_stays_where_it_is(bench):
    """A lot is good on its last day, and not the day after; the same once it was opened."""
    records.count(bench, Count("1E5", "D1", 1, DAY, use_by=DAY))
    with pytest.raises(InputError, match="1 past its last day at D1"):
        pick(bench, Pick(KIT, "1E5", 1, NEXT))
    assert pick(bench, Pick(KIT, "1E5", 1, DAY))


@pytest.mark.parametrize(
    ("what", "said"),
    [
        (Pick(KIT, "0012", 4, DAY), "3 there that it may have; there are 3 at A1"),
        (Pick(KIT, "0012", 1, DAY, place="B9"), "0 there that it may have; there are 3 at A1"),
        (Pick(KIT, "0012", 0, DAY), "give a quantity above zero"),
        (Pick(OTHER, "1E5", 1, DAY), "there is none anywhere"),
        (Pick(KIT, "0012", 1, DAY, from_build="E-2"), "say why"),
        (Pick(KIT, "0012", 1, DAY, from_build="E-1", reason="x"), "is the build itself"),
        (Pick(KIT, "0012", 1, DAY, from_build="E-2", reason="x"), "0 there"),
    ],
)
def test_picking_refuses_what_is_not_there(bench, shelf, what, said):
    """Nothing moves, and the message says where there is more."""
    before = shelf(bench)
    with pytest.raises(InputError, match=said):
        pick(bench, what)
    assert shelf(bench) == before


def test_nothing_is_picked_by_halves(bench, shelf):
    """Of several picks all are written or none."""
    with pytest.raises(InputError):
        pick(bench, Pick(KIT, "0012", 2, DAY), Pick(KIT, "0012", 2, DAY))
    assert shelf(bench)[("0012", "", "A1", "")] == 3


def test_stages_are_found_by_name(bench, sheets, make):
    """By the build's own assembly first; unknown and finished builds are told."""
    more = make(
        "stages",
        {"assembly": "gearbox", "stage": "bottom"},
        {"assembly": "gearbox", "stage": "top"},
        {"assembly": "x", "stage": "top"},
    )
    both = pd.concat([sheets["stages"], more], ignore_index=True)
    records.apply(bench, {"stages": both}, DAY)
    with bench.reading() as hand:
        assert stage_of(hand, "E-1", "bottom") == KIT
        assert stage_of(hand, "E-1", "gearbox/top").assembly == "gearbox"
        with pytest.raises(InputError, match="gearbox/top, x/top"):
            stage_of(hand, "E-1", "top")
        with pytest.raises(UnknownName, match="nearest: bottom"):
            stage_of(hand, "E-1", "botom")
        with pytest.raises(UnknownName, match="no build"):
            stage_of(hand, "E-9", "bottom")


def test_taking_from_another_kit_is_told(bench, kitted):
    """What goes over is in the other kit, and the shop says so with the reason."""
    pick(bench, Pick(KIT, "0012", 3, DAY))
    pick(bench, Pick(OTHER, "0012", 2, NEXT, from_build="E-1", by="jo", reason="sails first"))
    assert kitted(bench) == {("E-1", "0012", "", False): 1, ("E-2", "0012", "", False): 2}
    assert kitted(bench, DAY) == {("E-1", "0012", "", False): 3}
    row = records.snapshot(bench)["kit_moves"].iloc[-1]
    assert row[["what", "build", "from_build", "by", "reason"]].tolist() == [
        *("taken from another kit", "E-2", "E-1", "jo", "sails first")
    ]


def test_a_customers_part_never_serves_another(bench):
    """Not from a bin, not out of a kit; its owner gets it back, and only its owner's goes out."""
    came = Carry("1E5", 2, CUSTOMER, "C1", DAY, held_for="E-1")
    assert [m.owner for m in carry(bench, came)] == ["ann"]
    carry(bench, Carry("1E5", 1, CUSTOMER, "C2", DAY, owner="ann"))
    with pytest.raises(InputError, match="2 held for E-1 of ann's at C1, 1 of ann's at C2"):
        pick(bench, Pick(OTHER, "1E5", 1, DAY))
    pick(bench, Pick(KIT, "1E5", 3, DAY))
    with pytest.raises(InputError, match="0 there that it may have"):
        pick(bench, Pick(OTHER, "1E5", 1, DAY, from_build="E-1", reason="x"))
    put_back(bench, Back("E-1", "1E5", 1, "C9", DAY))
    stock = records.snapshot(bench)["stock"].set_index("place")
    assert stock.loc["C9", ["owner", "held_for"]].tolist() == ["ann", ""]
    put_back(bench, Back("E-1", "1E5", 2, CUSTOMER, DAY, reason="not needed"))
    with pytest.raises(InputError, match="0 there that a customer owns"):
        carry(bench, Carry("0012", 1, "A1", CUSTOMER, DAY))
    with pytest.raises(InputError, match="say whose"):
        carry(bench, Carry("0012", 1, CUSTOMER, "A1", DAY))


def test_left_overs_of_what_was_held_are_free_again(bench, shelf):
    """What was ordered for a build and not needed may serve any other."""
    records.receive(bench, Arrival("K0001", 4, "B1", DAY, line=2))
    pick(bench, Pick(KIT, "1E5", 4, DAY))
    put_back(bench, Back("E-1", "1E5", 1, "B1", DAY, by="jo"))
    put_back(bench, Back("E-1", "1E5", 1, SCRAP, DAY, reason="bent"))
    assert shelf(bench)[("1E5", "", "B1", "")] == 1
    for back, said in (
        (Back("E-1", "1E5", 3, "B1", DAY), "2 there; give what is left over"),
        (Back("E-1", "1E5", 1, SCRAP, DAY), "say why"),
        (Back("E-1", "1E5", 1, "kit: x", DAY, reason="x"), "name of a bin|cannot come back"),
    ):
        with pytest.raises(InputError, match=said):
            put_back(bench, back)


def test_what_is_left_over_of_a_set_comes_out_of_it(bench, shelf):
    """As many as the sets in the kits hold, and no more."""
    records.count(bench, Count("SET", "S1", 2, DAY))
    pick(bench, Pick(KIT, "SET", 2, DAY))
    put_back(bench, Back("E-1", "1E5", 1, "B7", DAY))
    assert shelf(bench)[("1E5", "", "B7", "")] == 1
    with pytest.raises(InputError, match="1 there"):
        put_back(bench, Back("E-1", "1E5", 2, "B7", DAY))
    (row,) = records.snapshot(bench)["kit_moves"].tail(1).to_dict("records")
    assert (row["what"], row["build"], row["quantity"]) == ("out of a set", "E-1", 1)


def test_a_complete_kit_keeps_what_was_short(bench):
    """What was short then stays; its late pick is no extra, what goes beyond is."""
    short = {"joint": "", "role": "", "part": "0012", "quantity": 1, "unit": "", "why": "short"}
    with pytest.raises(InputError, match="who picked and who checked"):
        complete(bench, KIT, DAY, ("jo", " "), [short])
    pick(bench, Pick(KIT, "0012", 1, DAY))
    assert complete(bench, KIT, DAY, ("jo", "mk"), [short]) == 1
    held = records.snapshot(bench)
    assert held["kits"][["build", "stage", "by", "checked"]].to_numpy().tolist() == [
        ["E-1", "bottom", "jo", "mk"]
    ]
    assert held["kit_shorts"]["quantity"].tolist() == [1]
    assert [p.extra for p in pick(bench, Pick(KIT, "0012", 1, DAY))] == [0]
    assert [p.extra for p in pick(bench, Pick(KIT, "0012", 1, DAY))] == [1]
    assert len(records.snapshot(bench, date(2026, 3, 8))["kits"]) == 0


def test_what_is_fitted_stays_with_its_build(bench, kitted):
    """The kits are empty then, what was fitted is known, and what was used is a fact."""
    pick(bench, Pick(KIT, "0012", 2, DAY))
    used = {"build": "E-1", "stage": "bottom", "joint": "", "role": "", "part": "0012",
            "quantity": 2, "unit": "piece", "note": ""}  # fmt: skip
    fit(bench, "E-1", [used], NEXT, ("jo", "mk"))
    assert kitted(bench) == {("E-1", "0012", "", True): 2}
    assert records.snapshot(bench)["used"]["quantity"].tolist() == [2]
    with pytest.raises(InputError, match="nothing lies in the kits"):
        fit(bench, "E-1", [], NEXT, ("jo", "mk"))


def test_a_reversed_pick_lies_in_its_bin_as_it_did(bench, shelf):
    """Also when the tin was opened in the meantime: the label of the bin stays."""
    oil = Pick(KIT, "OIL", 1_000_000, DAY)
    before = records.snapshot(bench)["stock"]
    (done,) = pick(bench, oil)
    records.reverse(bench, done.moves[0].move, "wrong tin", day=NEXT, by="jo")
    after = records.snapshot(bench)["stock"]
    assert before.equals(after)
    (done,) = pick(bench, oil)
    records.count(bench, Count("OIL", "F2", 4_000_000, NEXT, lot="L7", opened=NEXT))
    records.reverse(bench, done.moves[0].move, "wrong tin", day=NEXT)
    opened = records.snapshot(bench)["stock"].set_index("part").loc["OIL", "opened"]
    assert opened.date() == NEXT


def test_outwork_and_other_sites_give_back(bench, shelf):
    """What is away is known by place; a site may be owed, an outworker holds what was sent."""
    carry(bench, Carry("0012", 2, "A1", outwork_place("grinder"), DAY))
    with pytest.raises(InputError, match="2 there"):
        carry(bench, Carry("0012", 3, outwork_place("grinder"), "A1", DAY))
    carry(bench, Carry("0012", 1, outwork_place("grinder"), "A1", DAY))
    carry(bench, Carry("1E5", 3, site_place("north"), "B1", DAY))
    carry(bench, Carry("1E5", 1, "B1", site_place("north"), DAY))
    assert away(bench) == [
        ("outside: outwork grinder", "0012", 1),
        ("outside: site north", "1E5", -2),
    ]
    for what, said in (
        (Carry("0012", 1, "A1", SCRAP, DAY), "say why"),
        (Carry("0012", 1, "kit: A", "B1", DAY), "0 there|name of a bin"),
        (Carry("0012", 1, CUSTOMER, SCRAP, DAY, owner="ann", reason="x"), "into a bin first"),
    ):
        with pytest.raises(InputError, match=said):
            carry(bench, what)
    with pytest.raises(UnknownName, match="no build"):
        carry(bench, Carry("0012", 1, CUSTOMER, "A1", DAY, held_for="E-7"))

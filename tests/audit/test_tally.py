"""Counting what was forgotten."""

from __future__ import annotations

import time

import numpy as np
import pandas as pd
import pytest

from kitting.audit import tally, wilson
from kitting.audit.tally import ASPECTS
from kitting.tables.audit import PROGRESS, TALLY, TREND
from kitting.tables.shop import BUILDS, FORGOTTEN

BILL = {
    "parts": [
        {"part": "ring", "name": "O-ring 20x3", "family": "o-ring"},
        {"part": "bung", "name": "blanking bung", "family": "plug"},
        {"part": "gasket", "family": "gasket"},
        {"part": "seal", "family": "lip seal"},
    ],
    "stages": [
        {"assembly": "engine", "stage": "head", "name": "fit the head"},
        {"assembly": "engine", "stage": "close"},
        {"assembly": "pump", "stage": "pump up"},
    ],
    "joints": [
        {"assembly": "engine", "stage": "head", "joint": "cover", "joins": "cover to head"},
        {"assembly": "engine", "stage": "head", "joint": "boost", "when": "induction=turbo"},
        {"assembly": "pump", "stage": "pump up", "joint": "shaft"},
    ],
    "options": [{"assembly": "engine", "option": "induction", "default": "natural"}],
    "lines": [
        {"line": 1, "assembly": "engine", "stage": "head", "joint": "cover", "part": "gasket"},
        {"line": 2, "assembly": "engine", "stage": "head", "joint": "boost", "part": "ring"},
        {"line": 3, "assembly": "engine", "stage": "close", "part": "pump", "when": "drive=pump"},
        {"line": 4, "assembly": "pump", "stage": "pump up", "joint": "shaft", "part": "shaft set"},
    ],
    "sets": [
        {"set": "shaft set", "part": "seal", "fits": "needed"},
        {"set": "shaft set", "part": "bung", "fits": "do not fit"},
    ],
}


def build(name, options="", finished="2026-01-05", assembly="engine"):
    return {"build": name, "assembly": assembly, "options": options, "finished": finished}


def forgot(entry, name, part="ring", stage="head", **more):
    return {
        "entry": entry,
        "build": name,
        "part": part,
        "stage": stage,
        "quantity": 1,
        "cause": "not in the bill",
        **more,
    }


@pytest.fixture
def tallied(shop_of):
    """Return a function: builds and forgotten parts to the audit's tables, contracts checked."""

    def make(builds, forgotten):
        found = tally(shop_of(builds=builds, forgotten=forgotten, **BILL))
        for name, frame in found.items():
            {"trend": TREND, "progress": PROGRESS}.get(name, TALLY).check(frame)
            if name not in ("trend", "progress"):
                assert set(frame["by"]) <= {name}
        return found

    return make


def row(frame, name, assembly=""):
    """Return the one row of a name."""
    rows = frame[(frame["name"] == name) & (frame["assembly"] == assembly)]
    assert len(rows) == 1
    return rows.iloc[0]


TURBO = "induction=turbo"


def test_a_rate_counts_only_builds_that_hold_the_part(tallied):
    """Two of four builds have the turbo's ring; on one of these it was forgotten, twice."""
    builds = [build("A", TURBO), build("B", TURBO), build("C"), build("D")]
    events = [forgot(1, "A", joint="boost"), forgot(2, "A", quantity=2, joint="boost")]
    found = tallied(builds, events)
    ring = row(found["part"], "ring")
    assert (ring["label"], ring["events"], ring["builds"], ring["could"]) == (
        "O-ring 20x3",
        2,
        1,
        2,
    )
    assert ring["rate"] == 0.5
    assert (ring["low"], ring["high"]) == tuple(float(e) for e in wilson(1, 2))
    assert row(found["family"], "o-ring")["could"] == 2
    assert row(found["joint"], "boost", "engine")["could"] == 2
    assert row(found["stage"], "head", "engine")["could"] == 4
    assert row(found["stage"], "head", "engine")["label"] == "fit the head"
    assert row(found["cause"], "not in the bill")["could"] == 4
    assert row(found["all"], "any part")["rate"] == 0.25


def test_what_no_bill_holds_could_be_forgotten_on_every_build_of_its_assemblies(tallied):
    builds = [build("A"), build("B"), build("C", assembly="pump"), build("D", assembly="gearbox")]
    bung = row(tallied(builds, [forgot(1, "A", "bung")])["part"], "bung")
    assert (bung["builds"], bung["could"]) == (1, 2)


def test_a_build_on_which_it_was_forgotten_always_counts(tallied):
    """Noted on a natural engine, though by today's bill only turbo engines hold it."""
    builds = [build("A"), build("B", TURBO), build("C")]
    ring = row(tallied(builds, [forgot(1, "A")])["part"], "ring")
    assert (ring["builds"], ring["could"]) == (1, 2)


def test_sets_and_assemblies_built_in_are_looked_into(tallied):
    """The pump's seal is in a set and only on engines that drive a pump."""
    builds = [build("A", "drive=pump"), build("B", "drive=pump"), build("C"), build("D")]
    found = tallied(builds, [forgot(1, "A", "seal", "pump up", joint="shaft")])
    assert row(found["part"], "seal")["could"] == 2
    assert row(found["joint"], "shaft", "pump")["could"] == 2
    assert row(found["stage"], "pump up", "pump")["could"] == 2


def test_options_that_the_bill_does_not_ask_about_change_nothing(tallied):
    builds = [build(f"B{n}", f"colour=c{n}") for n in range(5)]
    assert row(tallied(builds, [forgot(1, "B1", "gasket")])["part"], "gasket")["could"] == 5


def test_builds_that_are_not_finished_give_events_and_losses_but_no_rates(tallied):
    builds = [build("A"), build("B", finished=None)]
    events = [forgot(1, "B", "gasket", hours_lost=2.0), forgot(2, "A", "gasket", hours_lost=1.0)]
    gasket = row(tallied(builds, events)["part"], "gasket")
    assert (gasket["events"], gasket["builds"], gasket["could"]) == (2, 1, 1)
    assert gasket["hours_lost"] == 3.0


def test_nothing_finished_gives_no_rate(tallied):
    gasket = row(tallied([build("B", finished=None)], [forgot(1, "B", "gasket")])["part"], "gasket")
    assert (gasket["builds"], gasket["could"], gasket["low"], gasket["high"]) == (0, 0, 0.0, 1.0)
    assert np.isnan(gasket["rate"])


def test_most_forgotten_comes_first_then_dearest(tallied):
    builds = [build(n) for n in "ABC"]
    events = [
        forgot(1, "A", "bung", money_lost=100),
        forgot(2, "A", "gasket", money_lost=900),
        forgot(3, "A", "ring"),
        forgot(4, "B", "ring"),
    ]
    found = tallied(builds, events)["part"]
    assert found["name"].tolist() == ["ring", "gasket", "bung"]
    assert found["money_lost"].tolist() == [0, 900, 100]


def test_things_without_a_name_are_not_ranked(tallied):
    """A part without a family and an event without a joint count, but not under a blank."""
    found = tallied([build("A")], [forgot(1, "A", "stranger")])
    assert found["family"].empty
    assert found["joint"].empty
    assert row(found["part"], "stranger")["label"] == ""


def test_every_way_of_counting_adds_up_to_the_same_events_and_losses(tallied):
    builds = [build(n) for n in "ABC"]
    events = [
        forgot(
            n,
            "ABC"[n % 3],
            ("ring", "bung")[n % 2],
            ("head", "close")[n % 2],
            quantity=n,
            hours_lost=n / 4,
            money_lost=10 * n,
        )
        for n in range(1, 9)
    ]
    found = tallied(builds, events)
    for name in ("all", "part", "family", "stage", "cause"):
        assert found[name]["events"].sum() == 8
        assert found[name]["hours_lost"].sum() == 9.0
        assert found[name]["money_lost"].sum() == 360
    assert found["trend"]["events"].sum() == 8


def test_the_trend_goes_by_day_of_finish(tallied):
    builds = [
        build("B", finished="2026-02-01"),
        build("A", finished="2026-03-01"),
        build("C", finished="2026-01-01"),
        build("D", finished=None),
    ]
    events = [
        forgot(1, "C"),
        forgot(2, "C", "bung"),
        forgot(3, "A", hours_lost=1.5),
        forgot(4, "D"),
    ]
    trend = tallied(builds, events)["trend"]
    assert trend["build"].tolist() == ["C", "B", "A"]
    assert trend["events"].tolist() == [2, 0, 1]
    assert trend["so_far"].tolist() == [2.0, 1.0, 1.0]
    assert trend["hours_lost"].tolist() == [0.0, 0.0, 1.5]
    assert trend["position"].tolist() == [1, 2, 3]


def test_recent_is_the_mean_of_five_builds(tallied):
    builds = [build(f"B{n}", finished=f"2026-01-{n:02d}") for n in range(1, 8)]
    events = [forgot(n, "B1", quantity=n) for n in range(1, 6)] + [forgot(9, "B7")]
    trend = tallied(builds, events)["trend"]
    assert trend["recent"].tolist() == [5.0, 2.5, 5 / 3, 1.25, 1.0, 0.0, 0.2]


def test_a_shop_without_builds_has_empty_tables(tallied):
    found = tallied([], [])
    assert {name: len(frame) for name, frame in found.items()} == dict.fromkeys(found, 0)
    assert set(found) == {"all", *ASPECTS, "trend", "progress"}


def test_ten_thousand_builds_take_less_than_a_second(shop_of):
    shop = shop_of(**BILL)
    n = 10_000
    rng = np.random.default_rng(7)
    builds = pd.DataFrame({"build": [f"B{i}" for i in range(n)], "assembly": "engine"}).assign(
        options=rng.choice(["", TURBO, "drive=pump"], n),
        start=pd.NaT,
        priority=5,
        customer="",
        use="",
        note="",
        finished=pd.Timestamp("2026-01-05"),
    )
    m = 30_000
    forgotten = pd.DataFrame(
        {
            "entry": range(m),
            "build": builds["build"].sample(m, replace=True, random_state=7).to_numpy(),
        }
    ).assign(
        stage=rng.choice(["head", "close"], m),
        joint=rng.choice(["", "cover"], m),
        role="",
        part=rng.choice(["ring", "bung", "gasket", "seal"], m),
        quantity=1,
        unit="piece",
        cause="late",
        noted=pd.NaT,
        hours_lost=0.5,
        money_lost=5,
        note="",
    )
    shop = shop.replaced(builds=BUILDS.conform(builds), forgotten=FORGOTTEN.conform(forgotten))
    began = time.process_time()
    found = tally(shop)
    assert time.process_time() - began < 8
    assert found["all"]["builds"][0] > 9000

"""What must hold of parts that are picked for kits: none is counted twice, none is lost."""

from __future__ import annotations

import pandas as pd
from hypothesis import given, settings
from hypothesis import strategies as st
from netting import plain
from netting.frames import missing, needs, on, stand_ins, supply, tuples

from kitting.netting import net
from kitting.tables.flow import PICKS, SHORTAGES, SUPPLY
from kitting.tables.shop import BUILDS, STAND_INS

LAW = settings(deadline=None, max_examples=60)
PARTS = st.sampled_from(["P", "Q", "R"])
STAGES = st.sampled_from(["s1", "s2"])
BUILD = st.sampled_from(["B1", "B2", "B3"])
DAYS = st.integers(0, 6)
CUSTOMERS = {"B1": "ann", "B2": "ann", "B3": ""}
NONE = STAND_INS.empty()


def builds():
    """Return three builds, two of one customer and one of the shop's own."""
    rows = [{"build": b, "customer": c} for b, c in CUSTOMERS.items()]
    frame = pd.DataFrame(rows).reindex(columns=BUILDS.names)
    return frame.assign(priority=5).fillna({"customer": ""})


@st.composite
def needs_of(draw):
    """Draw needs whose day and priority are those of their build's stage."""
    days = {(b, s): draw(DAYS) for b in CUSTOMERS for s in ("s1", "s2")}
    priority = {b: draw(st.integers(1, 3)) for b in CUSTOMERS}
    row = st.fixed_dictionaries(
        {"part": PARTS, "build": BUILD, "stage": STAGES, "quantity": st.integers(1, 9)}
    )
    rows = draw(st.lists(row, max_size=7))
    return needs(
        [{**r, "day": days[r["build"], r["stage"]], "priority": priority[r["build"]]} for r in rows]
    )


@st.composite
def supply_of(draw, kits=True):
    """Draw lots that are free, held for a build, owned by somebody, picked or fitted."""
    usual = {
        "part": PARTS,
        "quantity": st.integers(1, 9),
        "from_day": DAYS,
        "use_by": st.one_of(st.none(), DAYS),
    }
    free = st.fixed_dictionaries({**usual, "order": st.sampled_from(["", "", "K1"])})
    held = st.fixed_dictionaries({**usual, "held_for": BUILD})
    owned = st.fixed_dictionaries({**usual, "owner": st.sampled_from(["ann", "bob"])})
    kitted = st.fixed_dictionaries(
        {**usual, "held_for": BUILD, "stage": STAGES, "kit": st.sampled_from(["picked", "fitted"])}
    )
    kinds = [free, free, held, owned, *([kitted, kitted] if kits else [])]
    return supply(draw(st.lists(st.one_of(*kinds), max_size=8)))


@st.composite
def stand_ins_of(draw):
    """Draw stand-ins, some of them not one for one."""
    row = st.fixed_dictionaries(
        {
            **{"part": PARTS, "stand_in": PARTS},
            "kind": st.sampled_from(["supersedes", "alternate"]),
            **{"take": st.integers(1, 3), "give": st.integers(1, 3)},
        }
    )
    return stand_ins(
        draw(st.lists(row, max_size=3, unique_by=lambda r: (r["part"], r["stand_in"])))
    )


@settings(deadline=None, max_examples=150)
@given(wanted=needs_of(), there=supply_of(), instead=stand_ins_of())
def test_kits_and_owners_are_those_of_the_plain_loop(wanted, there, instead):
    """Picks and shortages equal those of a loop over the rows."""
    picks, shortages = net(wanted, there, instead, builds())
    PICKS.check(picks)
    SHORTAGES.check(shortages)
    assert (tuples(picks), missing(shortages)) == plain.net(wanted, there, instead, CUSTOMERS)


@LAW
@given(wanted=needs_of(), there=supply_of(), instead=stand_ins_of())
def test_nobody_gets_what_is_fitted_held_or_owned_by_others(wanted, there, instead):
    """A fitted part serves its own stage; a kept or owned one its build or its owner's builds."""
    picks, _ = net(wanted, there, instead, builds())
    rows = picks.merge(wanted, on="need", suffixes=("", "_need")).merge(
        there, on="supply", suffixes=("", "_lot")
    )
    fitted = rows[rows["kit"] == "fitted"]
    assert (fitted["build"] == fitted["held_for"]).all()
    assert (fitted["stage"] == fitted["stage_lot"]).all()
    kept = rows[rows["held_for"] != ""]
    assert (kept["build"] == kept["held_for"]).all()
    owned = rows[(rows["owner"] != "") & (rows["held_for"] == "")]
    assert (owned["build"].map(CUSTOMERS) == owned["owner"]).all()


@settings(deadline=None, max_examples=150)
@given(data=st.data(), wanted=needs_of(), there=supply_of())
def test_picking_what_the_plan_says_changes_no_shortage(data, wanted, there):
    """Parts put into the kit of the stage that they were planned for: the same is short as before.

    Some are picked, some of those fitted; counted twice, less would be short; lost, more.
    """
    picks, before = net(wanted, there, NONE, builds())
    rows = {row["supply"]: row for row in there.to_dict("records")}
    asked = {row["need"]: row for row in wanted.to_dict("records")}
    moved = []
    for need, lot, _part, quantity, _covers in tuples(picks):
        if rows[lot]["order"] or rows[lot]["kit"]:
            continue
        taken = data.draw(st.integers(0, quantity))
        rows[lot]["quantity"] -= taken
        kit = data.draw(st.sampled_from(["picked", "fitted"]))
        of = {c: asked[need][c] for c in ("assembly", "stage")}
        until = pd.NaT if kit == "fitted" else rows[lot]["use_by"]
        moved.append(
            {**rows[lot], **of, "held_for": asked[need]["build"], "owner": "", "kit": kit}
            | {"quantity": taken, "from_day": on(0), "use_by": until}
        )
    after = pd.DataFrame([r for r in (*rows.values(), *moved) if r["quantity"]])
    then = SUPPLY.empty()
    if len(after):
        then = SUPPLY.conform(after.assign(supply=range(1, len(after) + 1)))
        assert then["quantity"].sum() == there["quantity"].sum()
    assert missing(net(wanted, then, NONE, builds())[1]) == missing(before)

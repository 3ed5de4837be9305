"""What must hold of any needs, lots and stand-ins."""

from __future__ import annotations

import networkx as nx
import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from netting import plain
from netting.frames import missing, needs, stand_ins, supply, tuples

from kitting.netting import match, net
from kitting.tables.flow import PICKS, SHORTAGES
from kitting.tables.shop import STAND_INS

PARTS = ["P", "Q", "R", "S"]
DAYS = st.integers(0, 8)
QUANTITIES = st.integers(1, 12)
BUILDS = st.sampled_from(["B1", "B2"])
HELD = st.sampled_from(["", "", "B1", "B2"])


@st.composite
def needs_of(draw, parts=PARTS, priorities=3, roles=("seal", "", "tool")):
    """Draw up to eight needs, some without a day."""
    row = st.fixed_dictionaries(
        {
            "part": st.sampled_from(parts),
            "build": BUILDS,
            "quantity": QUANTITIES,
            "day": st.one_of(DAYS, st.none()),
            "priority": st.integers(1, priorities),
            "role": st.sampled_from(roles),
        }
    )
    return needs(draw(st.lists(row, max_size=8)))


@st.composite
def supply_of(draw, parts=PARTS, held=HELD, fewest=0):
    """Draw up to eight lots and orders with windows that bind."""
    row = st.fixed_dictionaries(
        {
            "part": st.sampled_from(parts),
            "quantity": QUANTITIES,
            "from_day": DAYS,
            "use_by": st.one_of(st.none(), DAYS),
            "held_for": held,
            "order": st.sampled_from(["", "K1"]),
        }
    )
    return supply(draw(st.lists(row, min_size=fewest, max_size=8)))


@st.composite
def stand_ins_of(draw):
    """Draw up to five pairs with small ratios."""
    row = st.fixed_dictionaries(
        {
            "part": st.sampled_from(PARTS),
            "stand_in": st.sampled_from(PARTS),
            "kind": st.sampled_from(["supersedes", "alternate"]),
            "take": st.integers(1, 4),
            "give": st.integers(1, 4),
        }
    )
    return stand_ins(
        draw(st.lists(row, max_size=5, unique_by=lambda r: (r["part"], r["stand_in"])))
    )


LAW = settings(deadline=None, max_examples=40)

FRAMES = {"wanted": needs_of(), "there": supply_of(), "instead": stand_ins_of()}
ONE_PART = {"wanted": needs_of(parts=["P"]), "there": supply_of(parts=["P"])}
NONE = STAND_INS.empty()


def joined(wanted, there, picks):
    """Set each pick beside its need and its lot."""
    out = picks.merge(wanted, on="need", suffixes=("", "_need"), validate="m:1")
    return out.merge(there, on="supply", suffixes=("", "_lot"), validate="m:1")


@settings(deadline=None, max_examples=120)
@given(**FRAMES)
def test_it_is_the_plain_loop(wanted, there, instead):
    """Picks and shortages equal those of a loop over the rows."""
    picks, shortages = net(wanted, there, instead)
    PICKS.check(picks)
    SHORTAGES.check(shortages)
    assert (tuples(picks), missing(shortages)) == plain.net(wanted, there, instead)


@LAW
@given(**FRAMES)
def test_rounds_alone_are_the_plain_loop(wanted, there, instead):
    """The same when every part goes through rounds, which few parts do by themselves."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(match, "BREADTH", 1)
        patch.setattr(match, "READS", 10**6)
        picks, shortages = net(wanted, there, instead)
    assert (tuples(picks), missing(shortages)) == plain.net(wanted, there, instead)


@LAW
@given(**FRAMES)
def test_nothing_is_made_and_nothing_lost(wanted, there, instead):
    """A need is its picks and its shortage; a lot gives at most what it holds, tools put back."""
    picks, shortages = net(wanted, there, instead)
    covered = picks.groupby("need")["covers"].sum()
    short = shortages.set_index("need")["quantity"]
    total = covered.add(short, fill_value=0)
    pd.testing.assert_series_equal(
        total.astype("int64").sort_index(),
        wanted.set_index("need")["quantity"].sort_index(),
        check_names=False,
    )
    lent = picks["need"].isin(wanted.loc[wanted["role"] == "tool", "need"])
    held = there.set_index("supply")["quantity"]
    assert (picks["quantity"] <= picks["supply"].map(held)).all()
    taken = picks[~lent].groupby("supply")["quantity"].sum()
    assert (taken <= held.reindex(taken.index)).all()
    assert (picks["quantity"] > 0).all()
    assert (picks["covers"] > 0).all()
    assert not picks.duplicated(["need", "supply"]).any()


@LAW
@given(**FRAMES)
def test_no_pick_outside_its_window_or_from_what_others_hold(wanted, there, instead):
    """The need's day is within the lot's days, and the lot is held for its build or for nobody."""
    rows = joined(wanted, there, net(wanted, there, instead)[0])
    last = pd.concat([wanted["day"], there["from_day"]]).max()
    day = rows["day"].fillna(last)
    assert (rows["from_day"] <= day).all()
    assert (rows["use_by"].isna() | (day <= rows["use_by"])).all()
    assert ((rows["held_for"] == "") | (rows["held_for"] == rows["build"])).all()
    assert (rows["part"] == rows["part_lot"]).all()


@LAW
@given(**FRAMES)
def test_stand_ins_keep_their_ratio(wanted, there, instead):
    """A part's own lots cover one for one; a stand-in's pick is whole batches of its ratio."""
    rows = joined(wanted, there, net(wanted, there, instead)[0])
    ratios = {
        (part, way.stand_in): way for part in PARTS for way in reversed(plain.tried(instead, part))
    }
    for _, row in rows.iterrows():
        own = row["part"] == row["part_need"]
        way = plain.Try("", 1, 1) if own else ratios[row["part_need"], row["part"]]
        assert row["quantity"] % way.take == 0
        assert row["quantity"] // way.take * way.give == row["covers"]


@LAW
@given(order=st.randoms(use_true_random=False), **FRAMES)
def test_the_order_of_rows_does_not_matter(order, wanted, there, instead):
    """Shuffled frames give the same picks and shortages."""
    turned = [
        f.sample(frac=1, random_state=order.randrange(2**31)) for f in (wanted, there, instead)
    ]
    for once, again in zip(net(wanted, there, instead), net(*turned), strict=True):
        pd.testing.assert_frame_equal(once, again)


@LAW
@given(more=QUANTITIES, at=st.integers(0, 7), **ONE_PART)
def test_more_stock_is_never_more_shortage(more, at, wanted, there):
    """For one part: a larger lot leaves the total shortage the same or less."""
    if not len(there):
        return
    larger = there.assign(quantity=there["quantity"] + more * (np.arange(len(there)) == at))
    before, after = net(wanted, there, NONE)[1], net(wanted, larger, NONE)[1]
    assert after["quantity"].sum() <= before["quantity"].sum()


@LAW
@given(extra=supply_of(parts=["P"], fewest=1), **ONE_PART)
def test_another_lot_is_never_more_shortage(extra, wanted, there):
    """For one part: lots that are added leave the total shortage the same or less."""
    both = pd.concat([there, extra.assign(supply=extra["supply"] + 100)], ignore_index=True)
    undated = wanted.assign(day=wanted["day"].fillna(pd.Timestamp("2026-03-20")))
    before, after = net(undated, there, NONE)[1], net(undated, both, NONE)[1]
    assert after["quantity"].sum() <= before["quantity"].sum()


@LAW
@given(wanted=needs_of(roles=("seal",)), there=supply_of())
def test_a_need_of_a_later_priority_takes_nothing_from_an_earlier_one(wanted, there):
    """Own supply of the first priority is the same with and without the others' needs."""
    first = wanted[wanted["priority"] == 1].reset_index(drop=True)
    dated = wanted.assign(day=wanted["day"].fillna(pd.Timestamp("2026-03-20")))
    alone = net(dated[dated["priority"] == 1].reset_index(drop=True), there, NONE)[0]
    among = net(dated, there, NONE)[0]
    among = among[among["need"].isin(first["need"])].reset_index(drop=True)
    pd.testing.assert_frame_equal(alone, among)


@settings(deadline=None, max_examples=120)
@given(
    wanted=needs_of(parts=["P"], priorities=1, roles=("seal",)),
    there=supply_of(parts=["P"], held=st.just("")),
)
def test_one_part_and_one_priority_reach_the_maximum(wanted, there):
    """The covered quantity is a maximum flow from lots to needs (Glover 1967)."""
    last = pd.concat([wanted["day"], there["from_day"]]).max()
    graph = nx.DiGraph()
    graph.add_nodes_from(["from", "to"])
    for lot in there.to_dict("records"):
        graph.add_edge("from", ("lot", lot["supply"]), capacity=lot["quantity"])
        for need in wanted.to_dict("records"):
            day = last if pd.isna(need["day"]) else need["day"]
            if lot["from_day"] <= day and not lot["use_by"] < day:
                graph.add_edge(("lot", lot["supply"]), ("need", need["need"]))
    for need in wanted.to_dict("records"):
        graph.add_edge(("need", need["need"]), "to", capacity=need["quantity"])
    picks, _ = net(wanted, there, NONE)
    assert picks["covers"].sum() == nx.maximum_flow_value(graph, "from", "to")

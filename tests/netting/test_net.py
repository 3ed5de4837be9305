"""Which need gets which lot, case by case."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from netting import plain
from netting.frames import missing, needs, stand_ins, supply, tuples

from kitting.netting import net
from kitting.tables.flow import NEEDS, PICKS, SHORTAGES, SUPPLY
from kitting.tables.shop import STAND_INS

NONE = STAND_INS.empty()


def run(wanted, there, instead=NONE):
    """Net, check both contracts, and return picks as tuples and what is short by need."""
    picks, shortages = net(wanted, there, instead)
    return tuples(PICKS.check(picks)), missing(SHORTAGES.check(shortages))


def test_nothing_at_all():
    """Empty frames give empty picks and shortages of the contracts."""
    assert run(NEEDS.empty(), SUPPLY.empty()) == ([], {})


def test_without_supply_everything_is_short_and_the_shortage_says_where():
    """A shortage carries the need's own words and what remains."""
    wanted = needs([{"stage": "close", "joint": "cover", "role": "seal", "quantity": 3}])
    _, shortages = net(wanted, SUPPLY.empty(), NONE)
    row = shortages.iloc[0]
    assert (row["stage"], row["joint"], row["role"]) == ("close", "cover", "seal")
    assert (row["build"], row["part"], row["quantity"]) == ("B1", "P", 3)


def test_priority_comes_before_day_and_day_before_number():
    """The first served is the least priority, then the earliest day, then the least number."""
    wanted = needs(
        [{"priority": 2, "day": 0}, {"priority": 1, "day": 9}, {"priority": 1, "day": 3}]
    )
    picks, short = run(wanted, supply([{"quantity": 2}]))
    assert picks == [(2, 1, "P", 1, 1), (3, 1, "P", 1, 1)]
    assert short == {1: 1}


@pytest.mark.parametrize(
    ("lots", "first"),
    [
        # the soonest to spoil, although it came later
        ([{"use_by": 30, "from_day": 0}, {"use_by": 20, "from_day": 4}], 2),
        # a lot without a use-by spoils last
        ([{"use_by": None}, {"use_by": 300}], 2),
        # the same use-by: the earliest to come
        ([{"from_day": 3}, {"from_day": 1}], 2),
        # the same days: the shelf before an order
        ([{"order": "K1"}, {}], 2),
        # all the same: the least number
        ([{"supply": 8}, {"supply": 7}], 7),
    ],
)
def test_the_first_lot_taken(lots, first):
    """Soonest to spoil, earliest, shelf before order, least number."""
    picks, _ = run(needs([{"day": 5}]), supply(lots))
    assert [pick[1] for pick in picks] == [first]


@pytest.mark.parametrize(
    ("lot", "covered"),
    [
        ({"from_day": 5, "use_by": 5}, True),  # both ends belong to it
        ({"from_day": 6}, False),  # a day too late
        ({"use_by": 4}, False),  # spoilt the day before
        ({"held_for": "B2"}, False),  # kept for another build
        ({"held_for": "B1"}, True),  # kept for this one
    ],
)
def test_what_fits(lot, covered):
    """A lot fits from its first day to its last, for its own build or for anyone."""
    picks, short = run(needs([{"day": 5}]), supply([lot]))
    assert (bool(picks), bool(short)) == (covered, not covered)


def test_held_lots_go_before_free_ones_even_when_those_spoil_sooner():
    """What is kept for a build is used for it first."""
    lots = supply([{"use_by": 9}, {"held_for": "B1", "quantity": 1}])
    assert run(needs([{"quantity": 2}]), lots)[0] == [(1, 2, "P", 1, 1), (1, 1, "P", 1, 1)]


def test_a_need_without_a_day_waits_for_the_last_delivery_and_outlives_no_use_by():
    """It counts as on the last day that a need or a supply begins."""
    lots = supply([{"from_day": 40, "order": "K1"}, {"use_by": 39}])
    assert run(needs([{"day": None}]), lots) == ([(1, 1, "P", 1, 1)], {})


def test_stand_ins_only_after_every_own_need():
    """A part's own needs come before needs of others, whatever their priority."""
    wanted = needs([{"part": "OLD", "priority": 1}, {"part": "NEW", "priority": 9}])
    picks, short = run(
        wanted, supply([{"part": "NEW"}]), stand_ins([{"part": "OLD", "stand_in": "NEW"}])
    )
    assert picks == [(2, 1, "NEW", 1, 1)]
    assert short == {1: 1}


def test_supersession_does_not_serve_back_and_alternates_do():
    """A superseding part serves for the older; an alternate serves both ways."""
    wanted = needs([{"part": "NEW"}])
    old = supply([{"part": "OLD"}])
    one_way = stand_ins([{"part": "OLD", "stand_in": "NEW"}])
    both = stand_ins([{"part": "OLD", "stand_in": "NEW", "kind": "alternate"}])
    assert run(wanted, old, one_way)[1] == {1: 1}
    assert run(wanted, old, both)[0] == [(1, 1, "OLD", 1, 1)]


def test_a_row_of_supersessions_is_followed_near_parts_first_and_ends():
    """A <- B <- C <- A: the need of A is served by B, then by C, once each."""
    instead = stand_ins(
        [
            {"part": "A", "stand_in": "B"},
            {"part": "B", "stand_in": "C", "take": 2},
            {"part": "C", "stand_in": "A"},
        ]
    )
    lots = supply([{"part": "C", "quantity": 9}, {"part": "B"}])
    picks, short = run(needs([{"part": "A", "quantity": 3}]), lots, instead)
    assert picks == [(1, 2, "B", 1, 1), (1, 1, "C", 4, 2)]
    assert short == {}


def test_superseding_parts_are_tried_before_alternates():
    """The kind comes before the part number."""
    instead = stand_ins(
        [
            {"part": "P", "stand_in": "A", "kind": "alternate"},
            {"part": "P", "stand_in": "Z", "kind": "supersedes"},
        ]
    )
    picks, _ = run(needs([{}]), supply([{"part": "A"}, {"part": "Z"}]), instead)
    assert [pick[2] for pick in picks] == ["Z"]


@pytest.mark.parametrize(
    ("take", "give", "wanted", "there", "taken", "covered"),
    [
        (2, 1, 3, 5, 4, 2),  # two thin shims for a thick one; the fifth is half of nothing
        (1, 4, 10, 9, 2, 8),  # a strip of four; the last two would need half a strip
        (4, 2, 1, 5, 2, 1),  # the same as two for one
        (3, 2, 7, 100, 9, 6),
        (1000, 1, 5, 4999, 4000, 4),
    ],
)
def test_ratios_are_kept_in_whole_batches(take, give, wanted, there, taken, covered):
    """A pick holds whole multiples of take and give, never a fraction of a piece."""
    picks, short = run(
        needs([{"quantity": wanted}]),
        supply([{"part": "S", "quantity": there}]),
        stand_ins([{"part": "P", "stand_in": "S", "take": take, "give": give}]),
    )
    assert picks == [(1, 1, "S", taken, covered)]
    assert short == ({1: wanted - covered} if wanted > covered else {})


def test_an_alternate_turned_round_turns_its_ratio():
    """Two of S for one P means one P for two of S."""
    instead = stand_ins([{"part": "P", "stand_in": "S", "kind": "alternate", "take": 2, "give": 1}])
    picks, short = run(needs([{"part": "S", "quantity": 5}]), supply([{"quantity": 9}]), instead)
    assert picks == [(1, 1, "P", 2, 4)]
    assert short == {1: 1}


def test_a_stand_in_for_two_parts_goes_to_the_higher_priority():
    """Within stand-ins priority rules, also where it is the second choice of the first build."""
    wanted = needs([{"part": "A", "priority": 2}, {"part": "B", "priority": 1}])
    instead = stand_ins(
        [
            {"part": "A", "stand_in": "S"},
            {"part": "B", "stand_in": "R"},
            {"part": "B", "stand_in": "S"},
        ]
    )
    picks, short = run(wanted, supply([{"part": "S"}]), instead)
    assert picks == [(2, 1, "S", 1, 1)]
    assert short == {1: 1}


def test_a_stand_in_held_for_another_build_stays_there():
    """Held lots are kept as stand-ins too."""
    instead = stand_ins([{"part": "P", "stand_in": "S"}])
    wanted = needs([{"build": "B1"}, {"build": "B2"}])
    picks, short = run(wanted, supply([{"part": "S", "held_for": "B2"}]), instead)
    assert picks == [(2, 1, "S", 1, 1)]
    assert short == {1: 1}


def test_a_tool_is_put_back_and_serves_every_stage():
    """One wrench serves three stages; a stage that needs two of it is one short."""
    wanted = needs([{"role": "tool"}, {"role": "tool", "day": 9}, {"role": "tool", "quantity": 2}])
    picks, short = run(wanted, supply([{}]))
    assert picks == [(1, 1, "P", 1, 1), (2, 1, "P", 1, 1), (3, 1, "P", 1, 1)]
    assert short == {3: 1}


def test_what_is_used_up_comes_before_tools():
    """A part that a need uses up is not lent, even to an earlier priority."""
    wanted = needs([{"role": "tool", "priority": 1}, {"role": "seal", "priority": 9}])
    picks, short = run(wanted, supply([{}]))
    assert picks == [(2, 1, "P", 1, 1)]
    assert short == {1: 1}


def test_a_stand_in_tool_is_put_back_too():
    """A tool's stand-in serves every stage as the tool would."""
    instead = stand_ins([{"part": "P", "stand_in": "S"}])
    wanted = needs([{"role": "tool"}, {"role": "tool", "day": 9}])
    picks, short = run(wanted, supply([{"part": "S"}]), instead)
    assert picks == [(1, 1, "S", 1, 1), (2, 1, "S", 1, 1)]
    assert short == {}


def test_frames_are_not_altered():
    """The three frames are the same afterwards."""
    frames = (
        needs([{"quantity": 3}, {"need": 7}, {"need": 4}]),
        supply([{"quantity": 2}, {"order": "K1"}, {}]),
        stand_ins([{"part": "P", "stand_in": "S"}]),
    )
    before = [f.copy(deep=True) for f in frames]
    net(*frames)
    for now, then in zip(frames, before, strict=True):
        pd.testing.assert_frame_equal(now, then)


def test_quantities_beyond_four_thousand_million_are_exact():
    """A drum in microlitres does not overflow a sum."""
    large = 10**12
    picks, short = run(
        needs([{"quantity": large + i} for i in range(3)]), supply([{"quantity": 2 * large}])
    )
    assert sum(pick[3] for pick in picks) == 2 * large
    assert short == {2: 1, 3: large + 2}


def shuffled(rng, count, **columns):
    """Return rows of random columns as dictionaries."""
    drawn = {name: draw(rng, count) for name, draw in columns.items()}
    return [dict(zip(drawn, row, strict=True)) for row in zip(*drawn.values(), strict=True)]


@pytest.mark.parametrize(
    ("parts", "rows"),
    [
        (1, 2_000),  # one part with everything: the queue
        (30, 3_000),  # few parts with many lots each: the queue
        (400, 10_000),  # many parts: rounds, then the queue for the rest
        (5_000, 10_000),  # more parts than lots
    ],
)
def test_equal_to_the_plain_loop(parts, rows):
    """Picks and shortages are those of a plain loop, with holds, windows and stand-ins."""
    rng = np.random.default_rng(parts)
    names = [f"P{i}" for i in range(parts)]
    wanted = needs(
        shuffled(
            rng,
            rows,
            part=lambda r, n: r.choice(names, n).tolist(),
            build=lambda r, n: r.choice(["B1", "B2", "B3"], n).tolist(),
            quantity=lambda r, n: r.integers(1, 9, n).tolist(),
            day=lambda r, n: r.integers(0, 60, n).tolist(),
            priority=lambda r, n: r.integers(1, 4, n).tolist(),
            role=lambda r, n: r.choice(["seal", "clamp", "tool"], n).tolist(),
        )
    )
    there = supply(
        shuffled(
            rng,
            rows // 3,
            part=lambda r, n: r.choice(names, n).tolist(),
            quantity=lambda r, n: r.integers(1, 20, n).tolist(),
            from_day=lambda r, n: r.integers(-10, 50, n).tolist(),
            use_by=lambda r, n: r.choice([None, 5, 20, 30, 40, 50], n).tolist(),
            held_for=lambda r, n: r.choice(["", "", "", "B1", "B2"], n).tolist(),
            order=lambda r, n: r.choice(["", "K1"], n).tolist(),
        )
    )
    instead = stand_ins(
        [
            {"part": a, "stand_in": b, "kind": kind, "take": int(take), "give": int(give)}
            for (a, b), kind, take, give in zip(
                sorted({tuple(rng.choice(names, 2)) for _ in range(min(parts, 300) // 2)}),
                np.tile(["supersedes", "alternate", "alternate"], parts),
                rng.integers(1, 3, parts),
                rng.integers(1, 3, parts),
                strict=False,
            )
        ]
    )
    assert run(wanted, there, instead) == plain.net(wanted, there, instead)

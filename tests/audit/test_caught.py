"""Would today's bill have caught it."""

from __future__ import annotations

import pytest

from kitting.audit import Also, caught
from kitting.tables.audit import CAUGHT

PLACE = {"build": "A", "assembly": "engine", "stage": "head"}


def forgot(**more):
    return {
        "entry": 1,
        "build": "A",
        "part": "ring",
        "stage": "head",
        "quantity": 2,
        "cause": "not in the bill",
        **more,
    }


def also_of(frame_of, spare, order):
    """Return what today's checks say of the ring: a spare, and days to order and of the order."""
    pair = {"build": "A", "part": "ring"}
    days = dict(
        zip(("order_by", "ordered", "promised", "chance", "doubtful"), order or (), strict=False)
    )
    return Also(
        frame_of("spares", *([{**pair, "spare": spare, "why": "nicked"}] if spare else [])),
        frame_of("past_orders", *([{**pair, **days}] if order else [])),
    )


@pytest.fixture
def judged(shop_of, frame_of):
    """Return a function: one forgotten part and today's bill to how it is caught and why."""

    def make(event, required=(), gaps=(), spare=0, order=None, **tables):
        shop = shop_of(
            builds=[
                {
                    "build": "A",
                    "assembly": "engine",
                    "start": "2026-01-02",
                    "finished": "2026-01-05",
                }
            ],
            parts=[{"part": "ring", "family": "o-ring"}],
            stages=[{"assembly": "engine", "stage": "head"}],
            joints=[
                {"assembly": "engine", "stage": "head", "joint": j, "kind": "plug_in_bore"}
                for j in ("cover", "plug")
            ],
            forgotten=[event],
            **tables,
        )
        kinds = frame_of(
            "joint_kinds",
            {"kind": "plug_in_bore", "role": "seal", "usual": "two O-rings of the right size"},
            {"kind": "plug_in_bore", "role": "secure", "usual": "threadlocker"},
        )
        rows = [
            {**PLACE, "required": n, "part": "ring", **row} for n, row in enumerate(required, 1)
        ]
        frame = caught(
            shop,
            frame_of("required", *rows),
            frame_of("gaps", *({**PLACE, "level": "stop", **gap} for gap in gaps)),
            kinds,
            also_of(frame_of, spare, order),
        )
        CAUGHT.check(frame)
        assert len(frame) == 1
        assert frame["caught"][0] == (frame["how"][0] != "")
        return frame["how"][0], frame["reason"][0]

    return make


@pytest.mark.parametrize(
    ("event", "lines", "how", "reason"),
    [
        (forgot(), [{"quantity": 2}], "bill line", "the bill asks for 2 at head"),
        (forgot(), [{"quantity": 1}, {"quantity": 1}], "bill line", "asks for 2 at head"),
        (forgot(), [{"quantity": 1}], "", "the bill asks for 1 at head, but 2 were missing"),
        (forgot(), [{"quantity": 9, "stage": "sump"}], "", "only at sump"),
        (forgot(), [{"quantity": 9, "build": "B"}], "", "no line or set of the bill has it"),
        (forgot(joint="plug"), [{"quantity": 2, "joint": "plug"}], "bill line", "head, joint plug"),
        (forgot(joint="plug"), [{"quantity": 2}], "bill line", "head, joint plug"),
        (
            forgot(joint="plug"),
            [{"quantity": 2, "joint": "cover"}],
            "",
            "the bill asks for it only at head, joint cover",
        ),
        (forgot(), [{"quantity": 2, "joint": "cover"}], "bill line", "asks for 2 at head"),
        (
            forgot(unit="ml", quantity=5000),
            [{"quantity": 7500}],
            "bill line",
            "the bill asks for 7.5 ml at head",
        ),
        (
            forgot(cause="in the bill but not picked"),
            [{"quantity": 2}],
            "bill line",
            "the kit sheet lists it to be ticked off",
        ),
        (forgot(cause="late"), [{"quantity": 2}], "", "only ordering it in time prevents"),
        (forgot(cause="late"), [], "", "no line or set"),
    ],
)
def test_bill_lines(judged, event, lines, how, reason):
    """By a line at that stage, and joint if noted, with at least what was missing."""
    found = judged(event, lines)
    assert found[0] == how
    assert reason in found[1]


@pytest.mark.parametrize(
    ("cause", "asked", "used", "how", "reason"),
    [
        ("wrong count", 4, 4, "bill line", "asks for 4 at head, and 4 were used"),
        ("wrong count", 3, 4, "", "asks for 3 at head, but 4 were used"),
        ("wrong count", 3, None, "bill line", "asks for 3 at head"),
        ("damaged on fitting", 4, 4, "bill line", "and 4 were used"),
        ("damaged on fitting", 3, 4, "", "but 4 were used"),
        ("damaged on fitting", 4, None, "", "used does not tell"),
    ],
)
def test_counts_are_held_against_what_was_used(judged, cause, asked, used, how, reason):
    rows = [{"entry": 1, "build": "A", "stage": "head", "part": "ring", "quantity": used}]
    found = judged(forgot(cause=cause), [{"quantity": asked}], used=rows if used else [])
    assert found[0] == how
    assert reason in found[1]


@pytest.mark.parametrize(
    ("stand_in", "asked", "how"),
    [
        ({"part": "old", "stand_in": "ring", "kind": "supersedes"}, 2, "bill line"),
        ({"part": "old", "stand_in": "ring", "kind": "supersedes", "give": 2}, 4, "bill line"),
        ({"part": "old", "stand_in": "ring", "kind": "supersedes", "give": 2}, 3, ""),
        ({"part": "ring", "stand_in": "old", "kind": "supersedes"}, 2, ""),
        ({"part": "ring", "stand_in": "old", "kind": "alternate"}, 2, "bill line"),
        ({"part": "ring", "stand_in": "old", "kind": "alternate", "take": 2}, 4, "bill line"),
        ({"part": "ring", "stand_in": "old", "kind": "alternate", "take": 2}, 3, ""),
    ],
)
def test_a_line_for_a_part_that_it_may_serve_for(judged, stand_in, asked, how):
    """The bill asks under the old number; a pack of two old ones may be one ring."""
    found = judged(
        forgot(),
        [{"part": "old", "quantity": asked}],
        stand_ins=[{"take": 1, "give": 1, **stand_in}],
    )
    assert found[0] == how
    if how:
        assert "as old" in found[1]


@pytest.mark.parametrize(
    ("fits", "lines", "how", "reason"),
    [
        ("needed", [], "set content", "top set of the bill contains 3"),
        ("left over", [], "set content", "top set"),
        ("do not fit", [], "", "no line or set"),
        ("needed", [{"quantity": 2, "from_set": "top set"}], "", "only 1 are spare"),
        ("needed", [{"quantity": 1, "from_set": "top set"}], "set content", "contains 2"),
        ("needed", [{"quantity": 3, "from_set": "other"}], "set content", "contains 3"),
    ],
)
def test_set_contents(judged, fits, lines, how, reason):
    """What a set brings beyond the bill's own lines, wherever they are."""
    required = [{"part": "top set", "quantity": 1, "stage": "sump"}]
    required += [{"stage": "sump", **line} for line in lines]
    sets = [{"set": "top set", "part": "ring", "quantity": 3, "fits": fits}]
    found = judged(forgot(), required, sets=sets)
    assert found[0] == how
    assert reason in found[1]


SEAL = {"joint": "plug", "role": "seal"}


@pytest.mark.parametrize(
    ("event", "gap", "how"),
    [
        (forgot(joint="plug", role="seal"), SEAL, "joint role"),
        (forgot(joint="plug", role="seal"), {**SEAL, "level": "warn"}, "joint role"),
        (forgot(joint="plug", role="seal"), {**SEAL, "level": "note"}, ""),
        (forgot(joint="plug", role="seal"), {**SEAL, "check": "used before"}, ""),  # hindsight
        (forgot(joint="plug", role="seal"), {**SEAL, "check": "companions"}, "joint role"),
        (forgot(joint="cover", role="seal"), SEAL, ""),
        (forgot(joint="plug", role="clamp"), SEAL, ""),
        (forgot(joint="plug", role="seal"), {**SEAL, "stage": "sump"}, ""),
        (forgot(joint="plug", role="seal"), {**SEAL, "build": "B"}, ""),
        (forgot(), SEAL, "joint role"),  # an o-ring, and o-rings usually seal a plug
        (forgot(role="seal"), SEAL, "joint role"),
        (forgot(joint="plug"), SEAL, "joint role"),
        (forgot(), {"joint": "plug", "role": "secure"}, ""),
        (forgot(part="stranger"), SEAL, ""),
        (forgot(part="stranger", joint="plug", role="seal"), SEAL, "joint role"),
    ],
)
def test_empty_roles(judged, event, gap, how):
    """The joint and role that were noted, or a role that the part's family usually fills."""
    found = judged(event, gaps=[gap])
    assert found[0] == how
    if how:
        assert found[1] == (
            "the check names seal of plug as empty (usually two O-rings of the right size)"
        )


def test_a_line_is_named_before_a_set_and_a_set_before_a_role(judged):
    required = [{"quantity": 2}, {"part": "top set", "quantity": 1}]
    sets = [{"set": "top set", "part": "ring", "quantity": 3, "fits": "needed"}]
    assert judged(forgot(), required, [SEAL], sets=sets)[0] == "bill line"
    assert judged(forgot(), required[1:], [SEAL], sets=sets)[0] == "set content"


def test_builds_that_were_not_exploded_and_are_not_finished_are_left_out(shop_of, frame_of):
    shop = shop_of(
        builds=[{"build": "A", "assembly": "engine"}, {"build": "B", "assembly": "engine"}],
        forgotten=[forgot(), forgot(entry=2, build="B")],
    )
    required = frame_of("required", {**PLACE, "required": 1, "part": "nut", "quantity": 1})
    frame = caught(shop, required, frame_of("gaps"), frame_of("joint_kinds"))
    assert frame["entry"].tolist() == [1]
    nothing = caught(shop, frame_of("required"), frame_of("gaps"), frame_of("joint_kinds"))
    assert CAUGHT.check(nothing).empty


@pytest.mark.parametrize(
    ("spare", "missing", "how"),
    [(0, 1, ""), (1, 1, "spare policy"), (1, 2, ""), (2, 2, "spare policy")],
)
def test_a_spare_catches_what_is_damaged_on_fitting(judged, spare, missing, how):
    """The rules advise as many as were missing; fewer catch nothing."""
    event = forgot(cause="damaged on fitting", quantity=missing)
    assert judged(event, [{"quantity": 1}], spare=spare)[0] == how


@pytest.mark.parametrize(
    ("order", "how", "reason"),
    [
        (None, "", "only ordering it in time prevents"),
        (("2025-12-01", None), "", "order it by 2025-12-01; when it was ordered is not on record"),
        (("2025-12-01", "2025-12-02"), "order-by day", "it was ordered 2025-12-02"),
        (("2025-12-01", "2025-12-01"), "", "ordered 2025-12-01 and came late all the same"),
        ((None, "2025-12-01"), "", "only ordering it in time prevents"),
        (
            ("2025-12-01", "2025-12-01", "2025-12-09", 0.55, True),
            "chance",
            "ordered 2025-12-01 for 2025-12-09, by today's lead times 55 % sure to be in time",
        ),
        (("2025-12-01", "2025-12-01", "2025-12-09", 0.95, False), "", "came late all the same"),
        (("2025-12-01", "2025-12-02", "2025-12-09", 0.55, True), "order-by day", "2025-12-02"),
    ],
)
def test_a_late_part_is_caught_when_it_was_ordered_too_late(judged, order, how, reason):
    """One that was ordered by the day, and promised with room, is caught by nothing."""
    found = judged(forgot(cause="late"), [{"quantity": 2}], order=order)
    assert found[0] == how
    assert reason in found[1]


@pytest.mark.parametrize(
    ("cause", "joint", "measured", "how"),
    [
        ("measured size", "plug", {"joint": "plug", "parts": "disc; ring"}, "size to measure"),
        ("measured size", "", {"joint": "plug", "parts": "ring"}, "size to measure"),
        ("measured size", "plug", {"joint": "plug", "family": "O-Ring "}, "size to measure"),
        ("measured size", "cover", {"joint": "plug", "parts": "ring"}, ""),
        ("measured size", "plug", {"joint": "plug", "parts": "disc", "family": "o-ring"}, ""),
        ("measured size", "plug", {"assembly": "other", "joint": "plug", "parts": "ring"}, ""),
        ("wrong part", "plug", {"joint": "plug", "parts": "ring"}, ""),
    ],
)
def test_a_size_is_caught_where_the_shop_says_that_it_is_measured(
    judged, cause, joint, measured, how
):
    """The joint's list of sizes, or its family, holds it; listed parts go before the family."""
    rows = [{"assembly": "engine", "stage": "head", **measured}]
    found = judged(
        forgot(cause=cause, joint=joint), [{"stage": "sump", "part": "bolt"}], measured=rows
    )
    assert found[0] == how
    assert ("joint plug" in found[1]) == bool(how)


def count(number, day, before, after):
    """Return one count of the rings in bin A3."""
    return {"count": number, "day": day, "part": "ring", "place": "A3", "before": before,
            "after": after}  # fmt: skip


@pytest.mark.parametrize(
    ("counts", "how", "reason"),
    [
        ([], "", "only ordering it in time prevents"),
        ([count(1, "2025-12-01", 9, 7), count(2, "2026-01-04", 7, 3)], "count", "record was wrong"),
        ([count(1, "2024-12-01", 7, 7), count(2, "2026-01-04", 7, 3)], "count", "2024-12-01, so"),
        ([count(1, "2025-12-01", 7, 7), count(2, "2026-01-04", 7, 3)], "", "only ordering it"),
        ([count(1, "2025-12-01", 9, 7), count(2, "2026-01-04", 7, 7)], "", "only ordering it"),
        ([count(1, "2025-12-01", 9, 7)], "", "only ordering it"),
        ([count(2, "2026-01-04", 9, 3)], "", "only ordering it"),
    ],
    ids=["none", "wrong before", "old", "right before", "right after", "never since", "first"],
)
def test_a_count_catches_what_the_record_only_thought_was_there(judged, counts, how, reason):
    """The bin was one to count first, and the next count found less than the record."""
    found = judged(forgot(cause="late"), [{"quantity": 2}], counts=counts)
    assert found[0] == how
    assert reason in found[1]

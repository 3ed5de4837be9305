"""What builds need: places, closings, conditions, assemblies in assemblies, many builds."""

from __future__ import annotations

from dataclasses import fields
from typing import TYPE_CHECKING

import pandas as pd
import pytest
from bill.sheets import shop, table

from kitting.bill import Bills, explode
from kitting.errors import InputError, LoopError
from kitting.tables import flow

if TYPE_CHECKING:
    from kitting.tables.shop import Shop

CONTRACTS = {
    "choices": flow.CHOICES,
    "joints": flow.BUILD_JOINTS,
    "required": flow.REQUIRED,
    "left_overs": flow.LEFT_OVERS,
    "cautions": flow.CAUTIONS,
    "built_in": flow.BUILT_IN,
}
STAGES = """
    assembly | stage | after | deferred
    engine   | close | open  |
    engine   | open  |       |
    engine   | later | close | yes
"""
JOINTS = """
    assembly | stage | joint  | count | disturbances | when
    engine   | open  | cap    | 4     | 1            |
    engine   | close | head   | 2     | 3            |
    engine   | close | boost  | 1     | 2            | induction=turbo
"""
LINES = """
    assembly | stage | joint | role  | part   | quantity | when
    engine   | close | head  | seal  | GASKET | 1        |
    engine   | close | head  | clamp | BOLT   | 5        |
    engine   | open  | cap   | clamp | CAP    | 2        |
    engine   | open  |       |       | RAG    | 3        |
    engine   | close | boost | seal  | GASKET | 1        |
    engine   | later |       |       | OIL    | 500      |
    engine   | open  |       | tool  | PULLER | 1        | size=large; induction!=turbo
"""
PARTS = """
    part   | single_use
    GASKET | never
    BOLT   | reuse
    CAP    | measure
    RAG    | never
"""
OPTIONS = """
    assembly | option    | choices     | default
    engine   | induction | none; turbo | none
    engine   | size      | small;large | small
"""


def engine(builds: str, **more: str) -> Shop:
    texts = {
        "stages": STAGES,
        "joints": JOINTS,
        "lines": LINES,
        "parts": PARTS,
        "options": OPTIONS,
        "builds": builds,
    }
    return shop(**(texts | more))


def exploded(of: Shop) -> Bills:
    bills = explode(of, of["builds"])
    for name, contract in CONTRACTS.items():
        contract.check(getattr(bills, name))
    return bills


def test_a_line_asks_for_each_place_and_a_single_use_part_for_each_closing() -> None:
    """Quantity x alike places; single use never: x closings; without a joint: as written."""
    bills = exploded(engine("build | assembly\nB1 | engine"))
    assert table(bills.required, "stage", "joint", "part", "quantity", "line", "deferred") == [
        ("open", "cap", "CAP", 8, 3, False),
        ("open", "", "RAG", 3, 4, False),
        ("close", "head", "GASKET", 1 * 2 * 3, 1, False),
        ("close", "head", "BOLT", 5 * 2, 2, False),
        ("later", "", "OIL", 500, 6, True),
    ]
    assert bills.required["required"].tolist() == [1, 2, 3, 4, 5]
    assert bills.findings == ()


def test_lines_of_an_absent_joint_are_absent_and_options_bring_them_back() -> None:
    """The boost joint holds with a turbo only; a condition holds all its parts or not at all."""
    bills = exploded(
        engine(
            "build | assembly | options\nB1 | engine | induction=turbo\nB2 | engine | size=large"
        )
    )
    rows = bills.required.set_index(["build", "part", "joint"])["quantity"]
    assert rows["B1", "GASKET", "boost"] == 2
    assert ("B1", "PULLER", "") not in rows.index
    assert ("B2", "GASKET", "boost") not in rows.index
    assert rows["B2", "PULLER", ""] == 1
    assert table(bills.joints, "build", "joint", "count", "disturbances") == [
        ("B1", "cap", 4, 1),
        ("B1", "head", 2, 3),
        ("B1", "boost", 1, 2),
        ("B2", "cap", 4, 1),
        ("B2", "head", 2, 3),
    ]


def test_a_joint_that_is_never_closed_still_needs_its_parts_once() -> None:
    """A sheet that says no closings does not make a part vanish."""
    zero = JOINTS.replace("| 2     | 3", "| 2     | 0")
    bills = exploded(engine("build | assembly\nB1 | engine", joints=zero))
    assert ("GASKET", 2) in table(bills.required, "part", "quantity")


def test_order_of_rows_is_builds_then_work() -> None:
    """Builds keep their order, stages follow `after` and not the sheet."""
    bills = exploded(engine("build | assembly\nB2 | engine\nB1 | engine"))
    assert bills.required["build"].drop_duplicates().tolist() == ["B2", "B1"]
    assert bills.required["stage"].drop_duplicates().tolist() == ["open", "close", "later"]


NESTED = {
    "stages": """
        assembly | stage
        unit     | top
        gearbox  | g1
        pump     | p1
    """,
    "joints": """
        assembly | stage | joint  | count | disturbances
        unit     | top   | flange | 2     | 5
        gearbox  | g1    | port   | 3     | 2
    """,
    "lines": """
        assembly | stage | joint  | part    | quantity | when
        unit     | top   | flange | gearbox | 1        |
        unit     | top   |        | pump    | 1        |
        unit     | top   |        | SCREW   | 4        |
        gearbox  | g1    | port   | RING    | 1        |
        gearbox  | g1    |        | pump    | 2        | oiling=forced
        pump     | p1    |        | SCREW   | 6        |
    """,
    "parts": "part | single_use\nRING | never\nSCREW | reuse",
    "options": "assembly | option | choices | default\ngearbox | oiling | splash; forced | forced",
}


def test_an_assembly_built_in_twice_and_by_two_ways_is_counted_in_all() -> None:
    """Two gearboxes with two pumps each, and one more pump: five pumps, 30 of their screws."""
    bills = exploded(shop(**NESTED, builds="build | assembly\nB1 | unit"))
    assert table(bills.required, "assembly", "stage", "part", "quantity") == [
        ("pump", "p1", "SCREW", 5 * 6),
        ("gearbox", "g1", "RING", 2 * 3 * 2),
        ("unit", "top", "SCREW", 4),
    ]
    assert table(bills.built_in, "assembly", "stage", "child", "quantity") == [
        ("unit", "top", "gearbox", 2),
        ("unit", "top", "pump", 1),
        ("gearbox", "g1", "pump", 2),
    ]
    assert table(bills.joints, "assembly", "joint", "count", "disturbances") == [
        ("unit", "flange", 2, 5),
        ("gearbox", "port", 6, 2),
    ]


def test_options_of_what_is_built_in_count_and_change_it() -> None:
    """The gearbox's default holds in the unit; the build overrides it."""
    builds = """
        build | assembly | options
        B1    | unit     | oiling=splash
        B2    | gearbox  |
        B3    | pump     |
    """
    bills = exploded(shop(**NESTED, builds=builds))
    rows = bills.required.groupby(["build", "assembly", "part"])["quantity"].sum().to_dict()
    assert rows == {
        ("B1", "unit", "SCREW"): 4,
        ("B1", "gearbox", "RING"): 12,
        ("B1", "pump", "SCREW"): 6,
        ("B2", "gearbox", "RING"): 6,
        ("B2", "pump", "SCREW"): 12,
        ("B3", "pump", "SCREW"): 6,
    }
    assert table(bills.choices, "build", "option", "value") == [
        ("B1", "oiling", "splash"),
        ("B2", "oiling", "forced"),
    ]


def test_an_assembly_that_contains_itself_is_named_in_full() -> None:
    """The loop of assemblies is told from its first to its first."""
    lines = NESTED["lines"] + "\n pump | p1 | | unit | 1 |"
    with pytest.raises(LoopError, match="assemblies go round") as caught:
        exploded(shop(**{**NESTED, "lines": lines}, builds="build | assembly\nB1 | unit"))
    loop = caught.value.loop
    assert loop[0] == loop[-1]
    assert set(loop) <= {"unit", "gearbox", "pump"}
    assert len(loop) >= 3


def test_a_loop_that_no_choice_closes_does_not_stop_a_build() -> None:
    """A spare pump in which the unit never goes, by its options, is no loop."""
    lines = NESTED["lines"] + "\n pump | p1 | | unit | 1 | oiling=never"
    bills = exploded(shop(**{**NESTED, "lines": lines}, builds="build | assembly\nB1 | unit"))
    assert bills.required["quantity"].sum() == 30 + 12 + 4


def test_stages_that_follow_each_other_are_named_in_full() -> None:
    """A circle of stages is an error, not an endless run."""
    stages = "assembly | stage | after\nengine | open | close\nengine | close | open"
    with pytest.raises(LoopError, match="stages go round in a circle: open -> close -> open"):
        exploded(engine("build | assembly\nB1 | engine", stages=stages))


def test_a_quantity_beyond_counting_is_refused() -> None:
    """Nothing wraps round: the product of quantity, places and closings is bounded."""
    huge = LINES.replace("| GASKET | 1 ", f"| GASKET | {2**61} ", 1)
    with pytest.raises(InputError, match="too large to count"):
        exploded(engine("build | assembly\nB1 | engine", lines=huge))


def test_an_unreadable_condition_is_named_with_its_place() -> None:
    """The row of the bill, or the joint; a rule that pulls a part in is named as the rule."""
    builds = "build | assembly\nB1 | engine"
    bad = LINES.replace("size=large; induction!=turbo", "size large")
    with pytest.raises(InputError, match='lines row 7, when: "size large" is not a condition'):
        exploded(engine(builds, lines=bad))
    bad = JOINTS.replace("induction=turbo", "turbo")
    with pytest.raises(InputError, match='joints "boost", when: "turbo" is not a condition'):
        exploded(engine(builds, joints=bad))
    with pytest.raises(InputError, match="rules row 1, when: "):
        exploded(engine(builds, rules="assembly | when | needs_part\nengine | turbo | PIPE"))


def test_an_unknown_assembly_stops_its_build_only() -> None:
    """The other build is planned, the finding offers the nearest name."""
    bills = exploded(engine("build | assembly\nB1 | engin\nB2 | engine"))
    assert set(bills.required["build"]) == {"B2"}
    (finding,) = bills.findings
    assert (finding.level, finding.about) == ("stop", "B1")
    assert "nearest: engine" in finding.message


def test_no_builds_give_empty_tables() -> None:
    """Every contract holds without a row."""
    of = engine("build | assembly\nB1 | engine")
    bills = explode(of, of["builds"].iloc[:0])
    for name, contract in CONTRACTS.items():
        assert contract.check(getattr(bills, name)).empty
    assert {f.name for f in fields(bills)} == {*CONTRACTS, "findings"}


def test_past_builds_explode_as_open_ones_do() -> None:
    """Any rows of the sheet may be asked for; whether they are finished plays no part."""
    now = engine("build | assembly\nB1 | engine")
    then = engine("build | assembly | finished\nB1 | engine | 2026-01-05")
    pd.testing.assert_frame_equal(exploded(now).required, exploded(then).required)


def test_a_thousand_builds_are_a_thousand_times_one() -> None:
    """Builds that choose alike share one explosion, and each has its own rows."""
    text = "\n".join(
        f"B{n:04} | engine | {'induction=turbo' if n % 3 else 'size=large'}" for n in range(1000)
    )
    bills = exploded(engine("build | assembly | options\n" + text))
    alone = {
        n: exploded(engine(f"build | assembly | options\n{row}"))
        for n, row in enumerate(text.splitlines()[:2])
    }
    columns = ["stage", "joint", "part", "quantity"]
    for n in (0, 1, 501, 999):
        rows = bills.required[bills.required["build"] == f"B{n:04}"]
        assert table(rows, *columns) == table(alone[1 if n % 3 else 0].required, *columns)
    assert len(bills.required) == sum(len(alone[1 if n % 3 else 0].required) for n in range(1000))


def test_the_shop_is_left_as_it_was() -> None:
    """No frame that was given is altered."""
    of = engine("build | assembly\nB1 | engine")
    before = {name: frame.copy(deep=True) for name, frame in of.tables.items()}
    exploded(of)
    for name, frame in before.items():
        pd.testing.assert_frame_equal(of[name], frame)

"""Empty roles of joints: found, weighed, waived, and told apart from filled ones."""

from __future__ import annotations

import re

import pytest
from bill.sheets import frame, shop, table

from kitting.bill import explode, gaps, open_builds
from kitting.reading.catalogs import catalogs, explain, joint_kinds
from kitting.tables.extra_sheets import FIGURES
from kitting.tables.flow import GAPS
from kitting.terms.words import Role

KINDS = catalogs()
STAGES = """
    assembly | stage | after
    pump     | fit   |
    pump     | close | fit
"""
BUILDS = """
    build | assembly | priority
    B1    | pump     | 1
"""
PARTS = """
    part  | name                  | family     | single_use
    OR-1  | o-ring 30 x 3 mm      | o-ring     | never
    BU-1  | back-up ring 30 mm    | ring       | never
    SC-1  | screw M6 x 20         | screw      | reuse
    GR-1  | rubber grease         | grease     |
    CL-1  | brake cleaner         | cleaner    |
    SET-1 | pump seal set         | set        |
    TW-1  | torque wrench         | tool       |
"""
RING = """
    assembly | stage | joint | kind             | joins
    pump     | close | ring  | o_ring_in_groove | {joins}
"""
WHOLE = """
    assembly | stage | joint | role      | part | quantity
    pump     | close | ring  | seal      | OR-1 | 1
    pump     | close | ring  | clamp     | SC-1 | 4
    pump     | close | ring  | lubricate | GR-1 | 1
    pump     | close | ring  | prepare   | CL-1 | 1
    pump     | close | ring  | verify    |      | 0
"""


def made(lines: str = WHOLE, joins: str = "cover to body", **sheets: str):
    """Return a shop with one ring joint."""
    given = {"joints": RING.format(joins=joins), "parts": PARTS, "lines": lines} | sheets
    return shop(stages=STAGES, builds=BUILDS, **given)


def found(of, kinds=KINDS):
    return gaps(of, explode(of, open_builds(of)), kinds)


def without(lines: str, *words: str) -> str:
    """Return the lines without those that hold one of the words."""
    return "\n".join(row for row in lines.splitlines() if not any(w in row for w in words))


def roles(of, kinds=KINDS) -> list[tuple]:
    frame = found(of, kinds)
    return table(frame[frame["check"] == "roles"], "joint", "role", "level")


def test_a_whole_joint_has_no_gap() -> None:
    """Five roles asked for, five lines: nothing to say."""
    assert roles(made()) == []


@pytest.mark.parametrize(
    ("word", "role", "level"),
    [
        ("seal", "seal", "stop"),
        ("clamp", "clamp", "warn"),
        ("lubricate", "lubricate", "warn"),
        ("prepare", "prepare", "note"),
        ("verify", "verify", "note"),
    ],
)
def test_each_missing_line_is_an_empty_role(word: str, role: str, level: str) -> None:
    """The gap names joint and role, and weighs as the catalog says."""
    assert roles(made(without(WHOLE, word))) == [("ring", role, level)]


def test_the_message_says_what_is_usual_and_what_to_do() -> None:
    """Place, what is usually there, how many, what to do; the source is the row's own."""
    gap = found(made(without(WHOLE, "seal"))).iloc[0]
    assert 'nothing seals "cover to body"' in gap["message"]
    assert "o-ring by size" in gap["message"]
    assert "waive it with a reason" in gap["message"]
    assert gap["source"] == "NTSB/AAR-84/04 (carrier fitted without its ring)"
    assert "omissions" in explain(gap["check"])


def test_gaps_keep_their_contract() -> None:
    """The frame is table gaps, also when it is empty; stops come first."""
    some = found(made(without(WHOLE, "seal", "verify")))
    assert GAPS.check(some)["level"].tolist()[0] == "stop"
    assert GAPS.check(found(shop())).empty


def test_with_the_kinds_alone_roles_are_still_checked() -> None:
    """Table joint_kinds is enough for roles and unknown kinds."""
    assert roles(made(without(WHOLE, "seal")), joint_kinds()) == [("ring", "seal", "stop")]


def test_an_empty_seal_rises_with_what_it_holds_back() -> None:
    """A sensor's seal is a warn; where fuel is behind it, a stop; oil leaves it a warn."""
    joint = "assembly|stage|joint|kind|joins\npump|close|probe|sensor_or_electrical|{}"
    lines = "assembly|stage|joint|role|part|quantity\npump|close|probe|clamp|SC-1|1"
    levels = []
    for joins in ("probe to body", "probe to fuel rail", "probe to oil gallery"):
        of = made(lines, joints=joint.format(joins))
        levels.append([level for _, role, level in roles(of) if role == "seal"])
    assert levels == [["warn"], ["stop"], ["warn"]]


def test_a_lubricant_for_the_whole_stage_weighs_less() -> None:
    """The gap stays, one step lower, and names what may serve; another stage's does not help."""
    here = without(WHOLE, "lubricate") + "\n    pump | close | | lubricate | GR-1 | 1"
    there = without(WHOLE, "lubricate") + "\n    pump | fit   | | lubricate | GR-1 | 1"
    assert roles(made(here)) == [("ring", "lubricate", "note")]
    assert "rubber grease of the stage may serve" in found(made(here))["message"].iloc[0]
    assert roles(made(there)) == [("ring", "lubricate", "warn")]


def test_a_part_without_its_role_weighs_least() -> None:
    """An o-ring at the joint under no role is most likely the seal: a note that says so."""
    of = made(WHOLE.replace("| seal      | OR-1", "|           | OR-1"))
    assert roles(of) == [("ring", "seal", "note")]
    assert "o-ring 30 x 3 mm may be it: write its role" in found(of)["message"].iloc[0]


def test_a_value_in_the_sheet_of_figures_fills_its_role() -> None:
    """A figure with its value is there; a blank one is asked for and fills nothing."""
    joint = "assembly|stage|joint|kind\npump|close|ring|threaded_port_parallel_crush"
    of = made("assembly|stage|joint|role|part|quantity\npump|close|ring|clamp|SC-1|1", joints=joint)
    sheet = frame(FIGURES, "assembly|joint|what|unit\npump|ring|torque|N m")
    for value, empty in ((25.0, False), (float("nan"), True)):
        told = roles(of.replaced(figures=sheet.assign(value=value)))
        assert (("ring", "figure", "note") in told) is empty


def test_listed_contents_of_a_set_fill_a_role() -> None:
    """A seal set at the joint fills the seal if its list holds one that is needed."""
    lines = WHOLE.replace("| seal      | OR-1", "|           | SET-1")
    sets = "set|part|quantity|fits\nSET-1|OR-1|1|{}"
    assert roles(made(lines, sets=sets.format("needed"))) == []
    assert [r for _, r, _ in roles(made(lines, sets=sets.format("do not fit")))] == ["seal"]


def test_a_part_from_a_set_fills_its_role() -> None:
    """A line that a set supplies is there, though it is not bought alone."""
    lines = WHOLE + "\n    pump | fit | | | SET-1 | 1"
    of = made(lines, sets="set|part|quantity|fits\nSET-1|OR-1|1|needed")
    assert "SET-1" in explode(of, open_builds(of)).required["from_set"].tolist()
    assert roles(of) == []


@pytest.mark.parametrize(
    ("row", "left"),
    [
        ("pump|ring|seal||metal to metal|A. Fitter", []),
        ("pump|ring|seal|B1|metal to metal|A. Fitter", []),
        # a waiver for another build, joint or role does nothing
        ("pump|ring|seal|B2|metal to metal|A. Fitter", ["roles"]),
        ("pump|lid|seal||metal to metal|A. Fitter", ["roles"]),
        ("pump|ring|clamp||metal to metal|A. Fitter", ["roles"]),
        # without reason or signature it does not count, and that is said
        ("pump|ring|seal|||A. Fitter", ["roles", "waiver"]),
        ("pump|ring|seal||metal to metal|", ["roles", "waiver"]),
    ],
)
def test_only_a_signed_waiver_with_a_reason_removes_a_gap(row: str, left: list[str]) -> None:
    """Named place, reason and signature, all three."""
    waivers = "assembly|joint|role|build|reason|signed\n" + row
    frame = found(made(without(WHOLE, "seal"), waivers=waivers))
    told = frame.loc[(frame["role"] == "seal") & frame["check"].isin(["roles", "waiver"]), "check"]
    assert sorted(told) == left


def test_an_unknown_kind_is_told_with_the_nearest() -> None:
    """A misspelt kind is a finding, never a crash; so is none at all."""
    joint = "assembly|stage|joint|kind\npump|close|ring|{}"
    frame = found(made(joints=joint.format("o_ring_in_grove")))
    assert table(frame[frame["check"] == "unknown kind"], "joint", "level") == [("ring", "warn")]
    assert "nearest: o_ring_in_groove" in frame["message"].iloc[0]
    assert "no kind" in found(made(joints=joint.format("")))["message"].iloc[0]


def test_an_unknown_role_is_told_with_the_nearest() -> None:
    """The misspelt role fills nothing, and the finding says which word was meant."""
    frame = found(made(WHOLE.replace("| seal  ", "| seel  ")))
    assert "nearest: seal" in frame.loc[frame["check"] == "unknown role", "message"].iloc[0]
    assert "seal" in frame.loc[frame["check"] == "roles", "role"].tolist()


def test_an_absent_joint_asks_for_nothing() -> None:
    """A joint whose condition does not hold is no joint of this build."""
    joint = "assembly|stage|joint|kind|when\npump|close|ring|o_ring_in_groove|drive=belt"
    options = "assembly|option|choices|default\npump|drive|belt; gear|{}"
    empty = "assembly|stage|part|quantity\npump|fit|SC-1|1"
    assert roles(made(empty, joints=joint, options=options.format("gear"))) == []
    assert len(roles(made(empty, joints=joint, options=options.format("belt")))) == 5


def test_a_check_can_be_switched_off_by_the_shop() -> None:
    """The setting checks_off names checks or marks of rules."""
    lines = without(WHOLE, "seal")
    for name in ("roles", "R1"):
        off = f"setting|value\nchecks_off|chemistry; {name}"
        frame = found(made(lines, shop=off))
        assert "roles" not in frame["check"].tolist()


def test_nothing_given_is_altered() -> None:
    """The frames of the shop and of the bills are the same afterwards."""
    of = made(without(WHOLE, "seal"))
    bills = explode(of, open_builds(of))
    copies = {name: frame.copy() for name, frame in of.tables.items()}
    required = bills.required.copy()
    gaps(of, bills, KINDS)
    assert all(of[name].equals(frame) for name, frame in copies.items())
    assert bills.required.equals(required)


def test_the_catalog_holds_every_kind_with_seal_or_clamp() -> None:
    """Each kind asks for something; only seals, clamps and locks of wired nuts stop a build."""
    kinds = KINDS.kinds
    assert kinds["kind"].nunique() >= 26 + 10
    assert set(kinds["role"]) <= set(Role)
    stops = kinds[kinds["level"] == "stop"]
    assert set(stops["role"]) == {"seal", "clamp", "secure"}
    assert set(stops.loc[stops["role"] == "secure", "kind"]) == {"castellated_or_wired_fastener"}
    assert (kinds["source"] != "").all()
    assert (kinds["usual"] != "").all()


def test_no_expectation_stops_a_build() -> None:
    """Companions warn or note: a usual part is not a needed one."""
    rows = KINDS.expectations
    assert set(rows["level"]) <= {"warn", "note"}
    asked = set(zip(KINDS.kinds["kind"], KINDS.kinds["role"], strict=True))
    told = set(zip(rows["kind"], rows["role"], strict=True))
    assert {pair for pair in told if pair[0]} <= asked
    known = set(KINDS.families["family"])
    for cell in (*rows["family"], *rows["per"]):
        assert {f for f in re.split(r"\s*;\s*", cell) if f} <= known


@pytest.mark.parametrize(
    ("joint", "also", "told"),
    [
        ("valve cover", "", True),
        ("cover of the pump", "", False),
        ("valve cover", "pump | close | valve cover | clamp | GM-1 | 9", False),
    ],
)
def test_a_joint_s_name_says_what_is_usual(joint: str, also: str, told: bool) -> None:
    """A valve cover has something under its screws; another cover may have nothing there."""
    lines = f"""
        assembly | stage | joint   | role  | part | quantity
        pump     | close | {joint} | clamp | SB-1 | 9
        {also}
    """
    joints = RING.format(joins="cover to body").replace("ring ", f"{joint} ", 1)
    parts = PARTS + "SB-1 | shoulder bolt | bolt |\n    GM-1 | bolt grommet | grommet |"
    of = shop(stages=STAGES, builds=BUILDS, joints=joints, parts=parts, lines=lines)
    said = found(of)
    said = said[(said["role"] == "clamp") & (said["check"] == "companions")]
    assert said["message"].str.contains("under its screws").any() == told


def test_a_content_that_no_line_claims_may_be_what_is_missing() -> None:
    """The set of the stage holds a ring for the pump and no line asks for it: a note, no stop."""
    lines = without(WHOLE, "seal") + "\n    pump | fit | | | SET-1 | 1"
    of = made(lines, sets="set|part|quantity|fits\nSET-1|OR-1|1|needed")
    assert roles(of) == [("ring", "seal", "note")]
    assert "o-ring 30 x 3 mm in pump seal set may be it" in found(of)["message"].str.cat()
    other = made(lines, sets="set|part|quantity|fits\nSET-1|SC-1|9|needed")
    assert roles(other) == [("ring", "seal", "stop")]


def test_sealant_for_the_stage_does_not_stand_in_for_a_gasket() -> None:
    """A gasket is missing: silicone listed for the stage leaves the stop; for a bead it serves."""
    parts = PARTS + "    RTV | silicone sealant | sealant |"
    joint = "assembly|stage|joint|kind\npump|close|ring|{}"
    lines = "assembly|stage|joint|role|part|quantity\npump|close||seal|RTV|1"
    levels = [
        [level for _, role, level in roles(made(lines, joints=joint.format(kind), parts=parts))
         if role == "seal"]
        for kind in ("flange_flat_gasket", "flange_liquid_gasket")
    ]  # fmt: skip
    assert levels == [["stop"], ["warn"]]

"""Names that one sheet uses and another must hold."""

from __future__ import annotations

import pytest

LINE = "assembly,stage,joint,part,quantity\n"
ORDER = "order,line,supplier,part,quantity,ordered,build\n"
RECEIPT = "receipt,order,line,part,quantity,received\n"


@pytest.mark.parametrize(
    ("sheets", "place", "says"),
    [
        ({"lines": f"{LINE}Eng,build,,0021,1\n"}, "lines row 2, part", "nearest: 0012"),
        ({"lines": f"{LINE}Eng,bild,,0012,1\n"}, "lines row 2, stage", "nearest: build"),
        ({"lines": f"{LINE}Eng,build,rear seal,0012,1\n"}, "lines row 2, joint", "front seal"),
        ({"lines": f"{LINE}Engine,build,,0012,1\n"}, "lines row 2, stage", '"Engine" has no row'),
        ({"sets": "set,part,quantity\nKITT,0012,1\n"}, "sets row 2, set", "nearest: KIT"),
        ({"sets": "set,part,quantity\nKIT,0013,1\n"}, "sets row 2, part", "nearest: 0012"),
        ({"stand_ins": "part,stand_in,kind\nA,0012,alternate\n"}, "stand_ins row 2, part", "A"),
        ({"stand_ins": "part,stand_in,kind\n0012,B,alternate\n"}, "stand_ins row 2, stand_in", "B"),
        ({"offers": "supplier,part,price,lead_days\nAcer,0012,1,1\n"},
         "offers row 2, supplier", "Acre"),
        ({"stock": "part,quantity\n13,1\n"}, "stock row 2, part", '"13"'),
        ({"stock": "part,quantity,held_for\n0012,1,B2\n"}, "stock row 2, held_for", "B1"),
        ({"joints": "assembly,stage,joint,kind\nEng,buidl,front seal,k\nEng,build,cover,k\n"},
         "joints row 2, stage", "nearest: build"),
        ({"stages": "assembly,stage,after\nEng,strip,\nEng,build,stripp\nBox,fit,\n"},
         "stages row 3, after", "nearest: strip"),
        ({"rules": "assembly,needs_part\nEng,0013\n"}, "rules row 2, needs_part", "0012"),
        ({"rules": "assembly,stage,caution\nEng,x,mind\n"}, "rules row 2, stage", '"x"'),
        ({"rules": "assembly,caution\nEgn,mind\n"}, "rules row 2, assembly", "nearest: Eng"),
        ({"rules": "assembly,forbids\nEng,0013\n"}, "rules row 2, forbids", "neither option=value"),
        ({"options": "assembly,option,choices\nEng,cooling,water; air\nX,b,c\n"},
         "options row 3, assembly", '"X"'),
        ({"builds": "build,assembly,start\nB1,Egn,2026-03-09\n"}, "builds row 2, assembly", "Eng"),
        ({"orders": f"{ORDER}K1,1,Acer,0012,1,2026-03-02,\n"}, "orders row 2, supplier", "Acre"),
        ({"orders": f"{ORDER}K1,1,Acre,12,1,2026-03-02,\n"}, "orders row 2, part", "0012"),
        ({"orders": f"{ORDER}K1,1,Acre,0012,1,2026-03-02,B2\n"}, "orders row 2, build", "B1"),
        ({"receipts": f"{RECEIPT}R1,K9,,0012,1,2026-03-02\n"}, "receipts row 2, order", "K9"),
        ({"orders": f"{ORDER}K1,1,Acre,0012,1,2026-03-02,\n",
          "receipts": f"{RECEIPT}R1,K1,2,0012,1,2026-03-03\n"},
         "receipts row 2, line", "no line 2"),
        ({"forgotten": "build,part,cause,stage\nB1,0012,late,fitt\n"},
         "forgotten row 2, stage", "nearest: fit"),
        ({"forgotten": "build,part,cause\nB9,0012,late\n"}, "forgotten row 2, build", "B9"),
        ({"used": "build,part,quantity,joint\nB1,0012,1,frnt seal\n"},
         "used row 2, joint", "front"),
        ({"waivers": "assembly,joint,role,reason,signed\nEng,covr,seal,r,s\n"},
         "waivers row 2, joint", "nearest: cover"),
    ],
)  # fmt: skip
def test_unknown_names(told, sheets: dict[str, str], place: str, says: str) -> None:
    """Each is one stop at its cell, with the nearest name where there is one."""
    (finding,) = told(**sheets)
    assert finding.startswith(f"stop {place}: ")
    assert says in finding


def test_a_build_reaches_stages_of_what_is_built_in(told) -> None:
    """A forgotten part may belong to an assembly that the build's assembly contains."""
    assert told(forgotten="build,part,cause,stage\nB1,0012,late,fit\nB1,0012,late,strip\n") == []


def test_a_forgotten_part_may_be_new(read) -> None:
    """What was forgotten may never have been in the parts; that is only a warning."""
    reading = read(forgotten="build,part,cause\nB1,hose clip,not in the bill\n")
    assert reading.ok
    assert reading.frames["forgotten"]["quantity"].tolist() == [1]
    assert [f.level for f in reading.findings] == ["warn"]


def test_a_missing_sheet_is_told_once(told) -> None:
    """Without parts, each sheet that names parts says so in one line."""
    assert told(parts=None, sets=None, offers=None, joints=None, lines=f"{LINE}Eng,build,,A,1\n"
                "Eng,build,,B,1\nEng,build,,C,1\nEng,build,,D,1\nEng,build,,Box,1\n") == [
        "stop lines row 2, part: there is no sheet parts, which must hold each part named here "
        "(A, B, C ...); add it (also rows 3, 4 and 5)"
    ]  # fmt: skip


def test_every_fault_of_every_sheet_in_one_go(read) -> None:
    """Faults of cells, columns and across sheets come together."""
    findings = read(
        parts="part,unit\n0012,furlong\n1E5,\n3-4,\nRTV,ml\nKIT,\n",
        lines=f"{LINE}Eng,build,,0013,1\nEng,build,,0012,x\n",
        offers="supplier,part\nAcre,0012\n",
        suppliers="supplier,freight\nAcre,free\n",
    ).findings
    assert {(f.sheet, f.row, f.column) for f in findings} == {
        ("parts", 2, "unit"),
        ("lines", 2, "part"),
        ("lines", 3, "quantity"),
        ("offers", 1, "price"),
        ("offers", 1, "lead_days"),
        ("suppliers", 2, "freight"),
    }


def test_joint_kinds_are_checked_when_they_are_given(told) -> None:
    """A kind that the catalog does not hold is told with the nearest."""
    assert told(kinds=frozenset({"radial_lip_seal_in_bore", "flange_liquid_gasket"})) == []
    (finding,) = told(kinds=frozenset({"radial_lip_seal_in_bore", "flange_flat_gasket"}))
    assert finding.startswith("stop joints row 3, kind: joint kind")
    assert "nearest: flange_flat_gasket" in finding


@pytest.mark.parametrize(
    ("stages", "says"),
    [
        ("Eng,strip,build\nEng,build,strip\nBox,fit,\n", "build -> strip -> build"),
        ("Eng,strip,\nEng,build,build\nBox,fit,\n", "build -> build"),
        ("Eng,strip,c\nEng,build,strip\nEng,c,build\nBox,fit,\n", "build -> strip -> c -> build"),
    ],
)
def test_stages_in_a_circle(told, stages: str, says: str) -> None:
    """Stages that wait for each other are named in full, each waiting for the next."""
    (finding,) = told(stages=f"assembly,stage,after\n{stages}")
    assert f'stages of "Eng" wait for each other in a circle: {says};' in finding


def test_assemblies_in_a_circle(told) -> None:
    """Assemblies built into each other are named in full at a line of the circle."""
    lines = f"{LINE}Eng,build,,Box,1\nBox,fit,,Pump,1\nPump,turn,,Box,1\nPump,turn,,0012,1\n"
    stages = "assembly,stage\nEng,strip\nEng,build\nBox,fit\nPump,turn\n"
    assert told(lines=lines, stages=stages) == [
        "stop lines row 3, part: assemblies are built into each other in a circle: "
        "Box -> Pump -> Box; take one of them out"
    ]


def test_sets_in_a_circle(told) -> None:
    """Sets that contain each other are named in full."""
    (finding,) = told(sets="set,part,quantity\nKIT,0012,1\n0012,3-4,1\n3-4,KIT,1\n")
    assert "sets contain each other in a circle: 0012 -> 3-4 -> KIT -> 0012;" in finding


def test_every_circle_is_told(told) -> None:
    """Two circles are two findings."""
    stages = "Eng,strip,strip\nEng,build,strip\nBox,fit,b\nBox,b,fit\n"
    found = told(stages=f"assembly,stage,after\n{stages}")
    assert [t.split("circle: ")[1].split(";")[0] for t in found] == [
        "strip -> strip",
        "b -> fit -> b",
    ]

"""Sheets that a shop may do without, and quantities that are computed and so left blank."""

from __future__ import annotations

import pandas as pd
import pytest

from kitting.reading import read_sheets, write_sheets
from kitting.tables.shop import EXTRA_SHEETS, Shop, empty_shop

LINES = "assembly,stage,joint,role,part,quantity\n"
AMOUNTS = "assembly,stage,joint,part,way,count,length,diameter,thread,quantity,unit,share\n"
BEAD = AMOUNTS + "Eng,,cover,RTV,bead,,1600,3,,,,\n"
EXTRA = {
    "openings": "assembly,casting,opening,size,opens_to,ends_in\nEng,block,h1,M8x25,oil,cover\n",
    "circuits": "assembly,circuit,stage,part,quantity,unit,fills,filter,grade\n"
    "Eng,oil,build,RTV,2,l,3,none,SAE 40\n",
    "temporary": "assembly,part,stage,joint,removed_in\nEng,3-4,strip,,build\n",
    "outwork": "assembly,job,joint,part,quantity,fate\nEng,3-4,cover,1E5,2,returns\n",
    "amounts": BEAD,
    "fluids": "part,kind,grade,viscosity_100,zinc_ppm\nRTV,engine oil,SAE 40,14.2,1200\n",
    "figures": "assembly,joint,what,thread,class,value,unit,source,page\n"
    "Eng,cover,torque,M6,8.8,10,N m,manual,12\n",
    "measured": "assembly,stage,joint,parts,sizes,middle,spread\n"
    "Eng,strip,cover,3-4; 1E5,2.10; 2.15,2.12,0.02\n",
    "dates": "build,assembly,stage,not_before,not_after\nB1,Eng,build,2026-03-10,2026-03-20\n",
    "pulleys": "assembly,joint,pulley,x,y,diameter,turn\nEng,cover,idler,-120.5,80,60,back\n",
    "belts": "part,length,ribs\n3-4,1125,6\n",
}


def test_a_shop_may_do_without_them(read) -> None:
    """Without the extra sheets a shop is whole, and asking for one gives an empty frame."""
    shop = empty_shop().replaced(**read().frames).check()
    for table in EXTRA_SHEETS:
        assert not shop.has(table.name)
        table.check(shop[table.name])


def test_they_are_read_and_written_back(read, tmp_path) -> None:
    """Every extra sheet reads without a finding and comes back the same."""
    reading = read(**EXTRA)
    assert reading.findings == ()
    shop = Shop({**empty_shop().tables, **reading.frames}).check()
    write_sheets(shop, tmp_path / "out")
    again = read_sheets(tmp_path / "out")
    assert again.findings == ()
    for name in EXTRA:
        assert len(shop[name]) == 1
        pd.testing.assert_frame_equal(again.frames[name], shop[name])


def test_a_blank_stays_blank(read) -> None:
    """A blank quantity or count of an extra sheet is missing, not nothing."""
    frames = read(amounts=BEAD).frames
    assert frames["amounts"][["count", "quantity"]].isna().all(axis=None)


@pytest.mark.parametrize(
    ("line", "amounts"),
    [
        ("Eng,build,cover,seal,RTV,\n", "Eng,,cover,RTV,bead,,1600,3,,,,\n"),
        ("Eng,build,cover,seal,RTV,\n", "Eng,build,cover,RTV,bead,,1600,3,,,,\n"),
        ("Eng,build,,,RTV,\n", "Eng,build,,RTV,fill,,,,,2,l,\n"),
        ("Eng,build,,,RTV,\n", "Eng,,,RTV,mix,,,,,9,l,0.5\n"),
    ],
)
def test_a_computed_line_may_be_blank(read, line: str, amounts: str) -> None:
    """Where the sheet amounts has the joint, or the stage, and the part, a line needs no number."""
    reading = read(lines=LINES + line, amounts=AMOUNTS + amounts)
    assert reading.findings == ()
    assert reading.frames["lines"]["quantity"].tolist() == [0]


def test_a_line_of_a_circuits_fluid_may_be_blank(read) -> None:
    """A circuit with a quantity gives one fill to the lines of its fluid without a joint."""
    assert read(lines=LINES + "Eng,build,,,RTV,\n", circuits=EXTRA["circuits"]).ok
    without = EXTRA["circuits"].replace("RTV,2,l", "RTV,,l")
    assert not read(lines=LINES + "Eng,build,,,RTV,\n", circuits=without).ok
    assert not read(lines=LINES + "Eng,build,cover,,RTV,\n", circuits=EXTRA["circuits"]).ok


def test_what_the_shop_holds_counts(read) -> None:
    """A sheet of lines read alone may leave blank what the shop's amounts compute."""
    known = empty_shop().replaced(**read(amounts=BEAD, circuits=EXTRA["circuits"]).frames)
    lines = LINES + "Eng,build,cover,seal,RTV,\nEng,build,,,RTV,\n"
    assert read(lines=lines, known=known, only=True).ok


@pytest.mark.parametrize(
    ("amounts", "column", "message"),
    [
        ("Eng,,cover,RTV,bead,,1600,,,,,\n", "diameter", "bead needs the diameter"),
        ("Eng,,cover,RTV,bead,,0,3,,,,\n", "length", "bead needs the length"),
        ("Eng,,cover,RTV,thread,4,,,8 mm,,,\n", "thread", "not a metric thread"),
        ("Eng,,cover,RTV,mix,,,,,9,l,50\n", "share", "50 is above 1"),
        ("Eng,,cover,RTV,mix,,,,,9,l,\n", "share", "mix needs the share"),
        ("Eng,,cover,1E5,bead,,1600,3,,,,\n", "part", "counted in piece"),
        ("Eng,,cover,RTV,smear,,1600,3,,,,\n", "way", "nearest: "),
        ("Eng,,covr,RTV,bead,,1600,3,,,,\n", "joint", "nearest: cover"),
        ("Eng,,cover,RTW,bead,,1600,3,,,,\n", "part", "nearest: RTV"),
    ],
)
def test_rows_that_cannot_be_computed(read, amounts: str, column: str, message: str) -> None:
    """Whatever an amount lacks is one stop at its cell."""
    found = [f for f in read(amounts=AMOUNTS + amounts).findings if f.level == "stop"]
    assert [(f.sheet, f.column) for f in found] == [("amounts", column)]
    assert message in found[0].message or message == "nearest: "


@pytest.mark.parametrize(
    ("sheet", "good", "bad"),
    [
        ("circuits", "Eng,oil,build,RTV", "Eng,oil,bild,RTV"),
        ("circuits", "build,RTV", "build,RTW"),
        ("temporary", "Eng,3-4,strip,,build", "Eng,3-4,strip,,fly"),
        ("outwork", "Eng,3-4,cover,1E5", "Eng,3-4,cover,1E6"),
        ("fluids", "RTV,engine oil", "RTW,engine oil"),
        ("figures", "Eng,cover", "Eng,cvr"),
    ],
)
def test_names_of_extra_sheets_resolve(read, sheet: str, good: str, bad: str) -> None:
    """A stage, joint or part that is nowhere is told with the nearest."""
    assert good in EXTRA[sheet]
    found = read(**{sheet: EXTRA[sheet].replace(good, bad)}).findings
    assert [(f.level, f.sheet) for f in found] == [("stop", sheet)]


@pytest.mark.parametrize(
    ("row", "says"),
    [
        ("Eng,drive,idler,1,1,60,back,", 'joint "drive" of assembly "Eng" is not in the sheet'),
        ("Eng,cover,idler,1,1,60,outside,", '"outside"'),
        ("Eng,cover,idler,1,1,60,back,coling=air", 'option "coling" is not in the sheet options'),
        ("Eng,cover,idler,1,1,-60,back,", "is below 0"),
    ],
)
def test_pulleys_name_what_there_is(read, row: str, says: str) -> None:
    """Joint, side of the belt and option are known; a diameter is not below zero."""
    head = "assembly,joint,pulley,x,y,diameter,turn,when\n"
    findings = read(pulleys=f"{head}{row}\n").findings
    assert [f.level for f in findings] == ["stop"]
    assert says in findings[0].message


def test_two_rows_of_a_pulley_differ_in_their_condition(read) -> None:
    """One pulley may have another diameter under another option, and the order of rows stays."""
    head = "assembly,joint,pulley,diameter,when\n"
    rows = "Eng,cover,pump,136,cooling=air\nEng,cover,crank,150,\nEng,cover,pump,114,cooling!=air"
    reading = read(pulleys=f"{head}{rows}\n")
    assert reading.findings == ()
    assert reading.frames["pulleys"]["pulley"].tolist() == ["pump", "crank", "pump"]
    assert set(reading.frames["pulleys"]["turn"]) == {"inside"}

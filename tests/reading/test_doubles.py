"""Rows that say the same thing twice, and numbers that may be one."""

from __future__ import annotations

import pytest


@pytest.mark.parametrize(
    ("sheet", "text", "says"),
    [
        ("parts", "part,name\nA,x\nB,y\nA,z\n", "row 2 has the same part A"),
        ("sets", "set,part,quantity\nA,B,1\nC,B,1\nA,B,2\n", "same set A, part B, fits needed"),
        ("stock", "part,quantity\nA,1\nB,2\nA,3\n", "row 2 has the same part A"),
        ("shop", "setting,value\nname,a\naddress,b\nname,c\n", "row 2 has the same setting name"),
        ("closures", "calendar,day\nshop,2026-12-24\nshop,2026-12-25\nshop,2026-12-24\n", "row 2"),
    ],
)
def test_the_same_key_twice(told, sheet: str, text: str, says: str) -> None:
    """The later row is told and names the first one; both are one thing."""
    found = [t for t in told(only=True, **{sheet: text}) if "has the same" in t]
    assert len(found) == 1
    assert found[0].startswith(f"stop {sheet} row 4, ")
    assert says in found[0]


def test_the_first_of_two_stands(read) -> None:
    """What is left over still meets the contract."""
    parts = read(only=True, parts="part,name\nA,x\nA,y\n").frames["parts"]
    assert parts["name"].tolist() == ["x"]


LINES = "assembly,stage,part,quantity,line\nEng,build,1E5,4,{}\nEng,build,1E5,4,{}\n"


def test_the_same_line_twice(told) -> None:
    """Two lines that are the same in everything may be a slip of the copying hand."""
    (finding,) = told(lines=LINES.format("", ""), joints=None)
    assert finding.startswith("stop lines row 3: the row is the same as row 2; take one out, or")


def test_numbered_lines_may_be_alike(told) -> None:
    """Rows with numbers of their own are meant; one number twice is not."""
    assert told(lines=LINES.format(1, 2), joints=None) == []
    (finding,) = told(lines=LINES.format(1, 1), joints=None)
    assert "row 2 has the same line 1" in finding


def test_what_happened_twice_may_be_so(read) -> None:
    """The same part forgotten twice is told as a warning and kept."""
    reading = read(forgotten="build,part,cause\nB1,0012,late\nB1,0012,late\n")
    assert reading.ok
    assert len(reading.frames["forgotten"]) == 2
    assert [f.row for f in reading.findings] == [3]


def test_look_alikes_are_proposed_and_not_merged(read) -> None:
    """Numbers that differ by case, spaces or dashes are told together; both stay."""
    reading = read(only=True, parts="part\nAB-12\nXY\nab 12\nAB12\n")
    assert reading.ok
    assert len(reading.frames["parts"]) == 4
    (finding,) = reading.findings
    assert finding.level == "warn"
    assert finding.message.startswith('"AB-12", "ab 12", "AB12" differ only by case, spaces')
    assert finding.message.endswith("(also rows 4 and 5)")


def test_assemblies_that_look_alike(read) -> None:
    """Two spellings of an assembly are told, since each would be one of its own."""
    stages = "assembly,stage\nEng,strip\nEng,build\nBox,fit\neng,strip\n"
    findings = read(stages=stages).findings
    assert [f.level for f in findings] == ["warn"]
    assert '"Eng", "eng" differ only by case' in findings[0].message


def test_suppliers_that_look_alike(read) -> None:
    """Two spellings of a supplier are told, since each would get an order of its own."""
    suppliers = "supplier,name,currency,calendar\nAcme,A,EUR,GB-ENG\nACME,A,EUR,GB-ENG\n"
    messages = [f.message for f in read(suppliers=suppliers).findings]
    assert any('"Acme", "ACME" differ only by case' in message for message in messages)


def test_names_nearly_the_same_are_a_note(read) -> None:
    """Of one maker, and only when the numerals agree: M8 x 20 is not M8 x 25."""
    text = """part,name,maker
A1,hexagon screw M8 x 20 zinc,Kelvane
A2,hexagon screws M8 x 20 zinc,Kelvane
A3,hexagon screw M8 x 25 zinc,Kelvane
A4,hexagon screw M8 x 20 zinc,Harl
A5,hexagon screw M8 x 20 zinc,
"""
    (finding,) = read(only=True, parts=text).findings
    assert finding.level == "note"
    assert '"A1" and "A2" of Kelvane have nearly the same name' in finding.message


def test_proposals_are_bounded(read) -> None:
    """A hundred twins do not drown the rest."""
    rows = "".join(f"P{chr(65 + i // 26)}{chr(65 + i % 26)}X,thrust washer,K\n" for i in range(60))
    assert len(read(only=True, parts=f"part,name,maker\n{rows}").findings) == 20


def test_a_part_that_is_an_assembly_too(read) -> None:
    """A line that names both builds the assembly in; that is said."""
    reading = read(parts="part,unit\n0012,\n1E5,\n3-4,\nRTV,ml\nKIT,\nBox,\n")
    assert [(f.level, f.sheet, f.row) for f in reading.findings] == [("warn", "lines", 5)]
    assert '"Box" is both a part and an assembly' in reading.findings[0].message

"""Options, conditions on them, and builds' choices."""

from __future__ import annotations

import pytest

LINE = "assembly,stage,part,quantity,when\n"
OPTION = "assembly,option,choices,default\n"


@pytest.mark.parametrize(
    ("when", "says"),
    [
        ("coling=water", 'option "coling" is not in the sheet options'),
        ("cooling=watr", '"watr" is not a choice of option "cooling" (water; air); correct it'),
        ("cooling!=wind", '"wind" is not a choice of option "cooling"'),
        ("cooling", '"cooling" is not a condition; write option=value'),
        ("cooling=", '"cooling=" is not a condition'),
        ("cooling=water; cooling=air", "can never hold: no value of cooling is left"),
        ("cooling=air; cooling!=air", "can never hold"),
        ("cooling!=air,water", "can never hold"),
    ],
)
def test_conditions_that_cannot_be(told, when: str, says: str) -> None:
    """Unknown options and values, other syntax and contradictions are told, wherever they are."""
    rule = f'assembly,when,caution\nEng,"{when}",mind\n'
    joint = f'assembly,stage,joint,kind,when\nEng,build,front seal,k,"{when}"\nEng,build,cover,k,\n'
    line = f'{LINE}Eng,build,0012,1,"{when}"\n'
    for sheet, text in (("rules", rule), ("joints", joint), ("lines", line)):
        (finding,) = told(**{sheet: text})
        assert finding.startswith(f"stop {sheet} row 2, when: ")
        assert says in finding


@pytest.mark.parametrize(
    "when",
    ["", "cooling=water", "cooling=air,water", "cooling!=air", "cooling=air; cooling!=water"],
)
def test_conditions_that_can_be(told, when: str) -> None:
    """A condition that some choice meets is fine."""
    assert told(lines=f'{LINE}Eng,build,0012,1,"{when}"\n', joints=None) == []


def test_an_option_without_a_default_may_have_no_value(told) -> None:
    """``!=`` of every choice holds while nothing is chosen."""
    text = f'{LINE}Eng,build,0012,1,"cooling!=air,water"\n'
    assert told(lines=text, joints=None, options=f"{OPTION}Eng,cooling,water; air,\n") == []


@pytest.mark.parametrize(
    ("row", "column", "says"),
    [
        ("Eng,cooling,water; air,oil", "default", 'the default "oil" is not one of its choices'),
        ("Eng,cooling,water; air; water,air", "choices", "holds a choice twice"),
        ("Eng,cooling,water; air=1,water", "option", "holds = or !"),
    ],
)
def test_options_that_cannot_be(told, row: str, column: str, says: str) -> None:
    """A default must be a choice; choices differ; marks of conditions are no part of names."""
    found = told(options=f"{OPTION}{row}\n", builds=None)
    assert [t for t in found if t.startswith(f"stop options row 2, {column}: ") and says in t]


@pytest.mark.parametrize(
    ("options", "says"),
    [
        ("cooling=oil", '"oil" is not a choice of option "cooling"'),
        ("colour=red", 'option "colour" is not in the sheet options'),
        ("cooling!=air", "must give each option one value"),
        ("cooling=air; cooling=water", "has two values"),
    ],
)
def test_builds_choose_what_there_is(told, options: str, says: str) -> None:
    """A build's choices are checked; of a finished build a lost option is only a warning."""
    head = "build,assembly,options,start,finished\n"
    (finding,) = told(builds=f"{head}B1,Eng,{options},2026-03-09,\n")
    assert finding.startswith("stop builds row 2, options: ")
    assert says in finding
    (finding,) = told(builds=f"{head}B1,Eng,{options},2026-03-09,2026-04-09\n")
    assert finding.startswith("warn builds row 2, options: ")


def test_a_build_may_choose_for_what_is_built_in(told) -> None:
    """Options of an assembly inside belong to the build; those of others do not."""
    options = f"{OPTION}Eng,cooling,water; air,water\nBox,shim,thick; thin,thick\n"
    builds = "build,assembly,options,start\nB1,Eng,shim=thin,2026-03-09\nB2,Box,{},2026-03-09\n"
    assert told(options=options, builds=builds.format("shim=thin")) == []
    (finding,) = told(options=options, builds=builds.format("cooling=air"))
    assert finding.startswith("stop builds row 3, options: ")


@pytest.mark.parametrize(
    ("column", "cell", "says"),
    [
        ("needs_option", "cooling=wind", "is not a choice"),
        ("needs_option", "cooling!=air", "must give each option one value"),
        ("forbids", "cooling=wind", "is not a choice"),
        ("forbids", "0013", "neither option=value nor a part"),
    ],
)
def test_what_rules_need_and_forbid(told, column: str, cell: str, says: str) -> None:
    """A rule names options, choices and parts that there are."""
    (finding,) = told(rules=f"assembly,{column}\nEng,{cell}\n")
    assert finding.startswith(f"stop rules row 2, {column}: ")
    assert says in finding


@pytest.mark.parametrize("forbids", ["cooling=air", "0012", "Box"])
def test_rules_forbid_options_parts_and_assemblies(told, forbids: str) -> None:
    """Each of the three is known."""
    assert told(rules=f"assembly,forbids\nEng,{forbids}\n") == []


def test_rules_that_ask_for_nothing(told) -> None:
    """A rule without need, ban or caution is a warning."""
    (finding,) = told(rules="assembly,when\nEng,cooling=air\n")
    assert finding.startswith("warn rules row 2: the rule asks for nothing")


def test_conditions_without_any_options(told) -> None:
    """When there is no sheet of options at all, that is what is told."""
    found = told(options=None, builds=None)
    assert all("there is no sheet options, which must hold" in t for t in found)
    assert len(found) == 2


@pytest.mark.parametrize("when", ["use=road", "use!=Road,race; cooling=air", "use=a; use=b"])
def test_the_use_of_a_build_may_be_anything(told, when: str) -> None:
    """It is free text of the sheet builds, and needs no row in options."""
    assert told(lines=f'{LINE}Eng,build,0012,1,"{when}"\n', joints=None) == []
    assert told(rules=f'assembly,when,needs_option\nEng,"{when}",use=off-road\n') == []
    assert told(rules="assembly,forbids\nEng,use=road\n") == []


def test_a_use_that_can_never_be(told) -> None:
    """Asked for and excluded at once."""
    (finding,) = told(lines=f'{LINE}Eng,build,0012,1,"use=road; use!=road,race"\n', joints=None)
    assert "can never hold: no value of use is left" in finding

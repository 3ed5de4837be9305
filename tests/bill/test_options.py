"""Open builds, their choices, and what is wrong with them."""

from __future__ import annotations

import pytest
from bill.sheets import shop, table

from kitting.bill import explode, open_builds
from kitting.bill.options import reachable, resolve

LINES = """
    assembly | stage | part    | when
    unit     | s     | gearbox |
    gearbox  | s     | pump    | oiling=forced
    pump     | s     | SCREW   |
    spare    | s     | pump    |
"""
OPTIONS = """
    assembly | option | choices        | default
    unit     | use    | road; marine   | road
    gearbox  | oiling | splash; forced | splash
    pump     | side   | left; right    |
    spare    | colour | red            | red
"""


def settled(builds: str, options: str = OPTIONS) -> tuple:
    of = shop(lines=LINES, options=options, builds="build | assembly | options\n" + builds)
    return resolve(of, of["builds"])


def test_open_builds_come_in_order_of_service() -> None:
    """By priority, then start with unknown ones last, then name; finished ones are left out."""
    of = shop(
        builds="""
            build | assembly | start      | priority | finished
            B5    | unit     | 2026-03-02 | 2        |
            B4    | unit     | 2026-03-02 | 2        |
            B3    | unit     |            | 2        |
            B2    | unit     | 2026-02-02 | 1        | 2026-02-20
            B1    | unit     | 2026-05-04 | 1        |
        """
    )
    assert open_builds(of)["build"].tolist() == ["B1", "B4", "B5", "B3"]
    assert open_builds(of).index.tolist() == [0, 1, 2, 3]


def test_everything_below_an_assembly_is_reached_whatever_the_conditions() -> None:
    """Level by level; what only an option builds in counts too."""
    of = shop(lines=LINES)
    assert reachable(of, ["unit", "pump"]) == {
        "unit": ("unit", "gearbox", "pump"),
        "pump": ("pump",),
    }


def test_a_rule_may_reach_an_assembly() -> None:
    """A part that a rule needs may be an assembly."""
    of = shop(lines=LINES, rules="assembly | needs_part\nunit | spare")
    assert reachable(of, ["unit"])["unit"] == ("unit", "gearbox", "spare", "pump")


def test_defaults_of_all_below_are_filled_in_and_overridden() -> None:
    """Options of assemblies that are not below play no part."""
    _, choices, findings = settled("B1 | unit | oiling = forced; side=left")
    assert table(choices, "build", "option", "value") == [
        ("B1", "use", "road"),
        ("B1", "oiling", "forced"),
        ("B1", "side", "left"),
    ]
    assert findings == []


def test_builds_that_choose_alike_share_a_variant() -> None:
    """However the choice is written: as default, in another order, with blanks."""
    variants, _, _ = settled(
        "B1 | unit | side=left; use=road\nB2 | unit | side=right\n"
        "B3 | unit | use = road;side=left\nB4 | unit | side=left"
    )
    assert len(variants) == 2
    assert variants.of_build.tolist() == [0, 1, 0, 0]


def messages(builds: str, options: str = OPTIONS) -> list[tuple[str, str]]:
    return [(f.level, str(f)) for f in settled(builds, options)[2]]


def test_an_option_without_a_value_is_asked_for() -> None:
    """No default and no choice: a person must say."""
    assert messages("B1 | unit |") == [
        ("warn", 'B1: option "side" is not chosen and has no default; choose one of left, right')
    ]


def test_a_value_that_is_not_offered_stops_the_build() -> None:
    """The allowed values are told."""
    assert messages("B1 | unit | side=left; oiling=drip") == [
        ("stop", 'B1: option "oiling" cannot be "drip"; choose one of splash, forced')
    ]


def test_an_unknown_option_is_told_with_the_nearest() -> None:
    """It changes nothing, but is rarely meant so."""
    assert messages("B1 | unit | side=left; oilin=forced") == [
        (
            "warn",
            'B1: option "oilin" is not known for this assembly and changes nothing; '
            "nearest: oiling",
        )
    ]


def test_an_unreadable_cell_stops_the_build() -> None:
    """Two values for one option: nothing is guessed, the defaults stand."""
    ((level, message), *_) = messages("B1 | unit | side=left; side=right")
    assert level == "stop"
    assert 'option "side" has two values' in message


def test_differing_defaults_are_told_unless_the_build_says() -> None:
    """The assembly nearer the top wins, and a person hears of it."""
    options = OPTIONS + "\npump | oiling | splash; forced | forced"
    told = "is splash by default for gearbox and forced for pump; splash is taken for both"
    ((level, message),) = messages("B1 | unit | side=left", options)
    assert level == "warn"
    assert told in message
    assert messages("B1 | unit | side=left; oiling=splash", options) == []


def test_findings_reach_the_bills() -> None:
    """Each build has its own finding."""
    of = shop(lines=LINES, options=OPTIONS, builds="build | assembly\nB1 | unit\nB2 | gearbox")
    assert [f.about for f in explode(of, of["builds"]).findings] == ["B1", "B2"]


def used(use: str, options: str = "", rules: str = "assembly | when\nunit | use=road"):
    """Explode one build for a use under rules."""
    of = shop(
        lines="assembly | stage | part | when\nunit | s | PLATE | use=road\nunit | s | NUT |",
        rules=rules,
        builds=f"build | assembly | options | use\nB1 | unit | {options} | {use}",
    )
    return explode(of, of["builds"])


@pytest.mark.parametrize(
    ("use", "parts"),
    [
        ("road", ["PLATE", "NUT"]),
        (" Road ", ["PLATE", "NUT"]),
        ("road, off-road", ["PLATE", "NUT"]),
        ("off-road", ["NUT"]),
        ("", ["NUT"]),
    ],
)
def test_what_a_build_is_for_is_an_option(use: str, parts: list[str]) -> None:
    """Conditions read it without any row in options; case does not matter, a list is each."""
    found = used(use)
    assert found.required["part"].tolist() == parts
    assert found.findings == ()
    assert [v for _, o, v in table(found.choices, "build", "option", "value") if o == "use"] == (
        [" ".join(use.split()).casefold()] if use else []
    )


def test_rules_may_need_or_forbid_a_use() -> None:
    """What is not so stops the build, with what the build is for."""
    needs = "assembly | needs_option | forbids\nunit | use=marine |\nunit | | use=road"
    told = used("road", rules=needs).cautions["message"].tolist()
    assert "needs use=marine, but the build has use=road" in told[1]
    assert "forbids use=road, but the build has use=road" in told[0]
    assert used("marine", rules=needs).cautions.empty


def test_a_use_is_written_once() -> None:
    """Options that say otherwise than the column stop the build; the same twice is fine."""
    ((level, message),) = [(f.level, f.message) for f in used("road", "use=race").findings]
    assert level == "stop"
    assert 'for "road" by its column use and for "race" by its options' in message
    assert used("road", "use=Road").findings == ()
    assert used("", "use=road").required["part"].tolist() == ["PLATE", "NUT"]

"""Rules: parts they pull in, choices they need or forbid, cautions, chains and circles."""

from __future__ import annotations

import pytest
from bill.sheets import shop, table

from kitting.bill import Bills, explode
from kitting.errors import InputError

STAGES = """
    assembly | stage | after
    engine   | close | open
    engine   | open  |
    pump     | p     |
"""
LINES = """
    assembly | stage | part | quantity | when
    engine   | open  | PIPE | 1        |
    engine   | close | HOSE | 2        | cooling=sea
    engine   | close | pump | 2        | cooling=sea
    pump     | p     | IMP  | 1        |
"""
OPTIONS = """
    assembly | option    | choices            | default
    engine   | induction | none; turbo        | none
    engine   | cooler    | no; yes            | no
    engine   | sump      | flat; deep; dry    | flat
    engine   | cooling   | keel; sea          | keel
    engine   | mount     | low; high          | low
"""


def bills(rules: str, *builds: str) -> Bills:
    """Explode builds, given by their options, under a sheet of rules."""
    rows = [f"B{n} | engine | {options}" for n, options in enumerate(builds or ("",), start=1)]
    of = shop(
        stages=STAGES,
        lines=LINES,
        options=OPTIONS,
        rules=rules,
        builds="build | assembly | options\n" + "\n".join(rows),
    )
    return explode(of, of["builds"])


def stops(found: Bills) -> list[str]:
    cautions = found.cautions
    return cautions.loc[cautions["level"] == "stop", "message"].tolist()


def test_a_rule_pulls_a_part_in_where_it_says() -> None:
    """At its stage, or at the first stage of the work; blank quantity is one; marked as such."""
    found = bills(
        """
        assembly | when            | needs_part | quantity | stage | source
        engine   | induction=turbo | PLUG       | 3        | close | book 7
        engine   | induction=turbo | BLANK      |          |       |
        """,
        "induction=turbo",
        "induction=none",
    )
    columns = ("build", "stage", "part", "quantity", "line", "source", "note")
    assert table(found.required, *columns) == [
        ("B1", "open", "PIPE", 1, 1, "", ""),
        ("B1", "open", "BLANK", 1, 0, "", "rule 2"),
        ("B1", "close", "PLUG", 3, 0, "book 7", "rule 1"),
        ("B2", "open", "PIPE", 1, 1, "", ""),
    ]
    assert found.cautions.empty


def test_a_rule_of_what_is_built_in_counts_each_one() -> None:
    """Two pumps need two keys; without pumps the rule of pumps is silent."""
    rules = "assembly | needs_part | caution\npump | KEY | mind the key"
    found = bills(rules, "cooling=sea", "cooling=keel")
    keys = found.required[found.required["part"] == "KEY"]
    assert table(keys, "build", "assembly", "stage", "quantity") == [("B1", "pump", "p", 2)]
    assert found.cautions["build"].tolist() == ["B1"]


def test_a_rule_may_pull_an_assembly_in() -> None:
    """A part that is an assembly is exploded like any other."""
    rules = (
        "assembly | when | needs_part | quantity | stage\nengine | mount=high | pump | 3 | close"
    )
    found = bills(rules, "mount=high")
    assert ("pump", "IMP", 3) in table(found.required, "assembly", "part", "quantity")
    assert table(found.built_in, "stage", "child", "quantity") == [("close", "pump", 3)]


def test_a_caution_is_told_to_the_builds_it_concerns() -> None:
    """With what it concerns and who says so."""
    found = bills(
        """
        assembly | when            | caution             | source
        engine   | induction=turbo | prime the oil first | book 9
        engine   |                 | wear goggles        |
        """,
        "induction=turbo",
        "",
    )
    columns = ("build", "subject", "level", "message", "source")
    assert table(found.cautions, *columns) == [
        ("B1", "induction=turbo", "warn", "prime the oil first", "book 9"),
        ("B1", "engine", "warn", "wear goggles", ""),
        ("B2", "engine", "warn", "wear goggles", ""),
    ]


NEEDS_COOLER = """
    assembly | when            | needs_option | source
    engine   | induction=turbo | cooler=yes   | book 3
"""


def test_a_needed_option_that_is_not_chosen_stops_the_build() -> None:
    """Rule and both sides are named, whether the option was left at its default or chosen."""
    found = bills(NEEDS_COOLER, "induction=turbo", "induction=turbo; cooler=yes", "cooler=no")
    assert table(found.cautions, "build", "subject", "level", "message", "source") == [
        (
            "B1",
            "cooler",
            "stop",
            "rule 1: induction=turbo needs cooler=yes, but the build has cooler=no; choose "
            "cooler=yes or change what needs it",
            "book 3",
        )
    ]


def test_a_needed_option_may_leave_a_choice_or_exclude_one() -> None:
    """Any of two values, or any but one."""
    rules = """
        assembly | when            | needs_option
        engine   | induction=turbo | sump=deep,dry
        engine   | mount=high      | sump!=flat
    """
    assert len(stops(bills(rules, "induction=turbo; mount=high"))) == 2
    assert stops(bills(rules, "induction=turbo; mount=high; sump=dry")) == []


def test_a_chain_of_needed_options_is_followed_to_its_end() -> None:
    """A person hears at once of all that must change, in whatever order the rules stand."""
    found = bills(
        """
        assembly | when            | needs_option
        engine   | sump=deep       | mount=high
        engine   | cooler=yes      | sump=deep
        engine   | induction=turbo | cooler=yes
        """,
        "induction=turbo",
    )
    assert stops(found) == [
        "rule 3: induction=turbo needs cooler=yes, but the build has cooler=no; choose "
        "cooler=yes or change what needs it",
        "rule 2: cooler=yes (cooler=yes is what rule 3 needs) needs sump=deep, but the build has "
        "sump=flat; choose sump=deep or change what needs it",
        "rule 1: sump=deep (sump=deep is what rule 2 needs) needs mount=high, but the build has "
        "mount=low; choose mount=high or change what needs it",
    ]


def test_parts_follow_the_choices_as_made() -> None:
    """The chain tells of choices; parts come when the choice is really made."""
    rules = """
        assembly | when            | needs_option | needs_part
        engine   | induction=turbo | cooler=yes   |
        engine   | cooler=yes      |              | CORE
    """
    assert "CORE" not in set(bills(rules, "induction=turbo").required["part"])
    assert "CORE" in set(bills(rules, "induction=turbo; cooler=yes").required["part"])


def test_a_circle_of_rules_that_agree_ends_by_itself() -> None:
    """Each needs the other: with one chosen the other is asked for, with both all is well."""
    rules = """
        assembly | when            | needs_option
        engine   | induction=turbo | cooler=yes
        engine   | cooler=yes      | induction=turbo
    """
    assert len(stops(bills(rules, "induction=turbo"))) == 1
    assert stops(bills(rules, "induction=turbo; cooler=yes")) == []


def test_a_circle_that_contradicts_itself_is_named() -> None:
    """What a choice leads to forbids the choice: both rules and the option are told."""
    rules = """
        assembly | when            | needs_option
        engine   | induction=turbo | cooler=yes
        engine   | cooler=yes      | induction=none
    """
    assert stops(bills(rules, "induction=turbo"))[1] == (
        "rule 2 contradicts what it rests on: cooler=yes (cooler=yes is what rule 1 needs) needs "
        "induction=none, but holds because of induction=turbo; change induction or put a rule right"
    )


@pytest.mark.parametrize("chosen", ["flat", "deep", "dry"])
def test_rules_that_pull_one_option_two_ways_are_both_named(chosen: str) -> None:
    """Whatever is chosen, both causes are told."""
    rules = """
        assembly | when            | needs_option
        engine   | induction=turbo | sump=deep
        engine   | mount=high      | sump=dry
    """
    told = " ".join(stops(bills(rules, f"induction=turbo; mount=high; sump={chosen}")))
    assert "contradict each other" in told
    for cause in ("induction=turbo needs sump=deep", "mount=high needs sump=dry"):
        assert cause in told
    for number in ("1", "2"):
        assert number in told


def test_a_need_and_a_ban_name_both_causes() -> None:
    """One rule needs what another forbids: each is told with its cause, whatever is chosen."""
    rules = """
        assembly | when            | needs_option | forbids
        engine   | induction=turbo | cooler=yes   |
        engine   | mount=high      |              | cooler=yes
    """
    both = (
        "rules 1 and 2 contradict each other: induction=turbo needs cooler=yes, mount=high forbids "
        "cooler=yes; change an option or put a rule right"
    )
    clash, lacking = stops(bills(rules, "induction=turbo; mount=high; cooler=no"))
    assert clash == both
    assert "rule 1: induction=turbo needs cooler=yes, but the build has cooler=no" in lacking
    barred, clash = stops(bills(rules, "induction=turbo; mount=high; cooler=yes"))
    assert clash == both
    assert "rule 2: mount=high forbids cooler=yes, but the build has cooler=yes" in barred
    assert both not in stops(bills(rules, "induction=turbo; cooler=no"))


def test_a_forbidden_choice_stops_the_build() -> None:
    """Both causes are told."""
    rules = """
        assembly | when            | forbids
        engine   | induction=turbo | sump=flat,deep; mount=high
    """
    assert stops(bills(rules, "induction=turbo", "induction=turbo; sump=dry", "")) == [
        "rule 1: induction=turbo forbids sump=flat,deep, but the build has sump=flat; change one "
        "of them"
    ]


def test_a_forbidden_part_is_told_with_the_line_that_asks_for_it() -> None:
    """A part of the bill or of another rule; where it is not asked for, nothing is said."""
    rules = """
        assembly | when            | forbids    | needs_part
        engine   | induction=turbo | HOSE; PIPE |
        engine   | mount=high      |            | PIPE
    """
    found = bills(rules, "induction=turbo; cooling=sea; mount=high", "cooling=sea")
    assert table(found.cautions, "build", "subject", "message") == [
        (
            "B1",
            "HOSE",
            "rule 1: induction=turbo forbids part HOSE, but it is asked for by line 2 (stage "
            "close); change the option or the bill",
        ),
        (
            "B1",
            "PIPE",
            "rule 1: induction=turbo forbids part PIPE, but it is asked for by line 1 (stage "
            "open), rule 2; change the option or the bill",
        ),
    ]


@pytest.mark.parametrize("column", ["when", "needs_option", "forbids"])
def test_an_unreadable_rule_is_named(column: str) -> None:
    """Row and column are told."""
    with pytest.raises(InputError, match=f"rules row 1, {column}: "):
        bills(f"assembly | {column}\nengine | =turbo")


def test_a_rule_without_conditions_speaks_of_the_assembly() -> None:
    """A rule that always holds names what it holds for."""
    (told,) = stops(bills("assembly | needs_option\nengine | sump=dry"))
    assert told.startswith("rule 1: any engine needs sump=dry, but the build has sump=flat")

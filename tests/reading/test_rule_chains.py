"""Rules that no build can follow are told on reading, with the whole chain."""

from __future__ import annotations

import pytest

from kitting.reading.rule_chains import Rule, broken

VALUES = {"fuel": ("diesel", "gas"), "pump": ("belt", "gear"), "turbo": ("yes", "no", "")}


def rule(when: str, needs: str = "", forbids: str = "") -> Rule:
    return Rule("ENGINE", when, needs, forbids)


@pytest.mark.parametrize(
    ("rules", "wrong"),
    [
        ([rule("fuel=gas", "fuel=diesel")], [0]),  # by itself
        ([rule("fuel=gas", forbids="fuel=gas")], [0]),
        # in a circle: no gas engine can be built, a diesel with the gear pump can
        ([rule("fuel=gas", "pump=gear"), rule("pump=gear", "fuel=diesel")], [0]),
        ([rule("fuel=gas", "pump=gear"), rule("pump=gear", "turbo=yes"),
          rule("turbo=yes", "fuel!=gas")], [0]),
        ([rule("fuel=gas", "pump=gear"), rule("fuel=gas", forbids="pump=gear")], [0, 1]),
        # needed options, one after the other, that agree
        ([rule("fuel=gas", "pump=gear"), rule("pump=gear", "turbo=yes")], []),
        ([rule("fuel=gas", "pump=gear"), rule("pump=gear", "fuel=gas")], []),
        # the second holds only where turbo=yes, and without it gas can be built
        ([rule("fuel=gas", "pump=gear"), rule("pump=gear; turbo=yes", "fuel=diesel")], []),
        # where the use decides
        ([rule("fuel=gas", "pump=gear"), rule("pump=gear; use=road", "fuel=diesel")], []),
        ([rule("fuel=gas; use=road", "pump=gear"), rule("use=road", "pump=belt")], [0]),
        ([rule("", "fuel=gas"), rule("fuel=gas", "pump=gear")], []),
        ([rule("", "fuel=gas"), rule("", "fuel=diesel")], [0, 1]),
    ],
)  # fmt: skip
def test_what_a_choice_leads_to_is_followed_to_the_end(rules, wrong):
    """A rule is named when its own conditions lead to no value of an option; by hand."""
    assert sorted(broken(rules, VALUES)) == wrong


def test_rules_of_another_assembly_play_no_part():
    """It may not be built in."""
    rules = [rule("fuel=gas", "pump=gear"), Rule("BOX", "pump=gear", "fuel=diesel", "")]
    assert broken(rules, VALUES) == {}


def test_a_circle_is_told_on_reading(told):
    """With its row and the chain, and nothing is read."""
    options = "assembly,option,choices,default\nEng,cooling,water; air,water\nEng,fan,yes; no,no\n"
    rules = "assembly,when,needs_option\nEng,cooling=air,fan=yes\nEng,fan=yes,cooling=water\n"
    (found,) = told(rules=rules, options=options)
    assert found.startswith("stop rules row 2, needs_option: no build can follow this: ")
    assert "cooling=air needs fan=yes; then fan=yes needs cooling=water" in found

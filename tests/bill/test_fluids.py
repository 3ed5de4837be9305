"""Fluids against the use of a build, the grade its circuit asks for, and their own data sheet."""

from __future__ import annotations

import pytest
from bill.sheets import shop

from kitting.bill import explode, open_builds
from kitting.bill.fluids import fluid_cautions
from kitting.reading.references import references
from kitting.tables.flow import CAUTIONS

HEAD = (
    "part | kind | grade | base | viscosity_40 | viscosity_100 | zinc_ppm | phosphorus_ppm | spec"
)
RUN_IN = "RUNIN | run-in oil | SAE 50 | mineral | | 19 | 1200 | 1100 |"
ROAD = "ROAD | engine oil | SAE 5W-30 | synthetic | | 10.5 | 700 | 650 |"
HEAVY = "HEAVY | engine oil | SAE 15W-40 | mineral | | 14.4 | 1500 | 1350 |"
MILD = "MILD | engine oil | SAE 15W-40 | mineral | | 14.0 | 850 | 780 |"


@pytest.fixture(scope="module")
def refs():
    return references()


def told(refs, fluids: str, parts: str, *, use: str = "", options: str = "", grade: str = ""):
    """Return the cautions of a build that asks for some parts, ``;`` between."""
    asked = parts.split(";")
    sheets = {
        "parts": "part | unit\n" + "\n".join(f"{p} | l" for p in asked),
        "lines": "assembly | stage | part | quantity\n"
        + "\n".join(f"ENG | run | {p} | 5000000" for p in asked),
        "options": "assembly | option | choices | default\nENG | catalyst | yes; no | no",
        "builds": f"build | assembly | options | use\nB1 | ENG | {options} | {use}",
        "fluids": f"{HEAD}\n{fluids}",
    }
    if grade:
        sheets["circuits"] = (
            "assembly | circuit | part | quantity | grade | source\n"
            f"ENG | oil | {asked[0]} | 5000000 | {grade} | manual p 3"
        )
    held = shop(**sheets)
    rows = CAUTIONS.check(fluid_cautions(held, explode(held, open_builds(held)), refs))
    assert set(rows["level"]) <= {"warn", "note"}
    assert rows["message"].str.endswith("the maker's manual decides").all()
    assert (rows["source"] != "").all()
    return list(zip(rows["subject"], rows["level"], rows["message"], strict=True))


def test_a_sound_choice_says_nothing(refs) -> None:
    """Mild oil for a road engine with a catalyst: nothing to say."""
    assert told(refs, ROAD, "ROAD", use="road", options="catalyst=yes") == []


def test_run_in_oil_is_followed_by_another(refs) -> None:
    """Run-in oil comes out again, so another engine oil must be on the bill."""
    ((part, level, message),) = told(refs, f"{RUN_IN}\n{ROAD}", "RUNIN")
    assert (part, level) == ("RUNIN", "warn")
    assert "no other engine oil follows it" in message
    assert told(refs, f"{RUN_IN}\n{ROAD}", "RUNIN;ROAD") == []


def test_run_in_oil_and_catalyst(refs) -> None:
    """About 1,200 ppm of zinc is for the run-in only: drain it before road miles."""
    ((part, level, message),) = told(
        refs, f"{RUN_IN}\n{ROAD}", "RUNIN;ROAD", options="catalyst=yes"
    )
    assert (part, level) == ("RUNIN", "note")
    assert "has 1200 ppm zinc" in message
    assert "drain it at the first service" in message


@pytest.mark.parametrize(
    ("oil", "words"),
    [
        (
            "RUNIN | run-in oil | SAE 50 | synthetic | | 19 | 1200 | |",
            "is synthetic: run-in oil is",
        ),
        ("RUNIN | run-in oil | SAE 50 | mineral | | 19 | 600 | |", "has 600 ppm zinc: run-in oil"),
    ],
)
def test_what_run_in_oil_is(refs, oil: str, words: str) -> None:
    """Mineral, and high in zinc; less is a note."""
    ((_, level, message),) = told(refs, f"{oil}\n{ROAD}", "RUNIN;ROAD")
    assert level == "note"
    assert words in message


def test_a_catalyst_dislikes_zinc_and_phosphorus(refs) -> None:
    """Both are told, and what of the shop's own of the same grade would fit."""
    found = told(refs, f"{HEAVY}\n{MILD}\n{ROAD}", "HEAVY", options="catalyst=yes")
    assert [(part, level) for part, level, _ in found] == [("HEAVY", "warn")] * 2
    assert "1500 ppm zinc" in found[0][2]
    assert "1350 ppm phosphorus" in found[1][2]
    assert all("of the shop's own MILD would fit" in message for *_, message in found)


def test_when_nothing_fits_better(refs) -> None:
    """The shop has no other oil of the kind and grade: that is said."""
    found = told(refs, f"{HEAVY}\n{ROAD}", "HEAVY", options="catalyst=yes")
    assert all("no engine oil of the sheet fluids fits better" in m for *_, m in found)


def test_without_a_catalyst_zinc_is_welcome(refs) -> None:
    """A marine engine without one may have it; on the road very high zinc is a note."""
    assert told(refs, HEAVY, "HEAVY", use="marine", options="catalyst=no") == []
    assert told(refs, HEAVY, "HEAVY", use="road", options="catalyst=no") == []
    held = told(refs, HEAVY, "HEAVY", use="road", options="catalyst=yes")
    assert [level for _, level, _ in held] == ["warn", "warn", "note"]


@pytest.mark.parametrize(
    ("grade", "asked", "thin"),
    [
        ("SAE 5W-30", "SAE 40", True),
        ("SAE 15W-40", "SAE 40", False),
        ("SAE 50", "40", False),
        ("SAE 5W-30", "SAE 15W-40", True),
        ("SAE 5W-30", "", False),
        ("ISO VG 46", "SAE 40", False),
    ],
)
def test_some_engines_want_a_40_or_heavier(refs, grade: str, asked: str, thin: bool) -> None:
    """The least grade is the circuit's; what is thinner is told, with what would do."""
    fluids = f"OIL | engine oil | {grade} | | | | | |\n{MILD}\n{RUN_IN}"
    found = told(refs, fluids, "OIL", grade=asked)
    assert bool(found) is thin
    if thin:
        assert found[0][1] == "warn"
        assert "ENG asks for SAE" in found[0][2]
        assert "of the shop's own MILD, RUNIN would fit" in found[0][2]


@pytest.mark.parametrize(
    ("fluid", "words"),
    [
        ("SAE 15W-40 | | | 11.2", "says SAE 15W-40 and has 11.2 mm2/s at 100 C; 40 is 12.5 to "
         "below 16.3 mm2/s at 100 C, and 11.2 is SAE J300 30"),
        ("SAE 80W-90 | | | 19", "90 is 13.5 to below 18.5 mm2/s at 100 C, and 19 is SAE J306 110"),
        ("ISO VG 32 | | 40 | ", "32 is 28.8 to 35.2 mm2/s at 40 C, and 40 is in no grade of ISO"),
        ("SAE 45 | | | 14", "SAE J300 has no grade 45"),
        ("SAE 17W-40 | | | 14", "SAE J300 has no grade 17W"),
    ],
)  # fmt: skip
def test_a_grade_that_its_viscosity_denies(refs, fluid: str, words: str) -> None:
    """The can says one thing and the data sheet another: read it again."""
    ((_, level, message),) = told(refs, f"OIL | oil | {fluid} | | |", "OIL")
    assert level == "warn"
    assert words in message


@pytest.mark.parametrize(
    ("grade", "phosphorus", "spec", "words"),
    [
        ("SAE 5W-30", "1100", "API SN; ILSAC GF-5", "1100 ppm phosphorus; GF-5 is 600 to 800 ppm"),
        ("SAE 5W-30", "500", "GF-4", "500 ppm phosphorus; GF-4 is 600 to 800 ppm"),
        ("SAE 15W-40", "700", "GF-5", "GF-5 covers 0W-20, 5W-20, 0W-30, 5W-30, 10W-30 only"),
        ("SAE 5W-30", "700", "GF-5", ""),
        ("SAE 15W-40", "1100", "API CK-4", ""),
    ],
)
def test_licences(refs, grade: str, phosphorus: str, spec: str, words: str) -> None:
    """Phosphorus of 600 to 800 ppm and five grades: what a licence binds, and nothing else."""
    found = told(refs, f"OIL | oil | {grade} | | | | | {phosphorus} | {spec}", "OIL")
    assert len(found) == bool(words)
    assert not words or words in found[0][2]


def test_blanks_break_no_rule(refs) -> None:
    """A fluid of which nothing is known is not accused."""
    assert told(refs, "OIL | engine oil | | | | | | |", "OIL", options="catalyst=yes") == []


def test_a_fluid_that_no_build_asks_for(refs) -> None:
    """The shelf may hold what it likes."""
    assert told(refs, f"{HEAVY}\n{ROAD}", "ROAD", options="catalyst=yes") == []

"""Figures: blank ones are asked for, half-written ones told, hard-to-believe ones doubted."""

from __future__ import annotations

import pytest
from bill.sheets import shop

from kitting.bill import explode, open_builds
from kitting.bill.figures import figure_gaps
from kitting.reading.references import references
from kitting.tables.flow import GAPS

HEAD = "assembly | joint | what | thread | class | value | unit | source | page"
JOINTS = """
assembly | stage | joint | kind | when
ENG | close | cover | flange_flat_gasket |
ENG | close | blank | blanked_port_after_option | pump=no
"""
OPTIONS = "assembly | option | choices | default\nENG | pump | yes; no | yes"
BUILDS = "build | assembly | start\nB1 | ENG | 2026-03-09\nB2 | ENG | 2026-03-10"


@pytest.fixture(scope="module")
def refs():
    return references()


def told(refs, *figures: str):
    held = shop(joints=JOINTS, options=OPTIONS, builds=BUILDS, figures="\n".join((HEAD, *figures)))
    return GAPS.check(figure_gaps(held, explode(held, open_builds(held)), refs))


def one(refs, figure: str) -> tuple[str, str]:
    rows = told(refs, figure)
    assert rows["build"].tolist() == ["B1", "B2"]
    assert set(rows["role"]) == {"figure"}
    assert set(rows["stage"]) == {"close"}
    return rows["level"].iloc[0], rows["message"].iloc[0]


def test_a_figure_in_the_band_says_nothing(refs) -> None:
    """Value, unit, source and page, and a plausible torque: nothing to say."""
    assert told(refs, "ENG | cover | torque | M6 | 8.8 | 9 | N m | manual | 12").empty


def test_a_blank_figure_with_its_page_is_asked_for(refs) -> None:
    """Look it up: a note with the page, no number made up."""
    assert one(refs, "ENG | cover | torque | M6 | 8.8 | | N m | manual | 12") == (
        "note",
        "look up the torque for M6: manual, page 12",
    )


@pytest.mark.parametrize(
    ("source", "lacks"),
    [("manual | ", "neither value nor page"), (" | ", "neither value nor source")],
)
def test_a_blank_figure_without_a_page(refs, source: str, lacks: str) -> None:
    """Without a page it is worse: somebody must find the document first."""
    level, message = one(refs, f"ENG | cover | clearance | | | | | {source}")
    assert level == "warn"
    assert lacks in message


@pytest.mark.parametrize(
    ("rest", "lacks"),
    [
        ("9 | N m | manual | ", "no page"),
        ("9 | N m | | ", "no source and no page"),
        ("9 | | manual | 3", "no unit"),
    ],
)
def test_a_figure_from_nowhere(refs, rest: str, lacks: str) -> None:
    """A value without unit, source or page is told."""
    level, message = one(refs, f"ENG | cover | torque | M6 | 8.8 | {rest}")
    assert level == "warn"
    assert lacks in message


def test_a_torque_in_a_unit_of_something_else(refs) -> None:
    """Newtons are not a torque; the units that are read are listed."""
    level, message = one(refs, "ENG | cover | torque | M6 | 8.8 | 9 | N | manual | 3")
    assert level == "warn"
    assert '"N" is not a unit of torque; write one of N m' in message


@pytest.mark.parametrize(
    "figure",
    [
        "clearance | | | 0.05 | mm | manual | 3",
        "angle | M6 | 8.8 | 90 | deg | manual | 3",
        "torque | | | 400 | N m | manual | 3",
        "torque | M6 | A4-80 | 400 | N m | manual | 3",
        "torque | M9 | 8.8 | 400 | N m | manual | 3",
        "torque | big | 8.8 | 400 | N m | manual | 3",
    ],
)
def test_what_cannot_be_judged_is_left_alone(refs, figure: str) -> None:
    """Clearances, angles, stainless classes and unknown threads are never doubted."""
    assert told(refs, f"ENG | cover | {figure}").empty


@pytest.mark.parametrize(("torque", "high"), [("9 | lbf ft", False), ("25 | N m", True)])
def test_without_a_class_the_usual_ones_count(refs, torque: str, high: bool) -> None:
    """Between 8.8 and 12.9: 12.2 N m may be right for an M6, 25 N m is too much for any."""
    rows = told(refs, f"ENG | cover | torque | M6 | | {torque} | manual | 3")
    assert bool(len(rows)) is high
    if high:
        assert "class 8.8 to 12.9 (none is written)" in rows["message"].iloc[0]
        assert "% of the dry figure 17.5 N m" in rows["message"].iloc[0]


def test_a_fine_thread_is_judged_by_its_own_area(refs) -> None:
    """M12x1.25 carries a little more than M12."""
    high = told(refs, "ENG | cover | torque | M12x1.25 | 8.8 | 108 | N m | manual | 3")
    assert high.empty
    assert len(told(refs, "ENG | cover | torque | M12 | 8.8 | 108 | N m | manual | 3")) == 2


def test_a_figure_of_a_joint_that_no_build_has(refs) -> None:
    """An absent joint's figure is not asked for."""
    assert told(refs, "ENG | blank | torque | M6 | 8.8 | | N m | manual | 3").empty


def test_a_value_is_never_replaced(refs) -> None:
    """The message names the figure as written; the shop's frame stays as it was."""
    figures = f"{HEAD}\nENG | cover | torque | M6 | 8.8 | 9 | lbf ft | heard | 0"
    held = shop(joints=JOINTS, options=OPTIONS, builds=BUILDS, figures=figures)
    before = held["figures"].copy()
    rows = figure_gaps(held, explode(held, open_builds(held)), refs)
    assert rows["message"].str.contains("torque 9 lbf ft = 12.2 N m is high").all()
    assert rows["message"].str.contains("the maker's manual decides").all()
    assert held["figures"].equals(before)

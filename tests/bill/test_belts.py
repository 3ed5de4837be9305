"""Belts against their pulleys: lengths, options, tolerance, and silence without the sheets."""

from __future__ import annotations

import pytest
from bill.sheets import shop
from terms.plain_belt import open_belt_length

from kitting.bill import explode, gaps, open_builds
from kitting.reading.catalogs import catalogs

CATALOGS = catalogs()
# Two pulleys, 300 mm apart; the small pump pulley is the trade's 5.35 in against 4.50 in.
SHEETS = {
    "parts": "part | name | family\nB1000 | belt 1000 | belt\nB985 | belt 985 | belt\n"
    "B965 | belt 965 | belt\nW965 | wide belt 965 | belt\nP | pulley | pulley",
    "stages": "assembly | stage\nENG | front",
    "joints": "assembly | stage | joint | kind\nENG | front | drive | belt_or_chain_drive",
    "lines": "assembly | stage | joint | role | part\nENG | front | drive | locate | B1000",
    "options": "assembly | option | choices | default\nENG | pump | standard; small | standard",
    "builds": "build | assembly | options\nB1 | ENG | {}",
    "pulleys": "assembly | joint | pulley | x | y | diameter | turn | when\n"
    "ENG | drive | crank | -150 | 20 | 120 | inside |\n"
    "ENG | drive | pump | 150 | 20 | 135.89 | inside | pump=standard\n"
    "ENG | drive | pump | 150 | 20 | 114.3 | inside | pump=small",
    "belts": "part | length | ribs\nB1000 | 1000 | 6\nB985 | 985 | 6\nB965 | 965 | 6\n"
    "W965 | 966 | 8",
}


def told(options: str = "", drop: tuple[str, ...] = (), **sheets: str):
    """Return what the check of belts finds in one build."""
    texts = {k: v for k, v in (SHEETS | sheets).items() if k not in drop}
    texts["builds"] = texts["builds"].format(options)
    of = shop(**texts)
    rows = gaps(of, explode(of, open_builds(of)), CATALOGS)
    rows = rows[rows["check"] == "belts"]
    return list(rows[["joint", "role", "level", "message"]].itertuples(index=False, name=None))


def test_the_belt_of_the_standard_pump_fits() -> None:
    """The computed length lies within the tolerance of 10 mm: nothing is said."""
    assert abs(open_belt_length(135.89, 120, 300) - 1000) < 10
    assert told() == []


def test_a_smaller_pulley_needs_a_shorter_belt() -> None:
    """How much too long, by how much the option changed it, and which belts of the shop fit."""
    [(joint, role, level, message)] = told("pump=small")
    asked = open_belt_length(120, 114.3, 300)
    change = open_belt_length(135.89, 120, 300) - asked
    assert (joint, role, level) == ("drive", "locate", "warn")
    assert f"belt 1000 is 1000 mm and the pulleys ask for {asked:.1f} mm" in message
    assert f"it is {1000 - asked:.1f} mm too long" in message
    assert (
        f"pump=small (pump 114.3 in place of 135.89 mm) makes the belt {change:.1f} mm shorter"
        in message
    )
    assert "of the shop's own B965 (965 mm) would fit" in message
    assert "W965" not in message
    assert "the tensioner decides, 10 mm either way is assumed" in message


def test_a_belt_that_fits_neither_option_is_told_without_a_change() -> None:
    """By default nothing changed, and no belt need be near."""
    [(*_, message)] = told(
        lines=SHEETS["lines"].replace("B1000", "B965"),
        belts="part | length\nB965 | 965",
    )
    assert "too short" in message
    assert "makes the belt" not in message
    assert "no belt of the sheet belts would fit" in message


@pytest.mark.parametrize(("mm", "found"), [("5", 1), ("36", 0), ("0", 1), ("soon", 1)])
def test_the_tolerance_is_the_shops(mm: str, found: int) -> None:
    """What the tensioner takes up is a setting; one that cannot be read is the default."""
    assert len(told("pump=small", shop=f"setting | value\nbelt_tolerance | {mm}")) == found


def test_pulleys_that_no_belt_runs_around() -> None:
    """An overlap is told with the names, not computed."""
    pulleys = SHEETS["pulleys"].replace("-150", "100")
    [(joint, role, _, message)] = told(pulleys=pulleys)
    assert (joint, role) == ("drive", "locate")
    assert "crank and pump overlap" in message


@pytest.mark.parametrize("drop", [("pulleys",), ("belts",), ("pulleys", "belts")])
def test_a_shop_without_the_sheets_hears_nothing(drop: tuple[str, ...]) -> None:
    """Neither sheet alone says anything."""
    assert told("pump=small", drop=drop) == []


@pytest.mark.parametrize(
    "sheets",
    [
        {"pulleys": SHEETS["pulleys"].replace("| 114.3 |", "|  |")},
        {"pulleys": SHEETS["pulleys"].replace("| 150 | 20 | 114.3", "|  | 20 | 114.3")},
        {"belts": "part | length\nB965 | 965"},
        {"belts": "part | length\nB1000 | "},
        {"waivers": "assembly | joint | role | reason | signed\n"
         "ENG | drive | locate | long tensioner | I. F."},
        {"shop": "setting | value\nchecks_off | belts"},
    ],
)  # fmt: skip
def test_what_is_not_given_or_waived_is_silent(sheets: dict[str, str]) -> None:
    """One pulley without its figures, a belt without its length, a waiver, a switch."""
    assert told("pump=small", **sheets) == []

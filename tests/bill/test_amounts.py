"""Computed quantities: blank lines filled, written ones compared, mixes and how cold they get."""

from __future__ import annotations

import pytest
from bill.sheets import shop, table

from kitting.bill import explode, open_builds
from kitting.bill.amounts import computed, mix_cautions, short_amounts, with_amounts
from kitting.reading.references import references
from kitting.tables.flow import CAUTIONS, GAPS

PARTS = """
part | name | unit | single_use
RTV  | grey sealant, 80 ml tube | ml |
TL   | threadlocker | ml |
OIL  | engine oil | l |
AF   | coolant concentrate | l | never
TUBE | sealant in tubes | piece |
BOLT | bolt | piece |
"""
JOINTS = """
assembly | stage | joint | kind | count | disturbances
ENG | close | sump  | flange_liquid_gasket | 1 | 1
ENG | close | ports | flange_liquid_gasket | 2 | 1
"""
BUILDS = "build | assembly | start\nB1 | ENG | 2026-03-09"
HEAD = (
    "assembly | stage | joint | part | way | count | length | diameter | thread | quantity | share"
)
BEAD = "ENG | | sump | RTV | bead | 1 | 1600 | 3 | | | "


def made(lines: str, amounts: str = BEAD, circuits: str = ""):
    """Return a shop with these lines (assembly, stage, joint, role, part, quantity)."""
    sheets = {
        "parts": PARTS,
        "joints": JOINTS,
        "builds": BUILDS,
        "lines": f"assembly | stage | joint | role | part | quantity\n{lines}",
    }
    if amounts:
        sheets["amounts"] = f"{HEAD}\n{amounts}"
    if circuits:
        sheets["circuits"] = f"assembly | circuit | stage | part | quantity | fills\n{circuits}"
    return shop(**sheets)


@pytest.fixture(scope="module")
def refs():
    return references()


def quantities(held) -> list[int]:
    return held["lines"]["quantity"].tolist()


def told(held, refs):
    held = with_amounts(held, refs)
    return short_amounts(held, explode(held, open_builds(held)), refs)


def test_a_blank_line_is_filled(refs) -> None:
    """Rail of 1.6 m, bead of 3 mm, 15 % waste, rounded up to a microlitre."""
    held = made("ENG | close | sump | seal | RTV | 0\nENG | close | sump | clamp | BOLT | 12")
    filled = with_amounts(held, refs)
    assert quantities(filled) == [13_007, 12]
    assert quantities(held) == [0, 12]
    bills = explode(filled, open_builds(filled))
    assert table(bills.required, "part", "quantity") == [("RTV", 13_007), ("BOLT", 12)]


def test_rows_of_one_place_add_up(refs) -> None:
    """A bead and two dabs are one quantity, rounded up once."""
    both = f"{BEAD}\nENG | | sump | RTV | bead | 2 | 56 | 5 | | | "
    assert quantities(with_amounts(made("ENG | close | sump | seal | RTV | 0", both), refs)) == [
        15_536
    ]


def test_it_is_for_one_of_the_alike_places(refs) -> None:
    """A joint that is there twice takes twice the bead."""
    held = made(
        "ENG | close | ports | seal | RTV | 0", "ENG | | ports | RTV | bead | 1 | 100 | 2 | | | "
    )
    filled = with_amounts(held, refs)
    assert quantities(filled) == [362]
    assert explode(filled, open_builds(filled)).required["quantity"].tolist() == [724]


@pytest.mark.parametrize(
    ("amounts", "quantity"),
    [
        ("ENG | close | | OIL | fill | 3 | | | | 500000 | ", 1_500_000),
        ("ENG | | | OIL | fill | | | | | 500000 | ", 500_000),
        ("ENG | strip | | OIL | fill | | | | | 500000 | ", 0),
        ("ENG | | sump | OIL | fill | | | | | 500000 | ", 0),
    ],
)
def test_lines_without_a_joint_go_by_stage(refs, amounts: str, quantity: int) -> None:
    """A stage's amount serves that stage only, one without a stage any; a joint's, no stage."""
    held = made("ENG | close | | | OIL | 0", amounts)
    assert quantities(with_amounts(held, refs)) == [quantity]


def test_a_circuit_fills_its_lines(refs) -> None:
    """Each blank line of a circuit's fluid gets one fill; the stage's own circuit comes first."""
    circuits = "ENG | engine oil | run | OIL | 9000000 | 3\nENG | jets | prime | OIL | 500000 | 1"
    held = made(
        "ENG | prime | | | OIL | 0\nENG | run | | | OIL | 0\nENG | later | | | OIL | 0\n"
        "ENG | close | sump | lubricate | OIL | 0",
        "",
        circuits,
    )
    assert quantities(with_amounts(held, refs)) == [500_000, 9_000_000, 9_000_000, 0]


def test_a_shop_without_blank_lines_stays_itself(refs) -> None:
    """Nothing is copied where nothing is blank; figure lines without a part are not blank."""
    held = made("ENG | close | sump | seal | RTV | 5\nENG | close | sump | figure | | 0")
    assert with_amounts(held, refs) is held


def test_too_little_is_told(refs) -> None:
    """A written quantity below the computed one is a warning that tells both."""
    held = made("ENG | close | sump | seal | RTV | 11000")
    (gap,) = told(held, refs).to_dict("records")
    assert (gap["build"], gap["stage"], gap["joint"], gap["role"]) == (
        "B1",
        "close",
        "sump",
        "seal",
    )
    assert (gap["level"], gap["check"]) == ("warn", "amounts")
    assert gap["message"] == (
        "grey sealant, 80 ml tube (RTV): the bill brings 11 ml and 13.007 ml is computed (bead "
        "3 mm x 1600 mm); write more, or leave the quantity blank"
    )
    assert "common practice" in gap["source"]
    assert quantities(with_amounts(held, refs)) == [11_000]


@pytest.mark.parametrize("quantity", [13_007, 13_010, 80_000])
def test_enough_is_not(refs, quantity: int) -> None:
    """As much as computed, or more, is fine."""
    assert told(made(f"ENG | close | sump | seal | RTV | {quantity}"), refs).empty


def test_lines_of_one_place_count_together(refs) -> None:
    """Two lines of the same sealant at one joint bring their sum."""
    two = "ENG | close | sump | seal | RTV | 7000\nENG | close | sump | seal | RTV | {}"
    assert told(made(two.format(6007)), refs).empty
    assert len(told(made(two.format(5000)), refs)) == 1


def test_estimates_have_their_tolerance(refs) -> None:
    """Threadlocker is known to half: half of the computed is enough, less is not."""
    amounts = "ENG | | sump | TL | thread | 10 | | | M8 | | "
    whole = computed(made("ENG | close | sump | secure | TL | 1", amounts), refs)
    (place,) = whole.values()
    assert place.least == pytest.approx(place.quantity / 2, abs=1)
    line = "ENG | close | sump | secure | TL | {}"
    assert told(made(line.format(place.least), amounts), refs).empty
    assert len(told(made(line.format(place.least - 2), amounts), refs)) == 1


@pytest.mark.parametrize(
    ("line", "amounts", "why"),
    [
        ("seal | RTV", "ENG | | sump | RTV | bead | 1 | 1600 | | | | ", "bead needs the diameter"),
        ("seal | TUBE", "ENG | | sump | TUBE | bead | 1 | 1600 | 3 | | | ", "counted in piece"),
        ("secure | TL", "ENG | | sump | TL | thread | 1 | | | M9 | | ", "no pitch in the catalog"),
    ],
)
def test_what_cannot_be_computed_stops(refs, line: str, amounts: str, why: str) -> None:
    """A blank quantity that stays blank must not vanish from the kit in silence."""
    (gap,) = told(made(f"ENG | close | sump | {line} | 0", amounts), refs).to_dict("records")
    assert gap["level"] == "stop"
    assert why in gap["message"]
    assert "write the quantity" in gap["message"]


def test_an_amount_for_another_place_is_no_quantity(refs) -> None:
    """A blank line that no row fits is a stop too, though the part has rows elsewhere."""
    (gap,) = told(made("ENG | close | ports | seal | RTV | 0"), refs).to_dict("records")
    assert gap["level"] == "stop"
    assert "no quantity" in gap["message"]


def test_a_written_quantity_needs_no_reckoning(refs) -> None:
    """A row that cannot be computed says nothing against a line with a quantity of its own."""
    broken = "ENG | | sump | RTV | bead | 1 | 1600 | | | | "
    assert told(made("ENG | close | sump | seal | RTV | 5000", broken), refs).empty


def test_a_shop_without_the_sheet_is_not_asked(refs) -> None:
    """No amounts, no findings, and frames that follow their contracts."""
    held = made("ENG | close | sump | seal | RTV | 5000", "")
    bills = explode(held, open_builds(held))
    assert GAPS.check(short_amounts(held, bills, refs)).empty
    assert CAUTIONS.check(mix_cautions(held, bills, refs)).empty


@pytest.mark.parametrize(
    ("share", "level", "words"),
    [
        ("0.5", "note", "50 % concentrate: liquid to about -37 C"),
        ("0.4", "note", "liquid to about -24 C"),
        ("0.45", "note", "between -24 C (40 %) and -37 C (50 %)"),
        ("0.3", "warn", "thinner than 40 %, which freezes at -24 C"),
        ("0.7", "warn", "above 60 % (-52 C) it cools and protects worse"),
    ],
)
def test_how_cold_a_mix_may_get(refs, share: str, level: str, words: str) -> None:
    """The chart's own shares are told, those between lie between, those outside warn."""
    amounts = f"ENG | run | | AF | mix | 1 | | | | 12000000 | {share}"
    held = with_amounts(made("ENG | run | | | AF | 0", amounts), refs)
    bills = explode(held, open_builds(held))
    (caution,) = mix_cautions(held, bills, refs).to_dict("records")
    assert (caution["build"], caution["subject"], caution["level"]) == ("B1", "AF", level)
    assert words in caution["message"]
    assert caution["source"]
    assert quantities(held) == [round(12_000_000 * float(share))]


def test_a_mix_that_no_build_asks_for_is_not_told(refs) -> None:
    """Only what a bill asks for is worth a word."""
    amounts = "ENG | run | | AF | mix | 1 | | | | 12000000 | 0.5"
    held = made("ENG | close | sump | clamp | BOLT | 1", amounts)
    assert mix_cautions(held, explode(held, open_builds(held)), refs).empty

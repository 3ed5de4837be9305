"""Spares: advice by the first rule that fits, never a need."""

from __future__ import annotations

import pytest
from bill.sheets import shop, table

from kitting.bill import explode, open_builds
from kitting.bill.spares import spares
from kitting.reading.catalogs import catalogs
from kitting.reading.references import references
from kitting.tables.flow import SPARES

JOINTS = """
assembly | stage | joint | kind
ENG | close | rear crank seal | radial_lip_seal_in_bore
ENG | close | pinion | rolling_bearing_preload
ENG | close | sump | flange_flat_gasket
"""


@pytest.fixture(scope="module")
def refs():
    return references()


@pytest.fixture(scope="module")
def families():
    return catalogs().families


def advised(refs, families, part: str, joint: str, quantity: int, offers: str = ""):
    """Return spare and rule for one part: ``name | family | single_use``."""
    sheets = {
        "parts": f"part | name | family | single_use | unit\nP | {part} | piece",
        "joints": JOINTS,
        "lines": "assembly | stage | joint | part | quantity\n"
        f"ENG | close | {joint} | P | {quantity}",
        "builds": "build | assembly | start\nB1 | ENG | 2026-03-09",
    }
    if offers:
        sheets["offers"] = f"offer | supplier | part | price | per | pack\n{offers}"
    held = shop(**sheets)
    bills = explode(held, open_builds(held))
    before = bills.required.copy()
    rows = SPARES.check(spares(held, bills, refs, families))
    assert bills.required.equals(before)
    return table(rows, "need", "spare", "rule")


CHEAP, DEAR = "1 | A | P | 120 | 1 | 1\n2 | B | P | 150 | 1 | 1", "1 | A | P | 6000 | 1 | 1"


@pytest.mark.parametrize(
    ("part", "joint", "quantity", "offers", "expected"),
    [
        ("o-ring -116 FKM | o-ring | never", "sump", 8, CHEAP, [(8, 1, "small seal")]),
        ("o-ring -116 FKM | o-ring | never", "sump", 8, "", []),  # no price: nothing to say
        ("lip seal 95x120x12 | lip seal | never", "rear crank seal", 1,
         "1 | A | P | 2400 | 1 | 1", [(1, 1, "hidden lip seal")]),
        ("lip seal 95x120x12 | lip seal | never", "rear crank seal", 1, DEAR, []),
        ("lip seal 30x42x7 | lip seal | never", "sump", 1, "1 | A | P | 2400 | 1 | 1", []),
        ("crush sleeve | collapsible sleeve | never", "pinion", 1, "", [(1, 1, "crush sleeve")]),
        ("pinion nut | lock nut | never", "pinion", 1, "", [(1, 1, "preload nut")]),
        ("sump gasket | gasket | never", "sump", 1, "1 | A | P | 900 | 1 | 1",
         [(1, 1, "single-source gasket")]),
        ("sump gasket | gasket | never", "sump", 1, CHEAP, []),
        ("stretch bolt M12 | bolt | never", "sump", 10, CHEAP, []),
        ("bearing shell | bearing shell | measure", "sump", 5, CHEAP, []),
        ("washer M8 | washer | reuse", "sump", 18, "1 | A | P | 300 | 100 | 50",
         [(18, 32, "washers and clips")]),
        ("washer M8 | washer | reuse", "sump", 18, "", [(18, 7, "washers and clips")]),
        ("screw M8x20 | screw | reuse", "sump", 20, "1 | A | P | 300 | 1 | 1",
         [(20, 2, "small hardware")]),
        ("screw M12x40 | screw | reuse", "sump", 20, "1 | A | P | 300 | 1 | 1", []),
        ("oil pump | pump | measure", "sump", 1, CHEAP, []),
    ],
)  # fmt: skip
def test_rules(refs, families, part, joint, quantity, offers, expected) -> None:
    """Each rule of the policy on the part that it is for, and the parts it leaves alone."""
    assert advised(refs, families, part, joint, quantity, offers) == expected


def test_what_is_measured_out_has_no_spares(refs, families) -> None:
    """Spares are pieces: a sealant in millilitres is no matter of this."""
    held = shop(
        parts="part | name | family | unit\nRTV | o-ring grease | o-ring | ml",
        lines="assembly | stage | part | quantity\nENG | close | RTV | 5000",
        builds="build | assembly | start\nB1 | ENG | 2026-03-09",
    )
    assert spares(held, explode(held, open_builds(held)), refs, families).empty


def test_every_rule_says_what_it_is_worth(refs) -> None:
    """Assumptions are marked as such, and every row names who says so."""
    rules = refs["spare_rules"]
    assert set(rules["mark"]) <= {"source", "common practice", "assumption"}
    assert (rules["mark"] == "assumption").any()
    assert (rules[["why", "source"]] != "").all(axis=None)
    assert rules["rule"].is_unique


def test_nothing_asked_nothing_advised(refs, families) -> None:
    """No builds, no rows."""
    held = shop(parts="part\nP")
    assert SPARES.check(spares(held, explode(held, open_builds(held)), refs, families)).empty

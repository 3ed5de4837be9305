"""Amounts, figures and fluids together, and what a waiver takes away."""

from __future__ import annotations

import pytest
from bill.sheets import shop, table

from kitting.bill import explode, open_builds
from kitting.bill.advice import advice
from kitting.bill.amounts import with_amounts
from kitting.reading.references import references
from kitting.tables.flow import CAUTIONS, GAPS
from kitting.tables.shop import EXTRA_SHEETS

SHEETS = {
    "parts": "part | unit\nRTV | ml\nTL | ml\nAF | l\nOIL | l",
    "joints": "assembly | stage | joint | kind\nENG | close | sump | flange_liquid_gasket",
    "lines": "assembly | stage | joint | role | part | quantity\n"
    "ENG | close | sump | seal | RTV | 5000\nENG | close | sump | secure | TL | 0\n"
    "ENG | run | | | AF | 6000000\nENG | run | | | OIL | 9000000",
    "builds": "build | assembly | start\nB1 | ENG | 2026-03-09\nB2 | ENG | 2026-03-10",
    "amounts": "assembly | joint | part | way | length | diameter | quantity | share | thread\n"
    "ENG | sump | RTV | bead | 1600 | 3 | | |\nENG | sump | TL | thread | | | | | M99\n"
    "ENG | | AF | mix | | | 12000000 | 0.5 |",
    "fluids": "part | kind | grade | viscosity_100\nOIL | engine oil | SAE 15W-40 | 10",
    "figures": "assembly | joint | what | thread | class | value | unit | source | page\n"
    "ENG | sump | torque | M6 | 8.8 | 20 | N m | manual | 3\nENG | sump | depth | | | | | m | 4",
}
WAIVER = "assembly | joint | role | build | reason | signed\nENG | sump | "


@pytest.fixture(scope="module")
def refs():
    return references()


def advised(refs, **sheets: str):
    held = with_amounts(shop(**SHEETS | sheets), refs)
    gaps, cautions = advice(held, explode(held, open_builds(held)), refs)
    return GAPS.check(gaps), CAUTIONS.check(cautions)


def test_all_of_it(refs) -> None:
    """What stops comes first, each build is told, and cautions are told apart."""
    gaps, cautions = advised(refs)
    assert table(gaps, "build", "role", "level", "check") == [
        ("B1", "secure", "stop", "amounts"),
        ("B2", "secure", "stop", "amounts"),
        ("B1", "seal", "warn", "amounts"),
        ("B2", "seal", "warn", "amounts"),
        ("B1", "figure", "warn", "torque figures"),
        ("B2", "figure", "warn", "torque figures"),
        ("B1", "figure", "note", "torque figures"),
        ("B2", "figure", "note", "torque figures"),
    ]
    assert table(cautions, "build", "subject", "level") == [
        ("B1", "AF", "note"), ("B2", "AF", "note"), ("B1", "OIL", "warn"), ("B2", "OIL", "warn"),
    ]  # fmt: skip
    assert (gaps["source"] != "").all()


@pytest.mark.parametrize(
    ("waiver", "left"),
    [
        ("figure | | as on the card | I. F.", 4),
        ("figure | B1 | as on the card | I. F.", 6),
        ("figure | | | I. F.", 8),
        ("figure | | as on the card | ", 8),
        ("clamp | | as on the card | I. F.", 8),
    ],
)
def test_a_signed_waiver_counts(refs, waiver: str, left: int) -> None:
    """With reason and signature, for its role and its build; otherwise not."""
    gaps, _ = advised(refs, waivers=WAIVER + waiver)
    assert len(gaps) == left


@pytest.mark.parametrize(
    ("off", "gaps", "cautions"),
    [("amounts", 4, 4), ("torque figures", 4, 4), ("fluids", 8, 2), ("amounts; fluids", 4, 2)],
)
def test_what_the_shop_switches_off(refs, off: str, gaps: int, cautions: int) -> None:
    """The setting that switches checks off holds for these as well."""
    found, told = advised(refs, shop=f"setting | value\nchecks_off | {off}")
    assert (len(found), len(told)) == (gaps, cautions)


def test_a_shop_without_the_sheets_hears_nothing(refs) -> None:
    """An old shop is checked as before."""
    plain = {k: v for k, v in SHEETS.items() if k not in {t.name for t in EXTRA_SHEETS}}
    held = shop(**plain)
    gaps, cautions = advice(held, explode(held, open_builds(held)), references(held))
    assert GAPS.check(gaps).empty
    assert CAUTIONS.check(cautions).empty
    assert references(held).tables == {}

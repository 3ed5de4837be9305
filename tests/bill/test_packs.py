"""Packs with an opened life, from the frames of a plan."""

from __future__ import annotations

import pandas as pd
import pytest
from bill.sheets import frame, shop, table

from kitting.bill.packs import packs
from kitting.tables.flow import CAUTIONS, NEEDS, OPENED, SUPPLY
from kitting.tables.kits import KITTED

PARTS = """
part | name | unit | open_days
RTV | grey sealant, 80 ml tube | ml | 30
TL  | threadlocker | ml | 365
OIL | engine oil | l |
TUBE | sealant tube | piece | 30
"""
NEEDED = "need | build | stage | part | quantity | day"
STOCK = "supply | part | quantity | from_day | use_by | held_for | order | lot"


def opened_for(needs: str, supply: str = "", **sheets: str):
    held = shop(parts=PARTS, **sheets)
    needed = frame(NEEDS, f"{NEEDED}\n{needs}")
    there = frame(SUPPLY, f"{STOCK}\n{supply}") if supply else SUPPLY.empty()
    before = [f.copy() for f in (needed, there)]
    opened, cautions = packs(held, needed, there)
    assert all(f.equals(b) for f, b in zip((needed, there), before, strict=True))
    return OPENED.check(opened), CAUTIONS.check(cautions)


APART = "1 | B1 | front | RTV | 13000 | 2026-04-17\n2 | B1 | sump | RTV | 15000 | 2026-05-30"


def test_one_tube_and_two_stages_too_far_apart() -> None:
    """Forty-three days with a tube that keeps thirty: have one more, and it says why."""
    opened, cautions = opened_for(APART, "1 | RTV | 80000 | 2026-03-09 | | | | L1")
    assert table(opened, "comes", "lot", "content", "used", "thrown_away", "stages") == [
        ("shelf", "L1", 80_000, 13_000, 67_000, "B1 front"),
        ("buy", "", 80_000, 15_000, 0, "B1 sump"),
    ]
    assert opened["last"].tolist() == [pd.Timestamp("2026-05-17"), pd.Timestamp("2026-06-29")]
    assert table(cautions, "build", "subject", "level", "message") == [
        (
            "B1", "RTV", "warn",
            "grey sealant, 80 ml tube (RTV): sump needs another container on 2026-05-30: what is "
            "opened on 2026-04-17 for B1 front keeps 30 days, and 67 ml of it would be left; have "
            "1 more (80 ml each), or bring the stages together",
        )
    ]  # fmt: skip


def test_two_tubes_are_enough() -> None:
    """With a second tube on the shelf or on order, nothing is asked for."""
    for second in ("| L2", "K1 |"):
        supply = "1 | RTV | 80000 | 2026-03-09 | | | | L1\n2 | RTV | 80000 | 2026-05-01 | | |"
        _, cautions = opened_for(APART, f"{supply} {second}")
        assert cautions.empty


def test_a_lot_may_be_several_tubes() -> None:
    """Two tubes of one lot are two, since the name says what one holds."""
    opened, cautions = opened_for(APART, "1 | RTV | 160000 | 2026-03-09 | | | | L1")
    assert opened["comes"].tolist() == ["shelf", "shelf"]
    assert cautions.empty


def test_a_plain_shortage_is_no_matter_of_the_clock() -> None:
    """What must be bought by quantity alone is left to buying."""
    close = APART.replace("2026-05-30", "2026-04-20")
    opened, cautions = opened_for(close)
    assert table(opened, "comes", "used") == [("buy", 28_000)]
    assert cautions.empty


def test_an_opened_lot_keeps_its_day() -> None:
    """A tube opened on the shelf is used up first, until the end of its life."""
    stock = "part | lot | place | quantity | opened\nRTV | L0 | | 22000 | 2026-04-01"
    supply = "1 | RTV | 22000 | 2026-04-10 | 2026-05-01 | | | L0"
    opened, cautions = opened_for(APART, supply, stock=stock)
    assert table(opened, "comes", "used", "thrown_away") == [
        ("open on the shelf", 13_000, 9_000),
        ("buy", 15_000, 0),
    ]
    assert opened["opened"].iloc[0] == pd.Timestamp("2026-04-01")
    assert cautions.empty  # 15 ml would not have been left in it either


@pytest.mark.parametrize(
    ("fitted", "comes"), [("", "open in the kit"), ("yes", "shelf")], ids=["in the kit", "fitted"]
)
def test_a_lot_that_lies_open_in_a_kit_keeps_its_day_too(fitted: str, comes: str) -> None:
    """Its clock runs on there; what is fitted is no container any more."""
    columns = "build | assembly | stage | part | lot | quantity | opened | fitted | held_for"
    lot = f"B1 | engine | front | RTV | L0 | 22000 | 2026-04-01 | {fitted}"
    kitted = frame(
        KITTED, f"{columns}\n{lot} | \n{lot} | B1".replace("| L0 | 22000", "| L0 | 11000")
    )
    kit = "fitted" if fitted else "picked"
    columns = f"{STOCK} | place | assembly | stage | kit"
    supply = f"{columns}\n1 | RTV | 22000 | 2026-04-10 | 2026-05-01 | B1 | | L0 | kit of B1 front"
    there = frame(SUPPLY, f"{supply} | engine | front | {kit}")
    held = shop(parts=PARTS).replaced(kitted=kitted)
    opened, _ = packs(held, frame(NEEDS, f"{NEEDED}\n{APART}"), there)
    assert OPENED.check(opened)["comes"].tolist() == [comes, "buy"]
    assert opened["last"].iloc[0] == pd.Timestamp("2026-05-01")
    assert opened["opened"].iloc[0] == pd.Timestamp("2026-04-17" if fitted else "2026-04-01")


def test_builds_share_and_each_is_told_its_own() -> None:
    """The warning goes to the build whose stage opens the extra tube."""
    more = "3 | B2 | front | RTV | 5000 | 2026-04-30\n4 | B2 | sump | RTV | 5000 | 2026-07-15"
    needs = f"{APART}\n{more}"
    opened, cautions = opened_for(needs, "1 | RTV | 80000 | 2026-03-09 | | | | L1")
    assert opened["stages"].tolist() == ["B1 front; B2 front", "B1 sump", "B2 sump"]
    assert cautions["build"].tolist() == ["B1", "B2"]


@pytest.mark.parametrize(
    ("offers", "content"),
    [
        ("offer | supplier | part | pack\n1 | A | TL | 50000\n2 | B | TL | 10000", 10_000),
        ("offer | supplier | part | pack\n1 | A | RTV | 12000", None),
    ],
)
def test_what_a_container_holds(offers: str, content: int | None) -> None:
    """The name says it, or else the smallest pack on offer; where nobody does, nothing is told."""
    opened, _ = opened_for("1 | B1 | front | TL | 1000 | 2026-04-17", offers=offers)
    assert opened["content"].tolist() == ([content] if content else [])


@pytest.mark.parametrize(
    "needs",
    [
        "1 | B1 | run | OIL | 9000000 | 2026-04-17",  # no opened life
        "1 | B1 | run | TUBE | 1 | 2026-04-17",  # counted in pieces
        "1 | B1 | run | RTV | 0 | 2026-04-17",  # nothing is taken
        "1 | B1 | run | RTV | 5000 | ",  # nobody knows when
    ],
)
def test_what_is_left_out(needs: str) -> None:
    """Without a life, a measure, an amount or a day there is no clock to keep."""
    opened, cautions = opened_for(needs)
    assert opened.empty
    assert cautions.empty

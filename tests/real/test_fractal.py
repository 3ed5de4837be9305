"""The bill of the Fractal 5 Pro through the whole tool; its known answers hold."""

from __future__ import annotations

from collections import defaultdict
from fractions import Fraction
from math import ceil
from typing import TYPE_CHECKING

import pytest
from real.convert_fractal import MACHINE, Bill, read_bill, sheets
from real.folder import checked, keep, ordered, planned, published, read, sheet_totals, write

from kitting.terms.units import unit

if TYPE_CHECKING:
    from pathlib import Path

    import pandas as pd

    from kitting.tables.plan import Plan

PIECES = {
    "Printer Frame": Fraction(72),
    "Filament Path": Fraction(47),
    "Electronics Bay": Fraction(23),
    "Skirt Enclosure": Fraction("301.25"),
    "Z-Elevator + Bed Frame": Fraction(199),
    "Enclosure": Fraction("190.25"),
    "Y-Gantry": Fraction(188),
    "X-Gantry": Fraction(82),
    "Print Head": Fraction(59),
    "Gimbal": Fraction(136),
}
FILAMENT, TAPE, TUBE, BELT, SHAFT = "F202", "F056", "F054", "F069", "F128"


@pytest.fixture(scope="module")
def bill() -> Bill:
    """Read the workbook."""
    return read_bill(published("fractal5pro"))


@pytest.fixture(scope="module")
def plan(bill: Bill, tmp_path_factory: pytest.TempPathFactory) -> Plan:
    """Plan one machine as published, with nothing on the shelf."""
    return planned(write(tmp_path_factory.mktemp("fractal"), sheets(bill)))


def written(bill: Bill, required: pd.DataFrame) -> dict[str, Fraction]:
    """Turn what the tool requires back into the numbers of the matrix, by sub-assembly."""
    asked = {(a.assembly, a.part): a for a in bill.asks}
    out: dict[str, Fraction] = defaultdict(Fraction)
    rows = zip(required["assembly"], required["part"], required["quantity"], strict=True)
    for assembly, part, quantity in rows:
        if part != FILAMENT and assembly != MACHINE:
            ask = asked[assembly, part]
            out[assembly] += ask.written * Fraction(int(quantity), ask.base)
    return dict(out)


def by_share(buys: pd.DataFrame) -> dict[str, float]:
    """Return what the share of packs that is needed costs [dollars], by part."""
    cents = (
        (part, Fraction(int(needed) * int(price), int(per)))
        for part, needed, price, per in zip(
            buys["part"], buys["needed"], buys["price"], buys["per"], strict=True
        )
    )
    return {part: float(n / 100) for part, n in cents}


def test_the_matrix_has_the_known_pieces(bill: Bill) -> None:
    """Read as written: 200 rows, ten columns, 1297.5 pieces, 115 rows with a supplier."""
    sums: dict[str, Fraction] = defaultdict(Fraction)
    for ask in bill.asks:
        if ask.part != FILAMENT and ask.assembly != MACHINE:
            sums[ask.assembly] += ask.written
    assert sums == PIECES
    assert sum(sums.values()) == Fraction("1297.5")
    assert len(bill.parts) == 200 + 1
    assert len(bill.offers) == 115 + 1


def test_quarter_rolls_are_refused_as_pieces(bill: Bill, tmp_path: Path) -> None:
    """A quarter of a roll cannot be a line in pieces; both cells are told with their rows."""
    shop = sheets(bill)
    at = [n for n, line in enumerate(shop["lines"], start=2) if line["part"] == TAPE]
    for n in at:
        shop["lines"][n - 2]["quantity"] = "0.25"
    reading = read(write(tmp_path, shop))
    stops = [f for f in reading.findings if f.level == "stop"]
    assert [(f.sheet, f.row, f.column) for f in stops] == [("lines", at[0], "quantity")]
    assert "0.25 piece is not a whole number of pieces" in stops[0].message
    assert f"also row {at[1]}" in stops[0].message


def test_the_sheets_are_read_without_a_remark(bill: Bill, tmp_path: Path) -> None:
    """Nothing in the converted sheets is wrong or doubtful."""
    assert read(write(tmp_path, sheets(bill))).findings == ()


def test_the_tool_requires_the_known_pieces(bill: Bill, plan: Plan) -> None:
    """Exploded through the ten sub-assemblies, each asks for the pieces of its column."""
    assert written(bill, plan.required) == PIECES
    assert len(plan.required) == len(bill.asks)


def test_three_machines_require_three_times_as_much(bill: Bill, tmp_path: Path) -> None:
    """Each of three builds asks for what one asks for."""
    required = planned(write(tmp_path, sheets(bill, builds=3))).required
    assert required.groupby("build").size().to_dict() == {
        f"F5P-{n}": len(bill.asks) for n in (1, 2, 3)
    }
    for _, rows in required.groupby("build"):
        assert written(bill, rows) == PIECES


def test_lengths_and_weights_keep_their_units(plan: Plan) -> None:
    """Metres, inches, grams and rolls in one column become whole base units of their own kind."""
    totals = plan.required.groupby("part")["quantity"].sum()
    units = plan.shop["parts"].set_index("part")["unit"]
    assert (totals[TUBE], units[TUBE]) == (2_000_000, "m")
    assert (totals[BELT], units[BELT]) == (5_000_000, "m")
    assert (totals[SHAFT], units[SHAFT]) == (4 * 25_400, "in")
    assert (totals[TAPE], units[TAPE]) == (2, "piece")
    assert (totals[FILAMENT], units[FILAMENT]) == (1_796_920, "g")
    dimensions = {unit(u).dimension.value for u in units}
    assert dimensions == {"piece", "um", "mg"}


def test_whole_packs_cost_what_the_workbook_says(bill: Bill, plan: Plan) -> None:
    """Each of the 116 lines is bought in the workbook's packs at its price: 2455.58 in all."""
    buys = plan.buys
    costs = dict(zip(buys["part"], (buys["cost"] / 100).tolist(), strict=True))
    assert costs == pytest.approx(bill.whole_packs, abs=0.005)
    assert buys["cost"].sum() == 2455_58
    assert bill.totals[0] == pytest.approx(2455.58)
    assert buys["in_time"].all()


def test_shares_of_packs_cost_what_the_workbook_says(bill: Bill, plan: Plan) -> None:
    """By the share of a pack used: 1860.65."""
    shares = by_share(plan.buys)
    assert shares == pytest.approx(bill.by_share, abs=0.002)
    assert round(sum(shares.values()), 2) == 1860.65 == round(bill.totals[1], 2)


def test_what_nobody_sells_is_told(
    bill: Bill, plan: Plan, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """As published, 85 printed and machined parts have no supplier: the kit is not whole."""
    sold = {o["part"] for o in bill.offers}
    unsold = {part for part in bill.parts if part not in sold}
    assert len(unsold) == 85
    assert {f.about for f in plan.findings} == unsold
    assert all(f.level == "stop" for f in plan.findings)
    code, document = checked(capsys, keep(write(tmp_path, sheets(bill))), "F5P-1")
    assert (code, document["whole"]) == (1, False)
    assert {s["part"] for s in document["shortages"] if s["supplier"] is None} == unsold


def test_suppliers_that_differ_by_case_are_one(bill: Bill, plan: Plan) -> None:
    """Twelve suppliers, not thirteen, and each is owed the workbook's packs."""
    buys = plan.buys
    owed = (buys.groupby("supplier")["cost"].sum() / 100).to_dict()
    expected: dict[str, float] = defaultdict(float)
    for offer in bill.offers:
        expected[str(offer["supplier"])] += bill.whole_packs[str(offer["part"])]
    assert len(owed) == 12
    assert owed == pytest.approx(dict(expected), abs=0.005)


def test_ordered_parts_make_the_kit_whole(
    bill: Bill, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """With the shop's own parts made, twelve orders for 2455.58 bring all the rest in time."""
    folder = keep(write(tmp_path, sheets(bill, made=True)))
    code, document = checked(capsys, folder, "F5P-1")
    assert (code, document["whole"]) == (1, False)
    code, orders = ordered(capsys, folder)
    assert code == 0
    assert sum(len(o["lines"]) for o in orders["orders"]) == 116
    goods = {o["order"]: o["goods"] / 100 for o in orders["orders"]}
    assert sheet_totals(folder) == pytest.approx(goods)
    assert len(goods) == 12
    assert sum(goods.values()) == pytest.approx(2455.58)
    code, document = checked(capsys, folder, "F5P-1")
    assert (code, document["whole"], document["shortages"]) == (0, True, [])
    assert ordered(capsys, folder)[1]["orders"] == []


def test_three_machines_share_packs(bill: Bill, tmp_path: Path) -> None:
    """Three machines are bought together in the packs that the workbook's own numbers ask for."""
    need: dict[str, Fraction] = defaultdict(Fraction)
    for ask in bill.asks:
        need[ask.part] += 3 * ask.quantity
    cents = sum(
        ceil(need[str(o["part"])] / Fraction(str(o["pack"]))) * Fraction(str(o["price"])) * 100
        for o in bill.offers
    )
    assert planned(write(tmp_path, sheets(bill, builds=3))).buys["cost"].sum() == cents

"""Kit sheets and pick lists: everything the bill asks for, once, and room for what it forgot."""

from __future__ import annotations

import io
from collections import Counter
from dataclasses import replace

import openpyxl
import pytest

from kitting.outputs.kit import together, walking
from kitting.outputs.kit_book import BLANKS, PICK_WIDTHS, STAGE_WIDTHS, kit_book
from kitting.outputs.kit_lines import gather_kit
from kitting.plan import beyond
from kitting.terms.words import LENT_ROLES


@pytest.fixture(scope="module", params=["B26-01", "B26-03"])
def kit(request, demo_plan):
    return gather_kit(demo_plan, request.param)


@pytest.fixture(scope="module")
def gearbox(demo_plan):
    return gather_kit(demo_plan, "B26-01")


@pytest.fixture(scope="module")
def bench(gearbox):
    return opened(gearbox.part_of(deferred=False))


def opened(kit):
    return openpyxl.load_workbook(io.BytesIO(kit_book(kit)))


def rows(kit):
    return [r for s in kit.stages for _, group in s.groups for r in group]


def test_every_row_of_the_bill_is_an_action(kit, demo_plan):
    """One row for each row of ``required`` with a part, and for each check; none is lost."""
    required = demo_plan.required[demo_plan.required["build"] == kit.build]
    with_part = required[required["part"] != ""]
    assert sum(r.number != "" for r in rows(kit)) == len(with_part)
    checks = required[(required["part"] == "") & (required["role"] == "verify")]
    assert sum(r.what.startswith("check: ") for r in rows(kit)) == len(checks)


def test_what_is_taken_and_what_is_short_make_the_needs(kit, demo_plan):
    """Nothing is picked twice and nothing is dropped: the picks of the plan are the pick list."""
    needs = demo_plan.needs[demo_plan.needs["build"] == kit.build]
    picks = demo_plan.picks[demo_plan.picks["need"].isin(needs["need"])]
    expected = Counter()
    for part, quantity in zip(picks["part"], picks["quantity"], strict=True):
        expected[part] += quantity
    taken = [t for s in kit.stages for t in s.taken]
    found = Counter()
    for one in taken:
        found[one.part] += one.quantity
    assert found == expected
    short = demo_plan.shortages[demo_plan.shortages["build"] == kit.build]
    assert sum(len(s.short) for s in kit.stages) == len(short)
    lent = set(needs.loc[needs["role"].isin([str(r) for r in LENT_ROLES]), "part"])
    for one in together(taken):
        if one.part not in lent:
            found[one.part] -= one.quantity
    assert all(found[part] == 0 for part in expected if part not in lent)


def test_a_bag_holds_one_part_of_one_stage(kit):
    """Its number says the stage; two parts never share a bag."""
    bags = {}
    for stage in kit.stages:
        for one in stage.taken:
            if one.bag:
                assert one.bag.startswith(f"{stage.number}-")
                assert bags.setdefault(one.bag, one.asked) == one.asked


def test_stages_that_come_later_stand_apart(gearbox, bench):
    """The workbook of the bench has every bench stage and none of the others."""
    later = opened(gearbox.part_of(deferred=True))
    for stage in gearbox.stages:
        title = f"{stage.number} {stage.stage}"
        assert (title in bench.sheetnames) is not stage.deferred
        assert (title in later.sheetnames) is stage.deferred


def test_nothing_on_a_stage_sheet_is_too_small_to_read(bench):
    """12 points or larger, printed at full size on one page's width, a box on every row."""
    for sheet in bench:
        assert sheet.page_setup.scale == 100
        assert not sheet.sheet_properties.pageSetUpPr.fitToPage
        for row in sheet.iter_rows():
            for cell in row:
                assert cell.value is None or cell.font.size >= 12


@pytest.mark.parametrize("widths", [STAGE_WIDTHS, PICK_WIDTHS])
def test_the_columns_fit_across_a_page(widths):
    """A column takes 7 pixels a digit and 5 more (ECMA-376 part 1, 18.3.1.13), 96 to the inch."""
    assert sum(7 * w + 5 for w in widths) / 96 <= (210 - 2 * 10.2) / 25.4


def test_there_is_room_for_what_was_forgotten(bench):
    """A SHORT box, six blank lines for extras, a line for left-overs and two initials."""
    for sheet in bench.worksheets[1:]:
        texts = {r: sheet.cell(r, 1).value for r in range(1, sheet.max_row + 1)}
        where = {str(v).split(":")[0]: r for r, v in texts.items() if v}
        extra = where["EXTRA NEEDED"]
        assert where["SHORT"] < extra < where["LEFT OVER"]
        blanks = [r for r in range(extra + 1, where["LEFT OVER"]) if not sheet.cell(r, 2).value]
        assert len(blanks) == BLANKS == 6
        assert all(sheet.cell(r, 1).border.left.style == "medium" for r in blanks)
        signed = next(v for v in texts.values() if v and "picked by" in v)
        assert "checked by" in signed


def test_the_pick_list_is_walked_once(bench):
    """Bins come in the order of a walk, and no bin, lot and bag stands there twice."""
    sheet = bench.worksheets[0]
    found = [[sheet.cell(r, c).value for c in range(1, 8)] for r in range(5, sheet.max_row + 1)]
    shelf = []
    for row in found:
        if row[0] and row[0].startswith("For the bench"):
            break
        shelf.append(row)
    keys = [walking(r[1]) for r in shelf]
    assert keys == sorted(keys)
    assert len({(r[1], r[3], r[5], r[6]) for r in shelf}) == len(shelf) > 40


def test_bins_are_counted_as_people_count():
    """``shelf 2`` before ``shelf 10``; capitals do not matter."""
    places = ["shelf 10", "Shelf 2 11", "shelf 2 3", "drawer A", ""]
    assert sorted(places, key=walking) == ["", "drawer A", "shelf 2 3", "Shelf 2 11", "shelf 10"]


def test_figures_carry_both_units_and_their_page(demo_plan, demo_shop):
    """The maker's unit first; what nobody knows is a line to write on, never a number."""
    figures = demo_shop["figures"].copy()
    figures.loc[figures["joint"] == "case halves", ["value", "unit"]] = [25.0, "N m"]
    plan = replace(demo_plan, shop=demo_shop.replaced(figures=figures))
    told = [r.what for r in rows(gather_kit(plan, "B26-01"))]
    page = "[Plover workshop manual, page 3-14]"
    assert f"torque M8 8.8: 25 N m (18.4 lbf ft)  {page}" in told
    assert any(t.startswith("look up torque: ________ N m  [Plover workshop") for t in told)


def test_old_and_new_numbers_stand_together(demo_plan):
    """The later head gasket is on the shelf: its number, and that of the bill it serves for."""
    kit = gather_kit(demo_plan, "B26-02")
    (gasket,) = (r for r in rows(kit) if "C4-1410-2" in r.number)
    assert gasket.number == "C4-1412-2\nfor C4-1410-2"


def test_what_jobs_take_off_is_looked_for_and_caps_come_out(demo_plan):
    """Before anything is fitted: each plug that the machine shop took out; then pins and caps."""
    kit = gather_kit(demo_plan, "B26-02", beyond(demo_plan))
    stages = {s.stage: s for s in kit.stages}
    heading, back = stages["block"].groups[0]
    assert heading.startswith("Back from outwork: block: clean")
    assert [r.what.split(":")[0] for r in back] == [
        "5 x cup plug 35 mm, brass (CP-35) at core plugs",
        "1 x cup plug 48 mm, brass (CP-48) at camshaft end plug",
        "2 x taper plug R 1/4, hex socket, steel (PLG-R1/4) at gallery plugs front",
        "1 x taper plug R 3/8, hex socket, steel (PLG-R3/8) at gallery plug rear",
    ]
    (pins,) = stages["front"].groups[-1][1]
    assert pins.what.startswith("take out: gear locking pins")
    (caps,) = stages["aboard"].groups[-1][1]
    assert caps.what.startswith("take out: blanking caps")


def test_what_lies_in_the_kit_is_not_picked_again(demo_plan):
    """A lot that is in the stage's kit: the sheet says so, the pick list leaves it out."""
    lot = demo_plan.supply.loc[demo_plan.supply["part"] == "DP-10X24", "supply"].iloc[0]
    supply = demo_plan.supply.copy()
    stages = gather_kit(demo_plan, "B26-01").stages
    own = next(s for s in stages if "DP-10X24" in {r.number for _, g in s.groups for r in g})
    in_kit = supply["supply"] == lot, ["kit", "assembly", "stage", "place"]
    supply.loc[in_kit] = ["picked", own.assembly, "clean", "kit of B26-01 clean"]
    kit = gather_kit(replace(demo_plan, supply=supply), "B26-01")
    (row,) = (r for r in rows(kit) if r.number == "DP-10X24")
    assert row.place == "in the kit of clean"
    listed = [c.value for c in opened(kit.part_of(deferred=False)).worksheets[0]["D"]]
    assert "DP-10X24" in listed  # it is in another stage's kit
    supply.loc[in_kit] = ["picked", own.assembly, own.stage, f"kit of B26-01 {own.stage}"]
    kit = gather_kit(replace(demo_plan, supply=supply), "B26-01")
    (row,) = (r for r in rows(kit) if r.number == "DP-10X24")
    assert row.place == "already in the kit"
    book = opened(kit.part_of(deferred=False))
    listed = [c.value for c in book.worksheets[0]["D"]]
    assert "DP-10X24" not in listed
    assert "DP-6X16" in listed
    assert "In the kit already: 1 line of the stage sheets" in [
        c.value for c in book.worksheets[0]["A"]
    ]


def test_the_same_kit_gives_the_same_bytes(gearbox):
    part = gearbox.part_of(deferred=False)
    assert kit_book(part) == kit_book(part)

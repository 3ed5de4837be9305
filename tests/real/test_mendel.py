"""The bill of the Mendel90 through the whole tool; its known answers hold."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

import pytest
from real.convert_mendel import (
    MACHINE,
    Matrix,
    read_matrix,
    read_pages,
    sheets,
    with_sellers,
)
from real.folder import (
    checked,
    command,
    keep,
    ordered,
    planned,
    published,
    read,
    sheet_totals,
    write,
)

if TYPE_CHECKING:
    from pathlib import Path

    from kitting.tables.plan import Plan

ACCESSORIES = (
    "light_strip",
    "raspberry_pi",
    "raspberry_pi_camera",
    "z_limit_switch",
)
BIGGEST = {
    "Washer M3 x 7mm x 0.5mm": 95,
    "Washer M4 x 9mm x 0.8mm": 90,
    "Nyloc nut M4": 73,
    "Nyloc nut M3": 62,
}


@pytest.fixture(scope="module")
def folder() -> Path:
    """Return the published files."""
    return published("mendel90_dibond")


@pytest.fixture(scope="module")
def matrix(folder: Path) -> Matrix:
    """Read the flat matrix, from which nothing but expectations and stock is made."""
    return read_matrix(folder)


@pytest.fixture(scope="module")
def plan(folder: Path, tmp_path_factory: pytest.TempPathFactory) -> Plan:
    """Plan one machine as published, with nothing on the shelf and nobody who sells."""
    return planned(write(tmp_path_factory.mktemp("mendel"), sheets(folder)))


def required(plan: Plan, family: str = "") -> Counter[str]:
    """Count the pieces that a plan requires, by part."""
    parts = plan.shop["parts"]
    of_family = set(parts.loc[parts["family"] == family, "part"]) if family else set(parts["part"])
    count: Counter[str] = Counter()
    rows = zip(plan.required["part"], plan.required["quantity"].tolist(), strict=True)
    for part, quantity in rows:
        if part in of_family:
            count[part] += quantity
    return count


def test_the_sheets_are_read_without_a_remark(folder: Path, tmp_path: Path) -> None:
    """Names with commas, tildes and lengths are numbers of parts like any other."""
    assert read(write(tmp_path, sheets(folder))).findings == ()


def test_the_tool_requires_the_known_pieces(matrix: Matrix, plan: Plan) -> None:
    """745 bought pieces on 102 kinds, 78 printed on 50, equal to the flat matrix by kind."""
    bought, printed = required(plan, "bought"), required(plan, "printed")
    assert bought == matrix.bought
    assert printed == matrix.printed
    assert (bought.total(), len(bought)) == (745, 102)
    assert (printed.total(), len(printed)) == (78, 50)
    assert {part: bought[part] for part in BIGGEST} == BIGGEST


def test_each_sub_assembly_requires_its_column(matrix: Matrix, plan: Plan) -> None:
    """Cell by cell, the exploded bill is the flat matrix; the machine itself asks for nothing."""
    got: Counter[tuple[str, str]] = Counter()
    columns = ("assembly", "part", "quantity")
    rows = zip(*(plan.required[c].tolist() for c in columns), strict=True)
    for assembly, part, quantity in rows:
        heading = assembly.removesuffix("_assembly").removesuffix("_assemblies")
        got[heading, part] += quantity
    assert got == {
        (heading.casefold().replace(" ", "_"), part): n
        for (heading, part), n in matrix.cells.items()
    }
    assert MACHINE not in set(plan.required["assembly"])
    top = plan.built_in[plan.built_in["assembly"] == MACHINE]
    assert len(top) == 8


def test_a_file_that_lists_all_is_not_multiplied(
    folder: Path, matrix: Matrix, tmp_path: Path
) -> None:
    """Multiplying the two motors by two gives 815 and 84, wrong on eleven kinds and three."""
    plan = planned(write(tmp_path, sheets(folder, believe_parents=True)))
    bought, printed = required(plan, "bought"), required(plan, "printed")
    assert (bought.total(), printed.total()) == (815, 84)
    assert sum(bought[k] != n for k, n in matrix.bought.items()) == 11
    assert sum(printed[k] != n for k, n in matrix.printed.items()) == 3


@pytest.mark.parametrize(
    "chosen", [*((name,) for name in ACCESSORIES), ACCESSORIES], ids=" and ".join
)
def test_a_chosen_accessory_adds_its_own_file(
    folder: Path, matrix: Matrix, tmp_path: Path, chosen: tuple[str, ...]
) -> None:
    """An option adds exactly the pieces of its file to the machine, and only when chosen."""
    extra = read_pages(folder / "accessories")
    options = "; ".join(f"{name}=fitted" for name in chosen)
    plan = planned(write(tmp_path, sheets(folder, options)))
    expected = matrix.bought + matrix.printed
    for name in chosen:
        expected += extra[f"{name}_assembly"].bought + extra[f"{name}_assembly"].printed
    assert required(plan) == expected
    assert len(extra) == len(ACCESSORIES)


def test_the_flat_matrix_on_the_shelf_makes_a_whole_kit(
    folder: Path, matrix: Matrix, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Stock by the flat matrix covers the exploded bill to the last piece."""
    write(tmp_path, sheets(folder, stock=matrix.bought + matrix.printed))
    plan = planned(tmp_path)
    assert plan.shortages.empty
    assert plan.picks["quantity"].sum() == plan.supply["quantity"].sum() == 745 + 78
    code, document = checked(capsys, tmp_path, "M90")
    assert (code, document["whole"], document["shortages"]) == (0, True, [])


def test_one_nut_less_is_found(
    folder: Path, matrix: Matrix, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """With one of 73 nuts missing the kit is not whole, and only that nut is short."""
    stock = matrix.bought + matrix.printed
    stock["Nyloc nut M4"] -= 1
    keep(write(tmp_path, sheets(folder, stock=stock)))
    code, document = checked(capsys, tmp_path, "M90")
    assert (code, document["whole"]) == (1, False)
    assert [(s["part"], s["short"]) for s in document["shortages"]] == [("Nyloc nut M4", 1)]


def test_reading_twice_changes_nothing(
    folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The second reading of the same sheets finds the shop as it is."""
    write(tmp_path, with_sellers(sheets(folder)))
    _, first = command(capsys, tmp_path, "read", str(tmp_path))
    _, second = command(capsys, tmp_path, "read", str(tmp_path))
    assert first.startswith("read\n")
    assert second == "read; nothing changed\n"


def test_nothing_can_be_ordered_from_nobody(
    folder: Path, plan: Plan, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Without suppliers each of the 152 kinds is told once, and asked of whoever may know."""
    assert len({f.about for f in plan.findings}) == len(plan.findings) == 102 + 50
    code, orders = ordered(capsys, keep(write(tmp_path, sheets(folder))))
    assert (code, orders["orders"], len(orders["no_offer"])) == (1, [], 152)
    (asked,) = (tmp_path / "orders").iterdir()
    assert asked.name.startswith("questions ")
    assert asked.name.endswith(" anyone.xlsx")
    assert len(orders["questions"]) == 152


def test_every_piece_is_bought_once(
    folder: Path, matrix: Matrix, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Sold by the piece, exactly the flat matrix is ordered, kind by kind, and makes it whole."""
    keep(write(tmp_path, with_sellers(sheets(folder))))
    code, orders = ordered(capsys, tmp_path)
    assert code == 0
    told = {
        o["supplier"]: {line["part"]: line["quantity"] for line in o["lines"]}
        for o in orders["orders"]
    }
    assert told == {"counter": matrix.bought, "print room": matrix.printed}
    assert sorted(sheet_totals(tmp_path).values()) == pytest.approx([0.78, 7.45])
    code, document = checked(capsys, tmp_path, "M90")
    assert (code, document["whole"]) == (0, True)

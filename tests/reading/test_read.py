"""A sound shop is read whole: values, units and blanks."""

from __future__ import annotations

import pandas as pd
import pytest

from kitting.errors import InputError
from kitting.reading import read_sheets
from kitting.tables.shop import BY_NAME


def test_a_sound_shop_has_no_findings(told) -> None:
    """Nothing is told of sheets without fault."""
    assert told() == []


def test_frames_meet_their_contracts(read) -> None:
    """Every sheet that was there comes as a frame of its contract, and no other."""
    reading = read()
    assert reading.ok
    assert set(reading.frames) == {
        *("parts", "sets", "stages", "joints", "lines", "options"),
        *("suppliers", "offers", "builds"),
    }
    for name, frame in reading.frames.items():
        BY_NAME[name].check(frame)


def test_part_numbers_stay_as_typed(read) -> None:
    """Leading zeros, ``1E5`` and ``3-4`` survive."""
    assert read().frames["parts"]["part"].tolist() == ["0012", "1E5", "3-4", "RTV", "KIT"]


def test_quantities_are_base_units(read) -> None:
    """A blank unit is the part's; measures and dozens are converted; the unit is kept."""
    lines = read().frames["lines"]
    assert lines["quantity"].tolist() == [1, 12, 15_000, 1, 12]
    assert lines["unit"].tolist() == ["piece", "piece", "ml", "piece", "dozen"]


def test_blank_cells_stand_for_what_the_sheet_says(read) -> None:
    """Defaults: fits, count, disturbances, work days, priority, packs, per, currency, no day."""
    frames = read().frames
    assert frames["sets"]["fits"].tolist() == ["needed"]
    assert frames["joints"]["count"].tolist() == [1, 1]
    assert frames["joints"]["disturbances"].tolist() == [1, 2]
    assert frames["stages"]["work_days"].tolist() == [1.0, 2.5, 1.0]
    assert frames["builds"]["priority"].tolist() == [5]
    assert frames["builds"]["finished"].isna().all()
    assert frames["offers"][["least_packs", "from_packs"]].to_numpy().tolist() == [[1, 1]]
    supplier = frames["suppliers"].iloc[0]
    assert (supplier["currency"], supplier["cut_off"], supplier["freight"]) == ("EUR", "09:30", 650)
    assert supplier["least_order"] == 0
    assert pd.isna(supplier["free_freight_above"])


def test_ordinals_are_sheet_rows(read) -> None:
    """A row without a number of its own takes its row in the sheet, so that it can be found."""
    frames = read(
        rules="assembly,when,caution,rule\nEng,,mind the gap,3\nEng,,wear gloves,\n"
    ).frames
    assert frames["lines"]["line"].tolist() == [2, 3, 4, 5, 6]
    assert frames["offers"]["offer"].tolist() == [2]
    assert frames["rules"]["rule"].tolist() == [3, 4]  # row 3 was taken


def test_order_lines_run_within_the_order(read) -> None:
    """Lines without a number follow the highest of their order."""
    orders = read(
        orders="""order,line,supplier,part,quantity,unit,ordered
K1,,Acre,1E5,2,dozen,2026-03-02
K2,,Acre,1E5,1,,2026-03-02
K1,,Acre,0012,1,,2026-03-02
K3,7,Acre,0012,1,,2026-03-02
K3,,Acre,1E5,1,,2026-03-02
"""
    ).frames["orders"]
    assert orders["line"].tolist() == [1, 1, 2, 7, 8]
    assert orders["quantity"].tolist() == [24, 1, 1, 1, 1]
    assert orders["packs"].isna().all()


def test_prices_per_pack_and_per_number(read) -> None:
    """``per`` is a number of the unit; blank means one pack."""
    offers = read(
        offers="supplier,part,pack,unit,price,per,lead_days\n"
        "Acre,1E5,100,,3.15,,2\nAcre,RTV,80,ml,7.2,,2\nAcre,RTV,0.3,l,20,100,2\n"
    ).frames["offers"]
    assert offers["pack"].tolist() == [100, 80_000, 300_000]
    assert offers["per"].tolist() == [100, 80_000, 100_000_000]
    assert offers["price"].tolist() == [315, 720, 2000]


@pytest.mark.parametrize(
    ("row", "take", "give"),
    [
        ("0012,3-4,alternate,", 1, 1),
        ("0012,3-4,alternate,2", 2, 1),  # two of the stand-in for one part
        ("0012,3-4,alternate,1/2", 1, 2),  # one of it serves for two
        ("0012,3-4,alternate,1.5", 3, 2),
        ("0012,RTV,alternate,80", 80_000, 1),  # 80 ml for one piece
        ("RTV,0012,alternate,1/80", 1, 80_000),  # and the other way round
    ],
)
def test_ratios(read, row: str, take: int, give: int) -> None:
    """A ratio is how much of the stand-in serves for one of the part."""
    stand_ins = read(stand_ins=f"part,stand_in,kind,ratio\n{row}\n").frames["stand_ins"]
    assert stand_ins[["take", "give"]].to_numpy().tolist() == [[take, give]]


def test_yes_and_no(read) -> None:
    """The usual words are read; anything else is not."""
    words = ["yes", "No", "TRUE", "false", "1", "0", "x", "", "maybe"]
    rows = "".join(f"P{i},{word}\n" for i, word in enumerate(words))
    reading = read(only=True, parts=f"part,customer_supplied\n{rows}")
    assert reading.frames["parts"]["customer_supplied"].tolist() == [
        *(True, False, True, False, True, False, True, False)
    ]
    (finding,) = reading.findings
    assert (finding.row, finding.column) == (10, "customer_supplied")


def test_figures_and_checks_need_no_part(read, told) -> None:
    """A line may say where a figure is found without naming a part; other roles may not."""
    head = "assembly,stage,joint,role,part,quantity,source\n"
    lines = read(lines=f"{head}Eng,build,cover,figure,,,manual p. 31\nBox,fit,,,3-4,1,\n")
    assert lines.frames["lines"]["quantity"].tolist() == [0, 1]
    assert told(lines=f"{head}Eng,build,cover,clamp,,,\nBox,fit,,,3-4,1,\n") == [
        "stop lines row 2, part: the cell is blank; write the part (only a figure or verify line "
        "needs none)"
    ]


def test_one_csv_file_alone(read, tmp_path) -> None:
    """A single sheet is read against the shop as it is."""
    reading = read()
    path = tmp_path / "offers.csv"
    path.write_text("supplier,part,price,lead_days\nAcre,0012,4.2,1\nAcre,9999,1,1\n")
    from kitting.tables.shop import empty_shop

    shop = empty_shop().replaced(**reading.frames)
    alone = read_sheets(path, shop)
    assert [(f.sheet, f.row, f.column) for f in alone.findings] == [("offers", 3, "part")]
    assert alone.frames["offers"]["part"].tolist() == ["0012"]
    assert set(alone.frames) == {"offers"}


@pytest.mark.parametrize("name", ["none", "none.csv", "none.xlsx", "a\x00b", "x" * 300])
def test_a_source_that_is_not_there(tmp_path, name: str) -> None:
    """The error says that there is nothing, whatever the name."""
    with pytest.raises(InputError, match=r"there is no file|cannot be opened"):
        read_sheets(tmp_path / name)


def test_a_source_of_another_kind(tmp_path) -> None:
    """Other endings and folders without csv are refused with what to give."""
    (tmp_path / "shop.pdf").write_text("x")
    with pytest.raises(InputError, match="saved as xlsx or ods"):
        read_sheets(tmp_path / "shop.pdf")
    with pytest.raises(InputError, match="holds no csv file"):
        read_sheets(tmp_path)


@pytest.mark.parametrize(
    ("row", "says"),
    [
        ("0012,RTV,alternate,", "measured in different kinds of unit; write how many"),
        ("0012,3-4,alternate,0", '"0" is not above zero'),
        ("0012,3-4,alternate,two", "is not a number"),
        ("RTV,0012,alternate,0.0000000000001", "the ratio is out of range"),
    ],
)
def test_ratios_that_are_none(told, row: str, says: str) -> None:
    """A ratio is above zero, in bounds, and given where the units differ in kind."""
    (finding,) = told(stand_ins=f"part,stand_in,kind,ratio\n{row}\n")
    assert finding.startswith("stop stand_ins row 2, ratio: ")
    assert says in finding

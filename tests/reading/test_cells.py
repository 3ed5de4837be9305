"""What a cell may say, column by column, and what is told of a cell that says something else."""

from __future__ import annotations

import pytest

HEAD = "assembly,stage,part,quantity,unit\n"


@pytest.mark.parametrize(
    ("cell", "says"),
    [
        ('"1,5"', '"1,5" is not a number; write digits with a point, such as 1.5'),
        ("1e308", '"1e308" is not a number'),
        ("1e3", '"1e3" is not a number'),
        ("NaN", '"NaN" is not a number'),
        ("inf", '"inf" is not a number'),
        ("-inf", '"-inf" is not a number'),
        ("2.5", "2.5 piece is not a whole number of pieces; write whole pieces"),
        ("1/3", "is not a whole number of pieces"),
        ("-2", '"-2" is not more than zero'),
        ("0", '"0" is not more than zero'),
        ("12 pcs", "write only 12 here, and pcs in the column unit"),
        ("9" * 30, "is out of range; at most 1,000,000,000,000,000"),
        ("9" * 5000, "is too long for a number"),
        ("1000000000000001", "is out of range"),
        ("", "the cell is blank; write the quantity"),
        ("#N/A", "#N/A: a formula's error, not a value"),
    ],
)
def test_quantities_that_are_none(told, cell: str, says: str) -> None:
    """Every kind of bad quantity is one stop at its cell."""
    text = f"{HEAD}Eng,build,1E5,1,\nEng,build,0012,{cell},\n"
    (finding,) = told(lines=text, joints=None)
    assert finding.startswith("stop lines row 3, quantity: ")
    assert says in finding


@pytest.mark.parametrize(
    ("quantity", "unit", "base"),
    [
        ("4.5", "US qt", 4_258_588),  # 4258588.257 ul
        ("1/2", "l", 500_000),
        ("0.0005", "ml", 0),  # half a microlitre rounds to even, which is nothing: told
        ("15", "", 15_000),
        ("1000000", "l", 10**12),
        ("2000000000", "l", None),  # more than anyone holds
        ("1", "kg", None),
        ("1", "tube", None),
        ("1", "quart", None),
        ("1", "qt", None),
    ],
)
def test_units_of_a_measured_part(read, quantity: str, unit: str, base: int | None) -> None:
    """A part counted in ml takes any volume; counts, masses and vague units are refused."""
    reading = read(lines=f"{HEAD}Eng,build,RTV,{quantity},{unit}\n", joints=None)
    if base:
        assert reading.findings == ()
        assert reading.frames["lines"]["quantity"].tolist() == [base]
    else:
        (finding,) = reading.findings
        assert finding.level == "stop"
        assert finding.column in ("quantity", "unit")


def test_a_unit_of_another_kind_is_told_at_the_unit(told) -> None:
    """The message says how the part is counted."""
    text = f"{HEAD}Eng,build,RTV,1,tube\nEng,build,RTV,2,tube\n"
    assert told(lines=text, joints=None) == [
        'stop lines row 2, unit: "tube" does not convert: this part is counted in ml in the sheet '
        "parts; write a unit of the same kind, or put the part right (also row 3)"
    ]


@pytest.mark.parametrize(
    ("quantity", "base"), [("2", 2_000), ("2 l", 2_000_000), ("1/2 l", 500_000), ("80ml", 80_000)]
)
def test_sheets_without_a_unit_column_take_it_with_the_number(read, quantity, base) -> None:
    """Rules and sets have no column for the unit, so that ``2 l`` is read there."""
    frames = read(rules=f"assembly,needs_part,quantity\nEng,RTV,{quantity}\n").frames
    assert frames["rules"]["quantity"].tolist() == [base]


def test_rules_ask_for_one_unless_they_say(read, told) -> None:
    """A blank quantity is one piece; of a measured part it must be given; without a part none."""
    rules = read(rules="assembly,needs_part,quantity,caution\nEng,0012,,\nEng,,,wear gloves\n")
    assert rules.frames["rules"]["quantity"].array.to_numpy(na_value=-1).tolist() == [1, -1]
    (finding,) = told(rules="assembly,needs_part\nEng,RTV\n")
    assert finding.startswith("stop rules row 2, quantity: the cell is blank and the part is meas")


def test_a_blank_pack_is_one_piece(read, told) -> None:
    """A pack of a measured part must say what it holds."""
    head = "supplier,part,price,lead_days\n"
    assert read(offers=f"{head}Acre,0012,4,1\n").frames["offers"]["pack"].tolist() == [1]
    (finding,) = told(offers=f"{head}Acre,RTV,4,1\n")
    assert "write how much one pack holds" in finding


@pytest.mark.parametrize(
    ("cell", "says"),
    [
        ('"4,20"', "is not a price"),
        ("4.205", "fraction of a cent"),
        ("-1", "is below zero"),
        ("1e5", "is not a price"),
        ("€ 4", "is not a price"),
        ("99999999999999999", "is out of range"),
    ],
)
def test_prices_that_are_none(told, cell: str, says: str) -> None:
    """A price is digits with a point, exact to the cent."""
    (finding,) = told(offers=f"supplier,part,price,lead_days\nAcre,0012,{cell},1\n")
    assert finding.startswith("stop offers row 2, price: ")
    assert says in finding


def test_an_offer_may_come_before_its_price_and_lead_time(told):
    """Blank cells are notes, not faults: the supplier is asked when the part is short."""
    found = told(offers="supplier,part,price,lead_days\nAcre,0012,,1\nAcre,0012,4.20,\n")
    assert [f.split(":")[0] for f in found] == [
        "note offers row 2, price",
        "note offers row 3, lead_days",
    ]
    assert all("kitting order writes the question" in f for f in found)


@pytest.mark.parametrize(
    ("cell", "says"),
    [
        ("09/03/2026", "write year-month-day"),
        ("2026-02-30", "write year-month-day"),
        ("46090", "write year-month-day"),
        ("1900-01-01", "is before 1980"),
        ("1904-01-01", "1900 and 1904 systems differ by four years"),
        ("9999-12-31", "leave no limit blank"),
    ],
)
def test_days_that_are_none(told, cell: str, says: str) -> None:
    """A day is year-month-day and within a workshop's life."""
    (finding,) = told(builds=f"build,assembly,start\nB1,Eng,{cell}\n")
    assert finding.startswith("stop builds row 2, start: ")
    assert says in finding


@pytest.mark.parametrize("cell", ["2026-03-09", "2026-03-09 00:00:00", "2026-03-09T00:00"])
def test_days(read, cell: str) -> None:
    """A midnight that an export added does not matter."""
    builds = read(builds=f"build,assembly,start\nB1,Eng,{cell}\n").frames["builds"]
    assert str(builds["start"].iloc[0].date()) == "2026-03-09"


@pytest.mark.parametrize(
    ("cell", "says"),
    [("0", "below 1"), ("-1", "below 1"), ("1.5", "is not whole"), ("x", "number")],
)
def test_counts_of_a_joint(told, cell: str, says: str) -> None:
    """How many alike and how often closed are whole and at least one."""
    for column in ("count", "disturbances"):
        text = f"assembly,stage,joint,kind,{column}\nEng,build,front seal,k,{cell}\n"
        (finding,) = [t for t in told(joints=text) if "row 2" in t and "joints" in t]
        assert finding.startswith(f"stop joints row 2, {column}: ")
        assert says in finding


@pytest.mark.parametrize(
    ("sheet", "text", "says"),
    [
        ("lines", "assembly,stage,part,quantity,role\nEng,build,0012,1,lube\n", "lubricate"),
        ("parts", "part,single_use\n0012,nevr\n", "nearest: never"),
        ("sets", "set,part,quantity,fits\nKIT,0012,1,leftover\n", "nearest: left over"),
        ("stand_ins", "part,stand_in,kind\n0012,3-4,supersede\n", "nearest: supersedes"),
    ],
)
def test_fixed_words(told, sheet: str, text: str, says: str) -> None:
    """A word that is not one of the few is told with the nearest."""
    faults = [t for t in told(**{sheet: text}) if "is not one of" in t]
    assert len(faults) == 1
    assert says in faults[0]


def test_words_in_any_case(read) -> None:
    """Case and underscores of a fixed word do not matter."""
    sets = read(sets="set,part,quantity,fits\nKIT,0012,1,Left_Over\n").frames["sets"]
    assert sets["fits"].tolist() == ["left over"]


def test_alike_faults_are_told_once_with_their_rows(told) -> None:
    """A column of the same mistake is one finding that names its rows."""
    rows = "".join(f"P{i},x{'' if i % 2 else 'y'},furlong\n" for i in range(40))
    (finding,) = told(only=True, parts=f"part,name,unit\n{rows}")
    assert finding.endswith("(also rows 3, 4, 5, 6, 7 and 34 more)")


def test_many_different_faults_are_bounded(read) -> None:
    """Beyond a hundred different faults of a column the rest are counted."""
    rows = "".join(f"P{i},unit{i}\n" for i in range(500))
    findings = read(only=True, parts=f"part,unit\n{rows}").findings
    assert len(findings) == 101
    assert "400 more cells of this column are wrong" in findings[-1].message


def test_names_shortened_by_a_spreadsheet(read) -> None:
    """A csv cell such as 1.23E+11 is kept and told of; 1E5 is a name like any other."""
    reading = read(only=True, parts="part\n1.23457E+11\n1E5\nE-7\n")
    assert reading.ok
    assert reading.frames["parts"]["part"].tolist() == ["1.23457E+11", "1E5", "E-7"]
    (finding,) = reading.findings
    assert "a spreadsheet shortened" in finding.message


@pytest.mark.parametrize("cell", ['"A\n1"', '"A\t1"', "A\x001", "A\x071"])
def test_names_with_marks_that_no_name_has(told, cell: str) -> None:
    """Line breaks, tabs and control characters in a name are told."""
    found = told(only=True, parts=f"part\n{cell}\n")
    assert len(found) == 1
    assert found[0].startswith("stop parts")


def test_space_around_names_falls_off(read) -> None:
    """Plain, hard and zero-width space around a cell does not make another part."""
    text = "part\n\u00a0 0012\u200b \nA B\n"
    assert read(only=True, parts=text).frames["parts"]["part"].tolist() == ["0012", "A B"]


def test_a_cut_off_is_a_time(told) -> None:
    """A cut-off is a 24-hour time."""
    (finding,) = told(offers=None, suppliers="supplier,cut_off\nAcre,3 pm\n")
    assert 'cut_off: "3 pm" is not a time' in finding

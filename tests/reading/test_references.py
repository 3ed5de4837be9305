"""The reference tables: whole, a source on every row, and read only when they are asked for."""

from __future__ import annotations

import shutil

import pytest

from kitting.errors import InputError
from kitting.reading import references as module
from kitting.reading.references import MARKS, references
from kitting.shipped import shipped
from kitting.tables.references import REFERENCES
from kitting.tables.shop import BY_NAME, empty_shop
from kitting.terms.conditions import parse_when
from kitting.terms.words import Level, Way


@pytest.fixture
def copied(tmp_path, monkeypatch):
    """Return a copy of the shipped catalogs that is read in their place."""
    shutil.copytree(shipped("catalogs"), tmp_path / "catalogs")
    monkeypatch.setattr(module, "shipped", lambda name: tmp_path / name)
    return tmp_path / "catalogs"


@pytest.mark.parametrize("table", REFERENCES, ids=lambda t: t.name)
def test_shipped_tables_keep_their_contract(table) -> None:
    """Columns, kinds and keys are right, and every row says who says so."""
    frame = table.check(references()[table.name])
    assert len(frame)
    assert (frame["source"] != "").all()
    if "mark" in frame:
        assert set(frame["mark"]) <= set(MARKS)


def test_fluid_rules_are_rules() -> None:
    """Levels, conditions and columns are known; none of them stops a build."""
    rules = references()["fluid_rules"]
    assert set(rules["level"]) <= {Level.WARN, Level.NOTE}
    assert set(rules["property"]) <= {*BY_NAME["fluids"].names, "alone"}
    assert all(parse_when(text) is not None for text in rules["when"])


def test_every_way_is_there() -> None:
    """Each way to compute has one row."""
    assert sorted(references()["ways"]["way"]) == sorted(Way)


def test_only_what_the_shop_needs_is_read() -> None:
    """A shop without the sheets costs nothing; a table that was not read is empty."""
    shop = empty_shop()
    assert references(shop).tables == {}
    assert set(references(shop, spares=True).tables) == {"spare_rules"}
    assert references(shop)["ways"].empty


@pytest.mark.parametrize(
    ("old", "new", "column", "message"),
    [
        ("bead,", "bead,x", "", ""),
        ("0.15", "a lot", "waste", '"a lot" is not what the column waste holds: real'),
        ("common practice,", "hearsay,", "mark", '"hearsay" is not what the column mark holds'),
    ],
)
def test_a_spoilt_file_is_named(copied, old: str, new: str, column: str, message: str) -> None:
    """A cell that breaks the contract is told with its row; a good one is read."""
    path = copied / "ways.csv"
    path.write_text(path.read_text(encoding="utf-8").replace(old, new, 1), encoding="utf-8")
    if not message:
        assert references()["ways"]["of"].iloc[0].startswith("x")
        return
    with pytest.raises(InputError, match=r"ways\.csv cannot be used") as caught:
        references()
    (fault,) = caught.value.findings
    assert (fault.sheet, fault.row, fault.column) == ("ways", 2, column)
    assert message in fault.message


def test_an_absent_cell_is_named(copied) -> None:
    """A row that is too short is a fault at each cell it lacks."""
    path = copied / "freezing.csv"
    path.write_text("share,freezes,mark,source\n0.4,-24\n", encoding="utf-8")
    with pytest.raises(InputError) as caught:
        references()
    assert [(f.row, f.column) for f in caught.value.findings] == [(2, "mark"), (2, "source")]

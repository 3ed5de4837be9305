"""A shop written back as sheets."""

from __future__ import annotations

from fractions import Fraction

import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from kitting.errors import KittingError
from kitting.reading import read_sheets, write_sheets
from kitting.reading.writing import show_exact
from kitting.tables.shop import SHEETS, empty_shop
from kitting.terms.units import UNITS, parse_number, to_base


def test_written_and_read_is_the_same(read, tmp_path) -> None:
    """Every table comes back, row for row."""
    shop = empty_shop().replaced(**read().frames)
    paths = write_sheets(shop, tmp_path / "out")
    assert [p.stem for p in paths] == [t.name for t in SHEETS]
    again = read_sheets(tmp_path / "out")
    assert again.findings == ()
    for table in SHEETS:
        pd.testing.assert_frame_equal(again.frames[table.name], shop[table.name])


def test_cells_are_written_as_a_person_would(read, tmp_path) -> None:
    """Units of the trade, money with a point, days year-month-day."""
    write_sheets(empty_shop().replaced(**read().frames), tmp_path / "out")
    lines = (tmp_path / "out" / "lines.csv").read_text(encoding="utf-8-sig").splitlines()
    assert lines[0] == "assembly,stage,joint,role,part,quantity,unit,when,source,note,line"
    assert lines[3] == "Eng,build,cover,seal,RTV,15,ml,,,,4"
    assert lines[5] == "Box,fit,,,3-4,1,dozen,,,,6"
    offers = (tmp_path / "out" / "offers.csv").read_text(encoding="utf-8-sig").splitlines()
    assert offers[1] == "Acre,1E5,,100,piece,1,1,3.15,100,2,,,2,,,0.00,"
    builds = (tmp_path / "out" / "builds.csv").read_text(encoding="utf-8-sig").splitlines()
    assert builds[1] == "B1,Eng,cooling=air,2026-03-09,5,,,,"


@given(st.integers(0, 10**15), st.sampled_from(UNITS))
def test_quantities_are_written_exactly(quantity: int, of) -> None:
    """The number written in any unit reads as the same base units."""
    assert to_base(parse_number(show_exact(quantity, of)), of) == quantity


@pytest.mark.parametrize(
    ("quantity", "unit", "text"),
    [
        (15_000, "ml", "15"),
        (500, "ml", "0.5"),
        (7, "dozen", "7/12"),
        (946_353, "US qt", "1.000001"),
    ],
)
def test_quantities_are_written_short(quantity: int, unit: str, text: str) -> None:
    """The shortest decimal that reads the same; a fraction where no decimal does."""
    from kitting.terms.units import unit as unit_named

    shown = show_exact(quantity, unit_named(unit))
    assert len(shown) <= len(text)
    assert to_base(Fraction(shown), unit_named(unit)) == quantity


def test_files_appear_together_or_not_at_all(read, tmp_path) -> None:
    """When one file cannot be put in place, the folder is as it was, but for those before it."""
    shop = empty_shop().replaced(**read().frames)
    folder = tmp_path / "out"
    folder.write_text("a file is in the way")
    with pytest.raises(KittingError, match="cannot be written"):
        write_sheets(shop, folder)
    assert folder.read_text() == "a file is in the way"


def test_a_full_disk_leaves_the_old_sheets(read, tmp_path, monkeypatch) -> None:
    """The old files stay and nothing is left beside them."""
    shop = empty_shop().replaced(**read().frames)
    folder = tmp_path / "out"
    write_sheets(shop, folder)
    before = {p.name: p.read_bytes() for p in folder.iterdir()}
    plain = type(folder).open

    def full(self, *args, **kwargs):
        if self.name.startswith(".offers"):
            raise OSError(28, "No space left on device", str(self))
        return plain(self, *args, **kwargs)

    monkeypatch.setattr(type(folder), "open", full)
    with pytest.raises(KittingError, match="no space left on device"):
        write_sheets(empty_shop(), folder)
    monkeypatch.undo()
    assert {p.name: p.read_bytes() for p in folder.iterdir()} == before

"""Reading some sheets against what the shop already holds."""

from __future__ import annotations

import pytest

from kitting.tables.shop import empty_shop


@pytest.fixture
def shop(read):
    """Return the sound shop, as held."""
    return empty_shop().replaced(**read().frames)


def test_names_that_the_shop_holds_are_known(told, shop) -> None:
    """One sheet alone is checked against all that is held."""
    lines = "assembly,stage,joint,part,quantity,when\nEng,build,cover,RTV,2,cooling=air\n"
    assert told(only=True, known=shop, lines=lines) == []


def test_units_come_from_the_parts_that_are_held(read, shop) -> None:
    """A blank unit is the held part's."""
    stock = "part,quantity\nRTV,80\n"
    frame = read(only=True, known=shop, stock=stock).frames["stock"]
    assert frame[["quantity", "unit"]].to_numpy().tolist() == [[80_000, "ml"]]


def test_a_sheet_replaces_its_table(told, shop) -> None:
    """Parts that are gone are missed where the shop still names them, and only there."""
    parts = "part,unit\n0012,\n1E5,\nRTV,ml\nKIT,\n"
    assert told(only=True, known=shop, parts=parts) == [
        'stop lines, part: in what the shop holds: part "3-4" is not in the sheet parts; add it '
        "there, or correct the name"
    ]


def test_facts_add_to_what_is_held(read, told, shop) -> None:
    """A receipt may answer an order that the shop holds; history is not judged again."""
    orders = "order,supplier,part,quantity,ordered\nK1,Acre,1E5,100,2026-03-02\n"
    held = shop.replaced(**read(only=True, known=shop, orders=orders).frames)
    receipt = "receipt,order,part,quantity,received\nR1,{},1E5,100,2026-03-04\n"
    assert told(only=True, known=held, receipts=receipt.format("K1")) == []
    (finding,) = told(only=True, known=held, receipts=receipt.format("K2"))
    assert "nearest: K1" in finding
    later = orders.replace("K1", "K2")
    assert told(only=True, known=held, orders=later, receipts=receipt.format("K1")) == []


def test_reading_the_same_again_is_quiet(told, shop) -> None:
    """Nothing is told of sheets that the shop already holds."""
    assert told(known=shop) == []


def test_a_changed_kind_of_unit_is_told(told, shop) -> None:
    """Quantities that the shop holds would change their meaning."""
    parts = "part,unit\n0012,\n1E5,\n3-4,\nRTV,g\nKIT,set\n"
    (finding,) = told(only=True, known=shop, parts=parts)
    assert finding.startswith('stop parts row 5, unit: "RTV" was counted in ml and now is in g')
    whole = told(
        known=shop,
        parts=parts,
        lines="assembly,stage,part,quantity\nEng,build,RTV,15\nEng,build,Box,1\n",
    )
    assert whole == []


def test_a_sheet_without_rows_would_empty_its_table(read, shop) -> None:
    """Headings alone say that there are none; the loss is told before it happens."""
    reading = read(only=True, known=shop, sets="set,part,quantity\n")
    assert len(reading.frames["sets"]) == 0
    (finding,) = reading.findings
    assert str(finding) == "sets: the sheet has no rows, so the 1 that the shop holds would go"
    assert finding.level == "warn"


def test_options_that_are_gone_are_missed(told, shop) -> None:
    """Conditions and builds that the shop holds are checked against new options."""
    found = told(only=True, known=shop, options="assembly,option,choices\nEng,fuel,a; b\n")
    assert {t.split(":")[0] for t in found} == {
        "stop joints, when",
        "stop lines, when",
        "stop builds, options",
    }


def test_frames_that_are_held_stay_as_they_are(read, shop) -> None:
    """Reading alters nothing that it is given."""
    before = {name: frame.copy() for name, frame in shop.tables.items()}
    read(known=shop, parts="part,unit\n0012,l\n", orders="order,part\nK1,0012\n")
    for name, frame in shop.tables.items():
        assert frame.equals(before[name]), name

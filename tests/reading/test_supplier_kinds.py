"""Kinds of supplier and the shop's confidence: what may be written."""

from __future__ import annotations

import pytest


@pytest.mark.parametrize("kind", ["dealer", "Machine Shop", "import", ""])
def test_kinds_that_are_known(told, kind: str) -> None:
    """A class of offers by its name or another word for it; blank is none."""
    assert told(suppliers=f"supplier,kind\nAcre,{kind}\n") == []


def test_a_kind_that_is_not_known_is_told_and_does_no_harm(read) -> None:
    """It is kept, with a warning that names the nearest; the stated days tell the class."""
    reading = read(suppliers="supplier,kind\nAcre,dealers\n")
    (finding,) = reading.findings
    assert str(finding).startswith("suppliers row 2, kind: nothing is assumed of the kind")
    assert "nearest: dealer" in finding.message
    assert reading.ok
    assert reading.frames["suppliers"]["kind"].tolist() == ["dealers"]


@pytest.mark.parametrize("text", ["90", "95 %", "99.9", "50"])
def test_a_confidence(told, text: str) -> None:
    """Percents, with or without the sign."""
    assert told(shop=f"setting,value\nconfidence,{text}\n") == []


@pytest.mark.parametrize("text", ["0.9", "100", "high", "-90", "nan"])
def test_a_confidence_that_is_none(told, text: str) -> None:
    """A share instead of percents, certainty or words: told with what to write."""
    (finding,) = told(shop=f"setting,value\nconfidence,{text}\n")
    assert finding.startswith("stop shop row 2, value: ")
    assert "percents from 50 to 99.9, such as 90" in finding


def test_first_and_requested_days_of_an_order(read) -> None:
    """Both are kept apart from the promise; blank means not known."""
    reading = read(
        orders="order,line,supplier,part,quantity,ordered,promised,requested,first_promised\n"
        "K1,1,Acre,0012,1,2026-03-02,2026-03-12,2026-03-09,2026-03-10\n"
        "K1,2,Acre,0012,1,2026-03-02,2026-03-12,,\n",
    )
    assert reading.ok
    orders = reading.frames["orders"]
    assert str(orders["requested"][0])[:10] == "2026-03-09"
    assert str(orders["first_promised"][0])[:10] == "2026-03-10"
    assert orders.loc[1, ["requested", "first_promised"]].isna().all()

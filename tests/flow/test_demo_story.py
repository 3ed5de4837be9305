"""The demo's story, told by the plan: one build whole, one short, one that cannot start.

Tools are left out of the comparison: they come back to the board after each use.
"""

from __future__ import annotations

from datetime import date
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING

from kitting.plan import plan
from kitting.reading import read_sheets
from kitting.reading.catalogs import joint_kinds
from kitting.reading.references import references
from kitting.shipped import shipped
from kitting.tables.shop import Shop

if TYPE_CHECKING:
    import pandas as pd

    from kitting.tables.plan import Plan

MONDAY = date(2026, 3, 9)


@lru_cache
def planned() -> Plan:
    """Read the demo's sheets and plan them as of the Monday of its week."""
    reading = read_sheets(Path(shipped("demo")) / "sheets", None)
    assert reading.ok
    assert not reading.findings
    return plan(Shop(reading.frames).check(), MONDAY, joint_kinds(), references())


def short(build: str, *, deferred: bool = False) -> pd.DataFrame:
    """Return what a build lacks, with the buy that covers it (blank = nobody sells it)."""
    rows = planned().shortages
    rows = rows[(rows["build"] == build) & (rows["role"] != "tool")]
    if not deferred:
        rows = rows[~rows["deferred"]]
    buys = planned().buys[["buy", "usable", "in_time"]]
    covers = planned().buy_needs[["buy", "need"]].merge(buys, on="buy")
    return rows.merge(covers, how="left", on="need")


def test_the_gearbox_is_whole() -> None:
    """B26-01 lacks nothing and has no gap that stops it; its clutch plates are on their way."""
    assert short("B26-01").empty
    gaps = planned().gaps
    assert not ((gaps["build"] == "B26-01") & (gaps["level"] == "stop")).any()
    needs, supply = planned().needs, planned().supply.set_index("supply")
    plates = needs.loc[(needs["build"] == "B26-01") & (needs["part"] == "PL-1011"), "need"]
    by = planned().picks[planned().picks["need"].isin(plates)]
    assert by["covers"].sum() == 12
    assert "SEW-26-008" in set(supply.loc[by["supply"], "order"])


def test_the_engine_is_short_but_everything_can_come_in_time() -> None:
    """Every shortage of B26-02 has a supplier that delivers before its stage."""
    rows = short("B26-02")
    assert 20 <= len(rows) <= 60
    assert rows["buy"].notna().all()
    assert rows["in_time"].eq(True).all()
    assert rows["part"].isin(["OW-BLOCK", "RTV-GREY", "C4-1415", "C4-3011"]).sum() >= 4


def test_the_engine_has_the_gaps_that_the_readme_tells() -> None:
    """The joint check finds the open gallery, the pump's ring, the grease and the driver."""
    gaps = planned().gaps
    found = {
        (row.joint, row.role)
        for row in gaps[(gaps["build"] == "B26-02") & (gaps["check"] == "roles")].itertuples()
        if row.level != "note"  # what a kind has only where the maker specifies it
    }
    assert found == {
        ("gallery plug rear", "clamp"),
        ("sea-water pump flange", "seal"),
        ("rear crank seal", "lubricate"),
        ("front crank seal", "tool"),
    }
    stops = gaps[(gaps["build"] == "B26-03") & (gaps["level"] == "stop")]
    assert {"gallery plug rear", "turbo oil feed"} <= set(stops["joint"])


def test_the_unit_cannot_start() -> None:
    """B26-03 waits for the crane and the seal set, and for a plate that nobody lists."""
    rows = short("B26-03")
    first = rows[rows["stage"] == "strip"]
    late = set(first.loc[first["in_time"].eq(False), "part"])
    assert late == {"OW-CRANE", "PL-9001"}
    nobody = set(rows.loc[rows["buy"].isna(), "part"])
    assert nobody - {"CURLEW-MANUAL", "PLOVER-MANUAL"} == {
        "CURLEW4-CORE",
        "PLOVER-CORE",
        "C4-5010",
        "C4-3550",
    }
    turbo = rows[rows["part"] == "C4-4040"].iloc[0]
    assert turbo["in_time"]
    assert (turbo["day"] - turbo["usable"]).days <= 7


def test_old_and_opened_sealant_is_not_promised() -> None:
    """The expired tube serves nobody; the opened one serves only until its opened life ends."""
    plan_ = planned()
    lots = plan_.supply.set_index("supply")
    used = plan_.picks.merge(plan_.needs[["need", "build"]], on="need")
    sealant = used[used["part"] == "RTV-GREY"]
    assert set(lots.loc[sealant["supply"], "lot"]) == {"RG-2509"}
    assert set(sealant["build"]) <= {"B26-01", "B26-03"}


def test_the_later_head_gasket_serves_for_the_superseded_one() -> None:
    """The stand-in on the shelf covers the engine's need for the withdrawn number."""
    plan_ = planned()
    need = plan_.needs[(plan_.needs["build"] == "B26-02") & (plan_.needs["part"] == "C4-1410-2")]
    picked = plan_.picks[plan_.picks["need"].isin(need["need"])]
    assert list(picked["part"]) == ["C4-1412-2"]


def test_the_overdue_order_is_named() -> None:
    """The glow plugs promised last Thursday have not come: somebody must ring."""
    assert any("C4-5030" in str(finding) for finding in planned().findings)

"""The demo's consumables, figures, fluids, tubes and spares, from its sheets to what is said."""

from __future__ import annotations

import json
from datetime import date
from functools import lru_cache
from pathlib import Path

from click.testing import CliRunner

from kitting.bill import explode, open_builds
from kitting.bill.advice import advice
from kitting.bill.amounts import computed, with_amounts
from kitting.bill.packs import packs
from kitting.bill.spares import spares
from kitting.commands import group
from kitting.plan import plan
from kitting.reading import read_sheets
from kitting.reading.catalogs import catalogs, joint_kinds
from kitting.reading.references import references
from kitting.shipped import shipped
from kitting.tables.shop import Shop


@lru_cache
def demo() -> Shop:
    """Return the demo as it is read."""
    return Shop(read_sheets(Path(shipped("demo")) / "sheets").frames).check()


def test_the_bill_brings_what_is_computed() -> None:
    """No amount of the demo is too little, and each one is computed."""
    shop, refs = demo(), references(demo())
    places = computed(shop, refs)
    assert len(places) >= 25
    assert all(place.quantity > 0 and not place.fault for place in places.values())
    gaps, cautions = advice(shop, explode(shop, open_builds(shop)), refs)
    assert set(gaps["check"]) == {"torque figures"}
    assert set(gaps["level"]) == {"note"}
    assert gaps["message"].str.startswith("look up the torque").all()
    assert set(zip(cautions["subject"], cautions["level"], strict=True)) == {("COOLANT", "note")}


def test_blank_quantities_come_out_as_computed() -> None:
    """With every computed quantity blanked, the bill asks for nearly what it says today."""
    shop, refs = demo(), references(demo())
    places = computed(shop, refs)
    lines = shop["lines"]
    keys = zip(lines["assembly"], lines["joint"], lines["part"], strict=True)
    blank = [(assembly, "", joint, part) in places for assembly, joint, part in keys]
    assert sum(blank) == len(places)
    bare = shop.replaced(lines=lines.assign(quantity=lines["quantity"].mask(blank, 0)))
    filled = with_amounts(bare, refs)["lines"]["quantity"]
    assert (filled[blank] > 0).all()
    assert filled.where(blank, 0).sum() <= lines["quantity"].where(blank, 0).sum() * 1.02
    assert (filled.mask(blank) == lines["quantity"].mask(blank)).sum() == len(lines) - sum(blank)


def test_the_silicone_is_opened_by_its_clock() -> None:
    """The open tube serves this week and spoils; the next one is opened for the cover."""
    planned = plan(demo(), date(2026, 3, 9), joint_kinds(), references())
    opened, _ = packs(planned.shop, planned.needs, planned.supply)
    rows = opened[opened["part"] == "RTV-GREY"]
    assert rows["comes"].tolist() == ["open on the shelf", "buy"]
    assert rows["thrown_away"].iloc[0] == 20_000
    assert rows["stages"].iloc[1].startswith("B26-02 front")


def test_spares_are_advice() -> None:
    """Seals, washers and small screws are proposed; no tool, oil or machine part is."""
    shop = demo()
    bills = explode(shop, open_builds(shop))
    rows = spares(shop, bills, references(shop, spares=True), catalogs().families)
    assert {"small seal", "hidden lip seal", "washers and clips"} <= set(rows["rule"])
    families = shop["parts"].set_index("part")["family"]
    assert not set(families[rows["part"]]) & {"tool", "fluid", "outwork", "pump", "sealant"}
    assert (rows["spare"] > 0).all()


def told(*words: str) -> str:
    """Run a command and return what it prints."""
    return CliRunner().invoke(group, list(words), standalone_mode=False).output


def test_spares_are_listed_and_ordered_on_request(tmp_path):
    """A rear crank seal is damaged on fitting: the check says so, the order can bring one more."""
    shop = str(tmp_path / "shop.db")
    told("read", str(Path(shipped("demo")) / "sheets"), "--shop", shop, "--on", "2026-03-09")
    check = ("check", "B26-02", "--shop", shop, "--on", "2026-03-09", "--json")
    assert "spares" not in json.loads(told(*check))
    spares = {row["part"]: row for row in json.loads(told(*check, "--spares"))["spares"]}
    seal = spares["LS-95X120X12-V"]
    assert (seal["spare"], seal["mark"]) == (1, "common practice")
    wanted = {part: row["buy"] for part, row in spares.items() if row["buy"]}
    assert wanted
    order = ("order", "B26-02", "--shop", shop, "--on", "2026-03-09", "--try", "--json")
    plain, more = (json.loads(told(*order, *also)) for also in ((), ("--spares",)))
    needed = [
        sum(line["needed"] for o in document["orders"] for line in o["lines"])
        for document in (plain, more)
    ]
    assert needed[1] == needed[0] + sum(wanted.values())

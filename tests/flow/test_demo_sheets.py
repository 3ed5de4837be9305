"""The demo's own promises: sizes, names that resolve, units that convert, facts that are right."""

from __future__ import annotations

import csv
import math
import re
from collections import Counter, defaultdict
from datetime import date
from functools import lru_cache
from pathlib import Path

import pytest

from kitting.shipped import shipped
from kitting.tables.shop import BY_NAME, SHEETS
from kitting.terms.conditions import parse_choices, parse_when, split_list
from kitting.terms.days import parse_clock, parse_day
from kitting.terms.gtin import gtin_fault
from kitting.terms.money import parse_cents
from kitting.terms.units import convert, parse_number, to_base, unit
from kitting.terms.words import Cause, Fits, Role, SingleUse, StandInKind

Row = dict[str, str]

# The gaps that demo/README.md lists: left in the bill so that the joint check finds them.
GAPS = {
    ("CURLEW4", "gallery plug rear", "clamp"),
    ("CURLEW4", "rear crank seal", "lubricate"),
    ("CURLEW4", "front crank seal", "tool"),
    ("CURLEW4", "sea-water pump flange", "seal"),
    ("CURLEW4", "turbo oil feed", "seal"),
}
# AS568 sizes (inside diameter, cross-section) in inches; a millimetre value is inches x 25.4.
AS568 = {
    "012": (0.364, 0.070), "013": (0.426, 0.070), "014": (0.489, 0.070), "016": (0.614, 0.070),
    "020": (0.864, 0.070), "113": (0.549, 0.103), "116": (0.737, 0.103), "118": (0.862, 0.103),
    "124": (1.237, 0.103), "140": (2.237, 0.103), "152": (3.237, 0.103), "210": (0.734, 0.139),
    "222": (1.484, 0.139), "229": (2.359, 0.139), "233": (2.859, 0.139), "236": (3.234, 0.139),
    "240": (3.734, 0.139), "246": (4.484, 0.139),
}  # fmt: skip
# Hexagon socket (ISO 4762), across flats (ISO 4017, 4032), washer (ISO 7089), in millimetres.
HEX_KEY = {"M5": "4", "M6": "5", "M8": "6", "M10": "8"}
ACROSS_FLATS = {"M6": "10", "M8": "13", "M10": "16", "M12": "18", "M16": "24"}
WASHER = {
    "M5": "5.3 x 10 x 1", "M6": "6.4 x 12 x 1.6", "M8": "8.4 x 16 x 1.6",
    "M10": "10.5 x 20 x 2", "M12": "13 x 24 x 2.5", "M16": "17 x 30 x 3",
}  # fmt: skip
# Boundary dimensions of rolling bearings (ISO 15 and ISO 355), in millimetres.
BEARING = {"6206": "30 x 62 x 16", "30207": "35 x 72 x 18.25", "32009X": "45 x 75 x 20"}


@lru_cache
def sheet(name: str) -> list[Row]:
    """Return the rows of a sheet of the demo."""
    path = Path(shipped("demo")) / "sheets" / f"{name}.csv"
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def column(name: str, heading: str) -> set[str]:
    return {row[heading] for row in sheet(name) if row[heading]}


@lru_cache
def counted_in() -> dict[str, str]:
    return {row["part"]: row["unit"] for row in sheet("parts")}


def base(quantity: str, written: str) -> int:
    return to_base(parse_number(quantity), unit(written))


@lru_cache
def asked() -> dict[str, dict[str, str]]:
    """Return what each joint kind of the catalog asks for: level by role."""
    kinds: dict[str, dict[str, str]] = defaultdict(dict)
    path = Path(shipped("catalogs")) / "joint_kinds.csv"
    with path.open(encoding="utf-8", newline="") as file:
        for row in csv.DictReader(file):
            if row["level"] != "note" or not row["usual"].endswith("where specified"):
                kinds[row["kind"]][row["role"]] = row["level"]
    return kinds


@lru_cache
def filled() -> dict[tuple[str, str], set[str]]:
    roles: dict[tuple[str, str], set[str]] = defaultdict(set)
    for row in (*sheet("lines"), *sheet("waivers")):
        roles[row["assembly"], row["joint"]].add(row["role"])
    return roles


@pytest.mark.parametrize("name", [t.name for t in SHEETS])
def test_every_sheet_is_there_with_columns_of_its_contract(name: str) -> None:
    """Each sheet has rows, and no heading that the contract does not know."""
    rows = sheet(name)
    known = {c.name for c in BY_NAME[name].columns} | ({"ratio"} if name == "stand_ins" else set())
    assert rows
    assert set(rows[0]) <= known
    assert all(None not in row and None not in row.values() for row in rows)


def test_sizes_are_those_promised() -> None:
    """The demo is as large as a real shop's sheets, not a toy."""
    kinds = column("joints", "kind")
    assert column("joints", "assembly") == {"CURLEW4", "PLOVER", "CURLEW4-PLOVER"}
    assert len(sheet("stages")) >= 16
    assert sum(row["deferred"] == "yes" for row in sheet("stages")) >= 4
    assert len(sheet("joints")) >= 70
    assert len(kinds) >= 22
    assert kinds <= set(asked())
    assert len(sheet("lines")) >= 320
    assert len(sheet("suppliers")) == 5
    assert len(sheet("offers")) >= 350
    assert len(sheet("orders")) >= 80
    assert 12 <= len(sheet("forgotten")) <= 18
    assert column("forgotten", "cause") == {str(c) for c in Cause}
    assert len(sheet("used")) >= 300


def test_three_builds_are_open_and_ten_are_past() -> None:
    """A blank day of finishing means open."""
    state = Counter(bool(row["finished"]) for row in sheet("builds"))
    assert state == {True: 10, False: 3}


@pytest.mark.parametrize(
    ("name", "heading", "among"),
    [
        ("lines", "part", ("parts", "assemblies")),
        ("sets", "set", ("parts",)),
        ("sets", "part", ("parts",)),
        ("stand_ins", "part", ("parts",)),
        ("stand_ins", "stand_in", ("parts",)),
        ("rules", "needs_part", ("parts",)),
        ("offers", "part", ("parts",)),
        ("stock", "part", ("parts",)),
        ("orders", "part", ("parts",)),
        ("receipts", "part", ("parts",)),
        ("forgotten", "part", ("parts",)),
        ("used", "part", ("parts",)),
        ("offers", "supplier", ("suppliers",)),
        ("orders", "supplier", ("suppliers",)),
        ("stock", "held_for", ("builds",)),
        ("orders", "build", ("builds",)),
        ("forgotten", "build", ("builds",)),
        ("used", "build", ("builds",)),
        ("builds", "assembly", ("assemblies",)),
        ("options", "assembly", ("assemblies",)),
        ("rules", "assembly", ("assemblies",)),
    ],
)
def test_names_resolve(name: str, heading: str, among: tuple[str, ...]) -> None:
    """Whatever a sheet names is there in the sheet that holds it."""
    known = {
        "parts": column("parts", "part"),
        "suppliers": column("suppliers", "supplier"),
        "builds": column("builds", "build"),
        "assemblies": column("stages", "assembly"),
    }
    assert column(name, heading) <= set().union(*(known[a] for a in among))


@pytest.mark.parametrize("name", ["joints", "lines"])
def test_stages_and_joints_resolve(name: str) -> None:
    """A joint stands in a stage of its assembly; a line's joint stands in the line's stage."""
    stages = {(row["assembly"], row["stage"]) for row in sheet("stages")}
    joints = {(row["assembly"], row["stage"], row["joint"]) for row in sheet("joints")}
    assert {(row["assembly"], row["stage"]) for row in sheet(name)} <= stages
    assert {(r["assembly"], r["stage"], r["joint"]) for r in sheet(name) if r["joint"]} <= joints


def test_stages_of_what_happened_resolve() -> None:
    """Forgotten and used parts name stages and joints of the build's assemblies."""
    within = {"CURLEW4-PLOVER": {"CURLEW4-PLOVER", "CURLEW4", "PLOVER"}}
    of_build = {row["build"]: row["assembly"] for row in sheet("builds")}
    joints = {(row["assembly"], row["stage"], row["joint"]) for row in sheet("joints")}
    stages = {(row["assembly"], row["stage"]) for row in sheet("stages")}
    for row in (*sheet("forgotten"), *sheet("used")):
        own = within.get(of_build[row["build"]], {of_build[row["build"]]})
        assert any((a, row["stage"]) in stages for a in own), row
        assert not row["joint"] or any((a, row["stage"], row["joint"]) in joints for a in own), row


def test_stages_follow_stages_of_their_assembly() -> None:
    """``after`` names stages that stand above in the sheet, so that no circle is possible."""
    seen: set[tuple[str, str]] = set()
    for row in sheet("stages"):
        assert all((row["assembly"], a) in seen for a in split_list(row["after"])), row
        seen.add((row["assembly"], row["stage"]))


@pytest.mark.parametrize("name", ["lines", "offers", "stock", "orders", "receipts", "used"])
def test_units_convert_to_what_the_part_is_counted_in(name: str) -> None:
    """Every quantity is a whole number of base units in a unit of the part's dimension."""
    for row in sheet(name):
        if not row["part"] or row["part"] not in counted_in():
            continue
        convert(parse_number("1"), unit(row["unit"]), unit(counted_in()[row["part"]]))
        assert base(row["quantity" if name != "offers" else "pack"], row["unit"]) >= 0


def test_money_days_and_hours_are_readable() -> None:
    """Prices are whole cents, days are ISO days, cut-offs are times."""
    for row in sheet("offers"):
        assert parse_cents(row["price"]) > 0
        assert int(row["lead_days"]) >= 0
    for row in sheet("suppliers"):
        parse_clock(row["cut_off"])
        parse_cents(row["freight"])
    for name in ("builds", "orders", "receipts", "closures", "waivers", "stock", "forgotten"):
        for heading in ("start", "finished", "ordered", "promised", "received", "day", "noted"):
            for row in sheet(name):
                if row.get(heading):
                    parse_day(row[heading])


def test_fixed_words_are_known() -> None:
    """Roles, single use, fits and kinds of stand-in come from the fixed words."""
    assert column("lines", "role") == {str(r) for r in Role}
    assert column("parts", "single_use") == {str(s) for s in SingleUse}
    assert column("sets", "fits") | {"needed"} == {str(f) for f in Fits}
    assert column("stand_ins", "kind") == {str(k) for k in StandInKind}


def test_conditions_name_options_and_choices_that_exist() -> None:
    """Every ``when`` and every build's options use an option and a value that are offered."""
    offered: dict[str, set[str]] = defaultdict(set)
    for row in sheet("options"):
        offered[row["option"]] |= set(split_list(row["choices"]))
        assert row["default"] in split_list(row["choices"])
    for name in ("joints", "lines", "rules"):
        for row in sheet(name):
            for condition in parse_when(row["when"]):
                assert set(condition.values) <= offered[condition.option], row
    for row in sheet("builds"):
        for option, value in parse_choices(row["options"]).items():
            assert value in offered[option], row


def test_every_role_is_filled_but_for_the_gaps_told() -> None:
    """The joint kinds of the catalog ask for roles; the bill lacks exactly the told ones."""
    empty = {
        (row["assembly"], row["joint"], role)
        for row in sheet("joints")
        for role in asked()[row["kind"]]
        if role not in filled()[row["assembly"], row["joint"]]
    }
    assert empty == GAPS


def test_no_role_is_both_filled_and_waived() -> None:
    """A waiver says that nothing is needed, so no line may fill the same role."""
    lines = {(row["assembly"], row["joint"], row["role"]) for row in sheet("lines")}
    waived = {(row["assembly"], row["joint"], row["role"]) for row in sheet("waivers")}
    assert not lines & waived


def test_tools_stand_in_the_role_tool() -> None:
    """A tool comes back to the board, so no line may ask for one as if it were used up."""
    tools = {row["part"] for row in sheet("parts") if row["family"] == "tool"}
    asked_as = {row["role"] for row in sheet("lines") if row["part"] in tools}
    assert asked_as == {"tool"}
    assert {r["single_use"] for r in sheet("parts") if r["family"] == "tool"} == {"reuse"}


def test_gaps_are_what_past_builds_forgot() -> None:
    """Each gap left in the bill bit a past build, so that the audit can tell the same story."""
    forgot = {(row["joint"], row["role"]) for row in sheet("forgotten")}
    assert {(joint, role) for _, joint, role in GAPS} <= forgot


def test_no_line_tells_a_figure() -> None:
    """A figure line names the manual's page; no sheet invents a torque or a clearance."""
    for row in sheet("lines"):
        if row["role"] == "figure":
            assert re.fullmatch(r"see manual, page \d+-\d+", row["note"])
            assert re.search(r"workshop manual p \d+-\d+$", row["source"])
        assert not re.search(r"\d\s*(N\s?m|lbf|ft.?lb|kgf)", row["note"] + row["source"])


def test_rings_have_their_standard_size() -> None:
    """An AS568 size is its inch size times 25.4, to a hundredth of a millimetre or so."""
    rings = [row for row in sheet("parts") if row["part"].startswith("OR-")]
    assert len(rings) >= 18
    for row in rings:
        dash = row["part"].split("-")[1]
        found = re.search(r"([\d.]+) x ([\d.]+) mm", row["name"])
        assert found, row
        for shown, inches in zip(found.groups(), AS568[dash], strict=True):
            assert abs(float(shown) - inches * 25.4) < 0.011, row


def test_hardware_has_its_standard_size() -> None:
    """Keys, spanners, washers and bearings are those of ISO 4762, 4017, 7089, 15 and 355."""
    for row in sheet("parts"):
        thread = re.search(r"\bM\d+", row["part"])
        if row["part"].startswith("SCS-") and thread:
            assert row["note"] == f"hex key {HEX_KEY[thread[0]]} mm"
        elif row["part"].startswith(("HHS-", "NUT-", "LNUT-")) and thread:
            assert row["note"].startswith(f"across flats {ACROSS_FLATS[thread[0]]} mm")
        elif row["part"].startswith("WSH-") and thread:
            assert f"{WASHER[thread[0]]} mm" in row["name"]
        elif row["part"] in BEARING:
            assert f"{BEARING[row['part']]} mm" in row["name"]


def test_beads_of_sealant_are_computed() -> None:
    """A bead takes pi/4 d2 L and 15 % waste, rounded up to a whole millilitre."""
    beads = 0
    for row in sheet("lines"):
        found = re.search(r"bead ([\d.]+) mm x ([\d.]+) m,", row["note"])
        if found:
            beads += 1
            millilitres = math.pi / 4 * float(found[1]) ** 2 * float(found[2]) * 1.15
            assert row["quantity"] == str(math.ceil(millilitres)), row
    assert beads >= 3


def test_sealants_and_adhesives_have_a_life() -> None:
    """What cures or spoils says how long it keeps, sealed and opened."""
    for row in sheet("parts"):
        if row["family"] in ("sealant", "threadlocker", "retaining compound", "thread sealant"):
            assert 0 < int(row["open_days"]) <= int(row["shelf_days"])
            assert "common practice" in row["note"]


def test_what_is_torn_out_is_never_fitted_again() -> None:
    """Gaskets, rings, seals, crush washers, circlips, split pins and tab washers are used once."""
    once = {"gasket", "o-ring", "lip seal", "crush washer", "circlip", "split pin", "tab washer"}
    assert {r["single_use"] for r in sheet("parts") if r["family"] in once} == {"never"}


def test_whoever_sells_a_part_is_known_or_nobody_on_purpose() -> None:
    """Only papers, what customers bring and the withdrawn plate have no offer."""
    sold = column("offers", "part")
    for row in sheet("parts"):
        if row["part"] not in sold:
            withdrawn = "nobody lists it" in row["note"]
            assert row["family"] == "paper" or row["customer_supplied"] == "yes" or withdrawn, row


def test_orders_and_receipts_agree() -> None:
    """A receipt answers a line, comes after it was ordered, and never brings more than asked."""
    lines = {(row["order"], row["line"]): row for row in sheet("orders")}
    came: Counter[tuple[str, str]] = Counter()
    for row in sheet("receipts"):
        line = lines[row["order"], row["line"]]
        assert line["part"] == row["part"]
        assert line["ordered"] <= row["received"] <= "2026-03-09"
        came[row["order"], row["line"]] += base(row["quantity"], row["unit"])
    for key, row in lines.items():
        assert came[key] <= base(row["quantity"], row["unit"])
    still = [r for k, r in lines.items() if not came[k] and not r["cancelled"]]
    assert len(still) == 3
    assert sum(parse_day(r["promised"]) < date(2026, 3, 9) for r in still) == 1
    assert max(Counter((r["order"], r["line"]) for r in sheet("receipts")).values()) == 2


def test_stock_feels_like_a_shelf() -> None:
    """Places everywhere, one sealant past its day, one opened tube, lots kept for builds."""
    rows = sheet("stock")
    assert all(row["place"] for row in rows)
    assert any(row["use_by"] and row["use_by"] < "2026-03-09" for row in rows)
    assert any(row["opened"] and row["part"] == "RTV-GREY" for row in rows)
    assert sum(bool(row["held_for"]) for row in rows) >= 5
    keys = Counter((r["part"], r["lot"], r["place"], r["held_for"]) for r in rows)
    assert max(keys.values()) == 1


def test_trade_item_numbers_are_made_for_examples() -> None:
    """The prefix 952 is made available by GS1 for demos and examples; check digits hold."""
    numbers = column("offers", "gtin")
    assert {len(number) for number in numbers} == {13, 14}
    assert all(number[-13:].startswith("952") for number in numbers)
    assert not any(gtin_fault(number) for number in numbers)

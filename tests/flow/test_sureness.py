"""The demo's week: how sure each build is, what decides it, what to do on Monday."""

from __future__ import annotations

import csv
import json
import subprocess
import sys
from datetime import date
from pathlib import Path

import pytest

from kitting.commands import run

ROOT = Path(__file__).resolve().parents[2]
ON = ["--on", "2026-03-09"]


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory) -> str:
    place = str(tmp_path_factory.mktemp("sure") / "shop.db")
    assert run(["read", str(ROOT / "demo" / "sheets"), "--shop", place, *ON]) == 0
    return place


@pytest.fixture
def say(shop: str, capsys: pytest.CaptureFixture[str]):
    """Return a function that runs a command and gives what it printed."""

    def make(*words: str) -> str:
        capsys.readouterr()
        run([*words, "--shop", shop, *ON])
        return capsys.readouterr().out

    return make


def test_the_whole_gearbox_hangs_on_one_order(say) -> None:
    """B26-01 is whole, yet its clutch plates come on the last day: the order to chase is named."""
    text = say("check", "B26-01")
    assert "is WHOLE" in text
    (line,) = (row for row in text.splitlines() if "chance that every part" in row)
    assert line.endswith("SEW-26-008 decides it")
    document = json.loads(say("check", "B26-01", "--json"))
    chance = document["chance"]
    assert 0.5 < chance["parts_in_time"] < 0.9
    assert chance["deciding"][0]["order"] == "SEW-26-008"
    assert chance["deciding"][0]["a_day_sooner_adds"] > 0.05
    (todo,) = document["today"]
    assert (todo["do"], todo["supplier"], todo["order"]) == ("chase", "HARROWMERE", "SEW-26-008")
    stages = {s["stage"]: s for s in document["stages"]}
    assert stages["strip"]["chance_in_time"] == 1.0
    assert stages["clutches"]["parts_in_time"] == chance["parts_in_time"]
    assert stages["shafts"]["parts_in_time"] == 1.0
    assert stages["shafts"]["chance_in_time"] == chance["parts_in_time"]


def test_each_shortage_has_its_chance_and_both_days(say) -> None:
    """The day to order by what is learned, beside the day by what the supplier states."""
    document = json.loads(say("check", "B26-02", "--json"))
    for short in document["shortages"]:
        assert 0.0 <= short["chance_in_time"] <= 1.0
        assert short["order_by"] <= short["order_by_stated"]
    by_part = {s["part"]: s for s in document["shortages"]}
    head = by_part["OW-HEAD"]
    # The machine shop has been late: nine in ten need more than the ten days that it states.
    assert head["order_by"] < document["as_of"] < head["order_by_stated"]
    # It goes out with the engine, not today, so that no order of today has it back in time.
    assert head["chance_in_time"] == 0.0
    assert 0.3 < by_part["OW-BLOCK"]["chance_in_time"] < 0.9
    assert any(t["part"] == "OW-HEAD" and t["do"] == "order" for t in document["today"])


def test_what_nobody_brings_leaves_no_chance(say) -> None:
    """B26-03 lacks parts that only the owner has, and a plate that nobody lists."""
    document = json.loads(say("check", "B26-03", "--json"))
    assert document["chance"]["parts_in_time"] == 0.0
    assert document["chance"]["days_late"] is None
    asked = {t["part"] for t in document["today"] if t["do"] == "ask"}
    assert asked == {"PLOVER-CORE", "CURLEW4-CORE", "C4-5010"}
    assert "C4-3550" in {t["part"] for t in document["today"] if t["do"] == "find"}
    for short in document["shortages"]:
        assert (short["supplier"] is None) <= (short["chance_in_time"] == 0.0)


def test_a_shop_may_choose_its_confidence(tmp_path: Path, capsys) -> None:
    """At 60 % there is more time to order than at 90 %."""
    shop = str(tmp_path / "shop.db")
    assert run(["read", str(ROOT / "demo" / "sheets"), "--shop", shop, *ON]) == 0
    days = {}
    for share in ("90", "60"):
        sheet = tmp_path / share / "shop.csv"
        sheet.parent.mkdir()
        own = (ROOT / "demo" / "sheets" / "shop.csv").read_text(encoding="utf-8")
        sheet.write_text(f"{own.rstrip()}\nconfidence,{share}\n", encoding="utf-8")
        assert run(["read", str(sheet), "--shop", shop, *ON]) == 0
        capsys.readouterr()
        run(["order", "B26-02", "--try", "--json", "--shop", shop, *ON])
        orders = json.loads(capsys.readouterr().out)["orders"]
        days[share] = {line["part"]: line["order_by"] for o in orders for line in o["lines"]}
        stated = {line["part"]: line["order_by_stated"] for o in orders for line in o["lines"]}
    assert days["90"].keys() == days["60"].keys()
    assert all(days["90"][part] <= days["60"][part] <= stated[part] for part in stated)
    assert any(days["90"][part] < days["60"][part] for part in stated)


def test_drawn_courses_stand_beside_the_exact_chance(say) -> None:
    """One order decides the gearbox, and its work days are fixed: both ways tell the same."""
    asked = ("check", "B26-01", "--json", "--sample", "--seed", "7")
    found = json.loads(say(*asked))["sampled"]
    assert (found["courses"], found["seed"]) == (20_000, 7)
    for row in (found["finish"], *found["stages"]):
        assert abs(row["chance"] - row["exact"]) <= 3 * row["error"] + 1e-4
        assert row["day"] <= row["half_by"] <= row["nine_in_ten_by"]
    assert found["finish"]["half_by"] == "2026-03-19" < found["finish"]["nine_in_ten_by"]
    assert json.loads(say(*asked))["sampled"] == found
    assert json.loads(say(*asked[:-1], "8"))["sampled"] != found
    text = say("check", "B26-01", "--sample", "1000")
    assert "Drawn 1000 times, seed 1" in text
    assert "end of the bench work  Thu 19 Mar" in text
    assert max(map(len, text.splitlines())) <= 80
    assert "sampled" not in json.loads(say("check", "B26-01", "--json"))
    assert "? = " in say("check", "B26-03", "--sample", "100")


def test_work_that_varies_moves_the_end(tmp_path: Path, capsys) -> None:
    """With three points for a stage the end is less sure than the plan's days tell."""
    shop = str(tmp_path / "shop.db")
    assert run(["read", str(ROOT / "demo" / "sheets"), "--shop", shop, *ON]) == 0
    sheet = tmp_path / "more" / "stages.csv"
    sheet.parent.mkdir()
    with (ROOT / "demo" / "sheets" / "stages.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    names = [*dict.fromkeys([*rows[0], "work_days_least", "work_days_most"])]
    found = {}
    for least, most in ((1, 1), (0.5, 6)):
        for row in rows:
            case = row["assembly"] == "PLOVER" and row["stage"] == "case"
            row |= {"work_days_least": least, "work_days_most": most} if case else {}
            row |= {"work_days": 1} if case else {}
        with sheet.open("w", encoding="utf-8", newline="") as file:
            writer = csv.DictWriter(file, names)
            writer.writeheader()
            writer.writerows(rows)
        assert run(["read", str(sheet), "--shop", shop, *ON]) == 0
        capsys.readouterr()
        run(["check", "B26-01", "--json", "--sample", "--shop", shop, *ON])
        found[most] = json.loads(capsys.readouterr().out)["sampled"]["finish"]
        page = tmp_path / "page.html"
        run(["report", "B26-01", "--into", str(page), "--shop", shop, *ON])
        day = date.fromisoformat(found[most]["nine_in_ten_by"])
        told = f"nine times in ten by <b>{day:%a} {day.day} {day:%b}</b>: drawn" in page.read_text()
        assert told is (most == 6)
    assert abs(found[1]["chance"] - found[1]["exact"]) <= 3 * found[1]["error"] + 1e-4
    assert found[6]["chance"] < found[6]["exact"] - 5 * found[6]["error"]
    assert found[6]["nine_in_ten_by"] > found[1]["nine_in_ten_by"]


def test_nothing_is_loaded_for_courses_that_nobody_asks_for(shop: str) -> None:
    program = (
        "import sys; from kitting.commands import run; "
        f"run(['check', 'B26-01', '--shop', {shop!r}, '--on', '2026-03-09']); "
        "print(sorted(m for m in sys.modules if 'sampl' in m and m.startswith('kitting')))"
    )
    done = subprocess.run(
        [sys.executable, "-c", program], capture_output=True, text=True, check=True
    )
    assert done.stdout.rstrip().endswith("[]")

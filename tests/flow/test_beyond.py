"""What goes out, what is measured first and what is owed, in the kit check by the command line."""

from __future__ import annotations

import json
import shutil
import subprocess
import sys

import pytest
from click.testing import CliRunner

from kitting.commands import group, run
from kitting.shipped import shipped

AS_OF = ["--on", "2026-03-09"]
EXTRA = ("outwork.csv", "temporary.csv", "measured.csv")


@pytest.fixture(scope="module")
def shop(tmp_path_factory):
    """Return a shop that holds the demo's sheets."""
    place = str(tmp_path_factory.mktemp("beyond") / "shop.db")
    assert run(["read", str(shipped("demo") / "sheets"), "--shop", place, *AS_OF]) == 0
    return place


def check(shop, *args):
    args = ["check", *args, "--shop", shop, *AS_OF]
    return CliRunner().invoke(group, args, standalone_mode=False)


def test_jobs_that_go_out_and_come_back(shop):
    """The head is away 12 days from 19 March; with Easter (3 and 6 April 2026) it is a day late."""
    document = json.loads(check(shop, "B26-02", "--json").output)
    jobs = {j["job"]: j for j in document["outwork"]}
    assert set(jobs) == {"OW-BLOCK", "OW-CRANK", "OW-RODS", "OW-HEAD", "OW-PUMP"}
    head = jobs["OW-HEAD"]
    assert (head["out"], head["back"], head["usable"], head["needed"]) == (
        "2026-03-19", "2026-04-08", "2026-04-09", "2026-04-08",
    )  # fmt: skip
    assert [j["job"] for j in document["outwork"] if not j["in_time"]] == ["OW-HEAD"]
    (block,) = [s for s in document["stages"] if s["stage"] == "block"]
    assert (block["state"], block["ready"]) == ("late", jobs["OW-HEAD"]["usable"])
    taken = {t["part"]: t["check"] for t in jobs["OW-BLOCK"]["taken_off"]}
    assert "ask before the job goes out" in taken["PLG-R3/8"]
    assert "ours to fit" in taken["PLG-R1/4"]


def test_every_command_tells_the_same_of_a_stage_that_waits_for_a_job(shop, tmp_path):
    """The head is back on Thursday 9 April: late in check, page and board; scheduled from then."""
    document = json.loads(check(shop, "B26-02", "--json").output)
    (block,) = [s for s in document["stages"] if s["stage"] == "block"]
    assert (block["state"], block["ready"]) == ("late", "2026-04-09")
    assert (block["chance_in_time"], block["parts_in_time"]) == (0.0, 0.0)
    assert document["chance"]["in_time"] == 0.0
    assert document["chance"]["deciding"][0]["expected"] == "2026-04-08"
    assert "now, already late" in check(shop, "B26-02").output

    def run_of(*words):
        args = [*words, "--shop", shop, *AS_OF]
        return CliRunner().invoke(group, args, standalone_mode=False).output

    stages = json.loads(run_of("schedule", "--json", "--plans", "1"))["stages"]
    (first,) = [s for s in stages if (s["build"], s["stage"]) == ("B26-02", "block")]
    assert first["start"] >= "2026-04-09"
    page = tmp_path / "page.html"
    run_of("report", "B26-02", "--into", str(page))
    text = page.read_text(encoding="utf-8")
    assert "GREYFORD: promised 2026-04-08, likely by 2026-04-27, needed 2026-04-08" in text


def test_a_job_that_is_back_is_not_sent_again(shop):
    """The gearbox's shaft stands on the bench."""
    assert json.loads(check(shop, "B26-01", "--json").output)["outwork"] == []


def test_a_size_that_is_measured_too_late(shop):
    """Said with what to hold beforehand, what that costs, and how sure it is then."""
    document = json.loads(check(shop, "B26-01", "--json").output)
    (size,) = document["measured"]
    assert (size["joint"], size["measures"], size["days_late"]) == (
        "intermediate shaft",
        "strip",
        7,
    )
    bought = {s["part"]: s["buy"] for s in document["sizes"] if s["buy"] != "0"}
    assert bought == {"PL-2031-22": "1"}
    text = check(shop, "B26-01").output
    assert "7 days LATE: hold the sizes on the shelf" in text
    assert max(map(len, text.splitlines())) <= 80


def test_what_is_owed_at_the_hand_over(shop):
    """Caps that come off aboard; pins that come out at the bench are none of it."""
    owed = json.loads(check(shop, "B26-02", "--json").output)["hand_over"]
    assert [(t["part"], t["stage"]) for t in owed["comes_off"]] == [("CAP-SET", "aboard")]
    assert [s["stage"] for s in owed["stages"]] == ["aboard", "service1"]
    assert all(p["stage"] in {"aboard", "service1"} for p in owed["owed"])


def test_a_shop_without_such_sheets_does_not_pay_for_them(tmp_path):
    """The check loads nothing of it, and the JSON has the same keys."""
    sheets = tmp_path / "sheets"
    shutil.copytree(shipped("demo") / "sheets", sheets, ignore=shutil.ignore_patterns(*EXTRA))
    settings = (sheets / "shop.csv").read_text(encoding="utf-8").splitlines(keepends=True)
    kept = [line for line in settings if not line.startswith("benches")]
    (sheets / "shop.csv").write_text("".join(kept), encoding="utf-8")
    parts = (sheets / "parts.csv").read_text(encoding="utf-8")
    (sheets / "parts.csv").write_text(parts.replace(",outwork,", ",,"), encoding="utf-8")
    place = str(tmp_path / "shop.db")
    assert run(["read", str(sheets), "--shop", place, *AS_OF]) == 0
    program = (
        "import sys; from kitting.commands import run; "
        f"run(['check', 'B26-01', '--json', '--shop', {place!r}, '--on', '2026-03-09']); "
        "print('\\n' + ' '.join(m for m in sys.modules if m.startswith('kitting')))"
    )
    done = subprocess.run(
        [sys.executable, "-c", program], capture_output=True, text=True, check=True
    )
    printed, _, modules = done.stdout.rstrip().rpartition("\n")
    loaded = set(modules.split())
    assert "kitting.timing" in loaded
    assert not loaded & {
        "kitting.timing.beyond",
        "kitting.timing.outwork",
        "kitting.outputs.beyond",
    }
    document = json.loads(printed)
    assert (document["outwork"], document["measured"], document["sizes"]) == ([], [], [])
    assert (document["hand_over"], document["clashes"]) == (None, [])


def test_benches_that_two_builds_want(shop):
    """Bay 1 holds one: the ketch and the barge want it from the same Monday."""
    clashes = json.loads(check(shop, "B26-02", "--json").output)["clashes"]
    assert {"place": "bay 1", "holds": 1, "first": "2026-03-16", "last": "2026-03-18",
            "builds": ["B26-02", "B26-03"]} in clashes  # fmt: skip
    text = check(shop, "B26-02").output
    assert "bay 1: B26-03 too, Mon 16 Mar to Wed 18 Mar" in text

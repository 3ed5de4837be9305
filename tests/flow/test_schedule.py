"""``kitting schedule`` by the command line: a proposal that changes nothing."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner

from kitting.commands import group, run

AS_OF = ["--on", "2026-03-09"]
BENCHES = ["--benches", "bay 1; bench 2; bench 3; run stand", "--people", "2", "--plans", "200"]


@pytest.fixture(scope="module")
def shop(tmp_path_factory):
    """Return a shop that holds the demo's sheets."""
    from kitting.shipped import shipped

    place = str(tmp_path_factory.mktemp("schedule") / "shop.db")
    assert run(["read", str(shipped("demo") / "sheets"), "--shop", place, *AS_OF]) == 0
    return place


def call(shop, *args):
    args = ["schedule", "--shop", shop, *AS_OF, *args]
    return CliRunner().invoke(group, args, standalone_mode=False)


def test_no_bench_holds_two_builds_and_no_sheet_is_changed(shop):
    """Bay 1 has one build at a time, two people do two things at once, and the file is the same."""
    before = Path(shop).read_bytes()
    found = call(shop, "--json", *BENCHES)
    assert Path(shop).read_bytes() == before
    document = json.loads(found.output)
    assert found.return_value == 0
    assert {b["build"] for b in document["builds"]} == {"B26-01", "B26-02", "B26-03"}
    stages = [s for s in document["stages"] if s["place"] == "bay 1"]
    assert len(stages) > 20
    for one in stages:
        for other in stages:
            apart = one["finish"] <= other["start"] or other["finish"] <= one["start"]
            assert apart or one["build"] == other["build"]


def test_the_text_is_bench_by_bench_and_fits(shop):
    """80 columns; each bench has its heading; a build that waits says so."""
    lines = call(shop, *BENCHES).output.splitlines()
    assert max(map(len, lines)) <= 80
    assert {"bench 3", "bay 1", "bench 2", "run stand", "Builds on the bench"} <= set(lines)
    assert "days later than alone" in " ".join(" ".join(lines).split())


def test_no_day_before_today_is_proposed(shop):
    """Builds that have begun, and one for which parts have no source, start today at the earliest.

    Each is told: from when it is placed and why, and what is taken for granted.
    """
    args = ["schedule", "--shop", shop, "--on", "2026-04-03", "--json", *BENCHES]
    found = json.loads(CliRunner().invoke(group, args, standalone_mode=False).output)
    days = [s[c] for s in found["stages"] for c in ("start", "finish")]
    assert min(days) == "2026-04-07"  # the shop is closed on Good Friday and Easter Monday
    assert min(b["start"] for b in found["builds"]) == "2026-04-07"
    told = [f["message"] for f in found["findings"]]
    assert any(t.startswith("build B26-01 started 2026-03-11; no sheet says") for t in told)
    (bare,) = [t for t in told if "nobody is known to bring" in t]
    assert bare.startswith("build B26-03: nobody is known to bring ")
    assert "it is scheduled as if all were there in time: find a source" in bare
    early = json.loads(call(shop, "--json", *BENCHES).output)["findings"]
    assert not any("no sheet says" in f["message"] for f in early)


def test_benches_that_cannot_be_read_are_told(shop, capsys):
    """What was seen and what to write; nothing is planned."""
    assert run(["schedule", "--shop", shop, *AS_OF, "--benches", "bay 1 = none"]) == 2
    assert 'benches is "bay 1 = none"' in capsys.readouterr().err

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


def test_benches_that_cannot_be_read_are_told(shop, capsys):
    """What was seen and what to write; nothing is planned."""
    assert run(["schedule", "--shop", shop, *AS_OF, "--benches", "bay 1 = none"]) == 2
    assert 'benches is "bay 1 = none"' in capsys.readouterr().err

"""``kitting board`` by the command line."""

from __future__ import annotations

import json

from click.testing import CliRunner

from kitting.commands import group, run
from kitting.shipped import shipped

AS_OF = ["--on", "2026-03-16"]


def test_the_page_is_written_and_the_json_is_not(tmp_path):
    """A line for each bench; with --json a document and no file."""
    place = str(tmp_path / "shop.db")
    assert run(["read", str(shipped("demo") / "sheets"), "--shop", place, *AS_OF]) == 0
    into = tmp_path / "pages" / "board.html"
    args = ["board", "--shop", place, "--into", str(into), *AS_OF]
    found = CliRunner().invoke(group, [*args, "--json"], standalone_mode=False)
    assert not into.exists()
    benches = json.loads(found.output)["benches"]
    text = CliRunner().invoke(group, args, standalone_mode=False).output
    assert into.read_text(encoding="utf-8").startswith("<!doctype html>")
    for bench in benches:
        assert any(line.startswith(f"{bench['place']}: ") for line in text.splitlines())
    assert max(map(len, text.splitlines()[:-1])) <= 80

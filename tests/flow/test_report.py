"""``kitting report`` by the command line: one file, whole, in place of the one before."""

from __future__ import annotations

import pytest
from click.testing import CliRunner

from kitting.commands import group, run

AS_OF = ["--on", "2026-03-09"]


@pytest.fixture(scope="module")
def shop(tmp_path_factory):
    """Return a shop that holds the demo's sheets."""
    from kitting.shipped import shipped

    place = str(tmp_path_factory.mktemp("report") / "shop.db")
    assert run(["read", str(shipped("demo") / "sheets"), "--shop", place, *AS_OF]) == 0
    return place


def test_the_page_of_one_build_and_of_all(shop, tmp_path):
    """One build that is whole: 0; all open builds: 1, in place of the page before."""
    into = tmp_path / "pages" / "bench.html"
    args = ["report", "B26-01", "--shop", shop, "--into", str(into), *AS_OF]
    found = CliRunner().invoke(group, args, standalone_mode=False)
    assert found.return_value == 0
    first = into.read_text(encoding="utf-8")
    assert "crabber Anna Wren" in first
    assert "ketch Little Egret" not in first
    args.remove("B26-01")
    assert CliRunner().invoke(group, args, standalone_mode=False).return_value == 1
    assert "ketch Little Egret" in into.read_text(encoding="utf-8")
    assert [p.name for p in into.parent.iterdir()] == ["bench.html"]


def test_a_page_that_cannot_be_written_leaves_the_old_one(shop, tmp_path, capsys):
    """A folder in its place: said, with the reason, and nothing is left behind."""
    taken = tmp_path / "page" / "x.html"
    taken.mkdir(parents=True)
    assert run(["report", "B26-01", "--shop", shop, "--into", str(taken), *AS_OF]) == 2
    assert "x.html" in capsys.readouterr().err
    assert [p.name for p in taken.parent.iterdir()] == ["x.html"]

"""``kitting kit`` by the command line: files whole or not at all, exit codes, JSON."""

from __future__ import annotations

import json

import pytest
from click.testing import CliRunner

from kitting.commands import group, run

AS_OF = ["--on", "2026-03-09"]


@pytest.fixture(scope="module")
def shop(tmp_path_factory):
    """Return a shop that holds the demo's sheets."""
    from kitting.shipped import shipped

    place = str(tmp_path_factory.mktemp("kit") / "shop.db")
    assert run(["read", str(shipped("demo") / "sheets"), "--shop", place, *AS_OF]) == 0
    return place


def call(*args):
    return CliRunner().invoke(group, ["kit", *args, *AS_OF], standalone_mode=False)


def test_a_kit_is_written_whole_and_never_over_another(shop, tmp_path):
    """Three files and what is still on its way; a second call changes nothing and says so."""
    into = tmp_path / "kits"
    found = call("B26-01", "--shop", shop, "--into", str(into), "--json")
    document = json.loads(found.output)
    assert found.return_value == 1
    assert (document["short"], document["coming"]) == (0, 1)
    names = ["kit B26-01 later.xlsx", "kit B26-01.xlsx", "labels B26-01.html"]
    assert sorted(p.name for p in into.iterdir()) == names
    before = {p: p.read_bytes() for p in into.iterdir()}
    assert run(["kit", "B26-01", "--shop", shop, "--into", str(into), *AS_OF]) == 2
    assert {p: p.read_bytes() for p in into.iterdir()} == before


def test_no_labels_and_no_such_build(shop, tmp_path, capsys):
    """Labels are left out when they are not wanted; an unknown build is told with its nearest."""
    into = tmp_path / "kits"
    assert call("B26-01", "--shop", shop, "--into", str(into), "--labels", "none").return_value == 1
    assert len(list(into.iterdir())) == 2
    assert run(["kit", "B26-1", "--shop", shop, "--into", str(tmp_path / "x"), *AS_OF]) == 2
    assert "B26-01" in capsys.readouterr().err
    assert not (tmp_path / "x").exists()

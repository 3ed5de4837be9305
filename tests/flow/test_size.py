"""Standard designations from the command line."""

from __future__ import annotations

import json

from kitting.commands import run
from kitting.shipped import shipped


def test_a_screw_has_its_size_its_source_and_its_equals(tmp_path, capsys):
    """M8 coarse has a pitch of 1.25 mm (ISO 261); the shop holds the screw under its own number."""
    shop = ["--shop", str(tmp_path / "shop.db"), "--on", "2026-03-09"]
    assert run(["read", str(shipped("demo") / "sheets"), *shop]) == 0
    capsys.readouterr()
    assert run(["size", "ISO 4762 M8x25-8.8", "--json", *shop]) == 0
    told = json.loads(capsys.readouterr().out)
    assert (told["family"], told["dimensions"]["pitch_mm"]) == ("screw", 1.25)
    assert told["source"]
    assert list(told["equal"]) == ["SCS-M8X25"]


def test_a_ring_has_its_storage_life_without_any_shop(tmp_path, capsys):
    """AS568-210 is 18.64 x 3.53 mm; 15 years for NBR, as suppliers quote SAE ARP5316."""
    assert run(["size", "AS568-210 NBR 70", "--shop", str(tmp_path / "none.db")]) == 0
    told = capsys.readouterr().out
    assert "inside mm 18.64, section mm 3.53" in told
    assert "stored unopened: 15 years" in told


def test_what_is_no_designation_is_said(tmp_path, capsys):
    assert run(["size", "rubbish", "--shop", str(tmp_path / "none.db")]) == 1
    assert "no designation that is known" in capsys.readouterr().out

"""Settings that a command would refuse later are refused on reading, each with its row."""

from __future__ import annotations

import pytest

from kitting.commands import run


@pytest.mark.parametrize(
    ("setting", "value", "said"),
    [
        ("count_days", "-4", '"-4" is not a number of days'),
        ("count_days", "often", '"often" is not a number of days'),
        ("holding_rate", "-5", '"-5" is not a number of zero or more'),
        ("parcel_cost", "five", '"five" is not a number of zero or more'),
        ("hour_rate", "1/0", '"1/0" is not a number of zero or more'),
    ],
)
def test_what_no_command_could_use_is_not_read(tmp_path, capsys, setting, value, said):
    (tmp_path / "shop.csv").write_text(f"setting,value\nname,The Shop\n{setting},{value}\n")
    code = run(["read", str(tmp_path), "--shop", str(tmp_path / "shop.db")])
    told = " ".join("".join(capsys.readouterr()).split())
    assert code == 2
    assert said in told
    assert "3" in told


@pytest.mark.parametrize(("setting", "value"), [("count_days", "0"), ("holding_rate", "12.5")])
def test_what_can_be_used_is_read(tmp_path, setting, value):
    (tmp_path / "shop.csv").write_text(f"setting,value\n{setting},{value}\n")
    assert run(["read", str(tmp_path), "--shop", str(tmp_path / "shop.db")]) == 0

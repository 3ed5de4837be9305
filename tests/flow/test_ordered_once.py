"""What was ordered once is never ordered again: sets for their contents, and what comes late."""

from __future__ import annotations

import json

import pytest

from kitting.commands import run

AS_OF = ["--on", "2026-03-09"]
SHEETS = {
    "parts": "part,name\nPIPE,fuel pipe\nBOLT,banjo bolt\nKIT,fuel pipe kit\nSHIM,shim\n",
    "sets": "set,part,quantity\nKIT,PIPE,2\nKIT,BOLT,2\n",
    "stages": "assembly,stage\nENGINE,dress\n",
    "lines": "assembly,stage,part,quantity\nENGINE,dress,PIPE,2\nENGINE,dress,BOLT,1\n"
    "ENGINE,dress,SHIM,1\n",
    "suppliers": "supplier,name\nYARD,The Yard\n",
    "offers": "supplier,part,price,lead_days\nYARD,KIT,46.00,2\nYARD,SHIM,1.80,30\n",
    "builds": "build,assembly,start\nE-1,ENGINE,2026-03-20\n",
}


@pytest.fixture
def call(tmp_path, capsys):
    """Give a function that runs a command on a small shop and returns code and output."""
    for name, text in SHEETS.items():
        (tmp_path / f"{name}.csv").write_text(text, encoding="utf-8")

    def done(*args):
        day = [] if args == ("prove",) else AS_OF
        code = run([*args, "--shop", str(tmp_path / "shop.db"), *day])
        return code, capsys.readouterr().out

    assert done("read", str(tmp_path))[0] == 0
    assert done("order", "--into", str(tmp_path / "orders"))[0] == 1  # the shim comes late
    return done


def test_a_second_order_holds_nothing(call, tmp_path):
    """The kit brings pipes and bolts; the shim is late, and a second one would be later still."""
    code, out = call("order", "--into", str(tmp_path / "orders"), "--json")
    assert json.loads(out)["orders"] == []
    code, out = call("check", "E-1", "--json")
    (stage,) = json.loads(out)["stages"]
    parts = {p["part"]: p for p in stage["parts"]}
    assert [parts[p]["short"] for p in ("PIPE", "BOLT", "SHIM")] == [0, 0, 0]
    assert parts["PIPE"]["place"] == "order K0001, in set KIT"
    assert [parts[p]["late"] for p in ("PIPE", "BOLT", "SHIM")] == [False, False, True]
    assert (code, stage["state"]) == (1, "late")
    code, out = call("check", "E-1")
    first, then, *_ = out.splitlines()
    assert first == "E-1 is NOT WHOLE as of Mon 9 Mar 2026: 1 part late."
    assert then.startswith("Do first: chase order K0001: it brings shim (SHIM) to dress on")


def test_a_set_on_the_shelf_is_opened_when_a_content_is_picked(call):
    """Its contents lie in its bin then, and what was not picked stays there."""
    assert call("receive", "K0001", "KIT", "1", "--place", "bin 4")[0] == 0
    assert call("pick", "E-1", "dress", "--all", "--by", "JO")[0] == 0
    assert call("prove")[0] == 0
    _, out = call("check", "E-1", "--json")
    parts = {p["part"]: p for p in json.loads(out)["stages"][0]["parts"]}
    assert [parts[p]["have"] for p in ("PIPE", "BOLT", "SHIM")] == [2, 1, 0]
    assert call("pick", "E-1", "dress", "BOLT", "1", "--by", "JO")[0] == 0
    assert call("pick", "E-1", "dress", "BOLT", "1", "--by", "JO")[0] == 2


def test_what_is_late_is_bought_again_only_where_that_is_sooner(call, tmp_path):
    """A sooner offer at ten times the price is not worth a day: what is on the way is waited for.

    Whoever wants the sooner one asks for it, and gets it once.
    """
    sheets = {
        "offers": SHEETS["offers"] + "YARD,SHIM,900.00,29\n",
        "shop": "setting,value\nlate_cost_per_day,1.00\n",
    }
    for name, text in sheets.items():
        (tmp_path / f"{name}.csv").write_text(text, encoding="utf-8")
        assert call("read", str(tmp_path / f"{name}.csv"))[0] == 0
    for _ in range(3):
        found = json.loads(call("order", "--into", str(tmp_path / "orders"), "--json")[1])
        assert found["orders"] == []
        assert found["waits"] == [{"part": "SHIM", "build": "E-1", "stage": "dress"}]
    assert "On the way already, late" in call("order", "--into", str(tmp_path / "orders"))[1]
    earliest = ("order", "--into", str(tmp_path / "orders"), "--answer", "earliest", "--json")
    (order,) = json.loads(call(*earliest)[1])["orders"]
    assert [(line["part"], line["cost"]) for line in order["lines"]] == [("SHIM", 90000)]
    assert json.loads(call(*earliest)[1])["orders"] == []

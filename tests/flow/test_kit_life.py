"""A kit's life by the command line: listed, picked, complete, robbed, counted, closed."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from contextlib import suppress
from pathlib import Path

import pytest

from kitting import records
from kitting.commands import run

ROOT = Path(__file__).resolve().parents[2]

ON = ["--on", "2026-03-09"]
SHEETS = {
    "parts": """
part,name,unit,single_use,customer_supplied
SEAL,crank seal,piece,never,
CLIP,circlip,piece,never,
OIL,engine oil,l,,
SET,gasket set,piece,never,
GASKET,cover gasket,piece,never,
SPARE,gasket of another variant,piece,never,
WRENCH,torque wrench,piece,reuse,
CRANK,customer's crank,piece,reuse,yes
""",
    "sets": "set,part,quantity,fits\nSET,GASKET,1,\nSET,SPARE,2,left over\n",
    "stages": """
assembly,stage,name,after,work_days
E,bottom,bottom end,,1
E,top,top end,bottom,1
""",
    "lines": """
assembly,stage,role,part,quantity,unit
E,bottom,seal,SEAL,2,
E,bottom,tool,WRENCH,1,
E,bottom,,CRANK,1,
E,bottom,,OIL,0.5,l
E,top,clamp,CLIP,2,
E,top,seal,GASKET,1,
E,top,,SET,1,
""",
    "suppliers": "supplier,name,currency,calendar\ntown,Town,EUR,every weekday\n",
    "offers": "supplier,part,pack,price,lead_days\ntown,SEAL,1,4.00,2\ntown,CLIP,1,0.50,2\n",
    "stock": """
part,place,quantity,unit,owner
SEAL,shelf 10,3,,
SEAL,shelf 2,1,,
CLIP,drawer,5,,
OIL,shelf 9,4,l,
SET,shelf 1,2,,
WRENCH,board,1,,
CRANK,floor,1,,ann
""",
    "builds": "build,assembly,start,customer\nB1,E,2026-03-16,ann\nB2,E,2026-03-23,bob\n",
}


@pytest.fixture(scope="module")
def pattern(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a shop of two builds, read once."""
    folder = tmp_path_factory.mktemp("life")
    for name, text in SHEETS.items():
        (folder / f"{name}.csv").write_text(text.lstrip(), encoding="utf-8")
    shop = folder / "shop.db"
    assert run(["read", str(folder), "--shop", str(shop), *ON]) == 0
    return shop


@pytest.fixture
def call(pattern: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys):
    """Return a function that runs a command on a copy: exit code, output, errors."""
    (tmp_path / "shop.db").write_bytes(pattern.read_bytes())
    monkeypatch.setenv("KITTING_SHOP", str(tmp_path / "shop.db"))

    def make(*words: str) -> tuple[int, str, str]:
        capsys.readouterr()
        code = run([*words, *([] if words[0] in ("prove", "moves") else ON)])
        said = capsys.readouterr()
        return code, said.out, said.err

    yield make
    assert make("prove")[0] == 0


def parts(call, build: str) -> dict[str, tuple[float, float]]:
    """Return what a build has and lacks of each part, by the check."""
    document = json.loads(call("check", build, "--json")[1])
    return {p["part"]: (p["have"], p["short"]) for s in document["stages"] for p in s["parts"]}


def picked(call, build: str, *more: str) -> dict:
    """Return the pick list of a build."""
    return json.loads(call("pick", build, *more, "--json")[1])


def test_the_pick_list_walks_from_bin_to_bin(call) -> None:
    """Shelf 9 before shelf 10, tools apart, each line of 80 columns with a box."""
    _, text, _ = call("pick", "B1", "bottom")
    lines = text.splitlines()
    assert max(map(len, lines)) <= 80
    assert sum(line.startswith("  [ ] ") for line in lines) == 3
    (stage,) = picked(call, "B1", "bottom")["stages"]
    assert [(e["part"], e["place"]) for e in stage["lines"]] == [
        *(("CRANK", "floor"), ("OIL", "shelf 9"), ("SEAL", "shelf 10"))
    ]
    assert [(e["part"], e["quantity"]) for e in stage["lent"]] == [("WRENCH", 1)]


def test_what_is_picked_is_neither_lost_nor_counted_twice(call) -> None:
    """Both builds have and lack the same before and after, stage by stage."""
    before = parts(call, "B1"), parts(call, "B2")
    for words in (
        ("bottom", "SEAL", "1", "--by", "JO"), ("bottom", "--all"), ("top", "--all"),
    ):  # fmt: skip
        assert call("pick", "B1", *words)[0] == 0
        assert (parts(call, "B1"), parts(call, "B2")) == before
    assert all(s["lines"] == [] for s in picked(call, "B1")["stages"])
    there = {e["place"] for s in picked(call, "B1")["stages"] for e in s["picked"]}
    assert there == {"already in the kit"}
    assert "     3 lines already in the kit\n" in call("pick", "B1", "bottom")[1]
    stages = json.loads(call("check", "B1", "--json")[1])["stages"]
    assert {p["part"]: p["picked"] for s in stages for p in s["parts"]} == {
        **{"SEAL": 2, "CRANK": 1, "OIL": 0.5, "WRENCH": 0, "CLIP": 2, "SET": 1, "GASKET": 0}
    }
    assert call("return", "B1", "SPARE", "2", "--place", "shelf 9")[0] == 0
    assert call("return", "B1", "--done", "--by", "JO", "--checked", "MK")[0] == 0
    assert (parts(call, "B1"), parts(call, "B2")) == before


def test_a_part_that_lies_in_another_stages_kit_says_so(call) -> None:
    """What was put into the kit of one stage and serves another is not in that one's kit."""
    call("pick", "B1", "bottom", "CLIP", "2")
    (top,) = picked(call, "B1", "top")["stages"]
    where = {e["part"]: e["place"] for e in top["picked"]}
    assert where == {"CLIP": "in the kit of bottom"}
    assert "     1 line in the kit of bottom\n" in call("pick", "B1", "top")[1]


def test_a_complete_kit_and_what_it_lacked(call) -> None:
    """What was short stays a fact; what is asked for later is forgotten, with its cause."""
    call("pick", "B1", "bottom", "SEAL", "1")
    code, text, _ = call("pick", "B1", "bottom", "--complete", "--by", "JO", "--checked", "MK")
    assert code == 1
    assert "1 piece of SEAL: on the shelf" in text
    assert call("pick", "B1", "bottom", "SEAL", "1")[0] == 0
    code, _, said = call("pick", "B1", "bottom", "SEAL", "1")
    assert (code, "say --cause" in said) == (2, True)
    assert "noted as forgotten" in call("pick", "B1", "bottom", "SEAL", "1", "--cause", "5")[1]
    assert "complete Mon 9 Mar by JO, checked MK" in call("pick", "B1", "bottom")[1]
    assert "damaged on fitting" in call("moves", "SEAL")[1]
    code, text, _ = call("return", "B1")
    assert "SEAL" not in text


def test_what_was_damaged_is_thrown_away_once(call) -> None:
    """By hand before it is asked for anew, or by the cause; not by both."""
    call("pick", "B1", "bottom", "--all", "--complete", "--by", "JO", "--checked", "MK")
    again = ("pick", "B1", "bottom", "SEAL", "1", "--cause", "damaged")
    thrown = ("return", "B1", "SEAL", "1", "--scrap", "--reason", "dropped")
    for first in ((), thrown):
        if first:
            call(*first)
        assert call(*again)[0] == 0
        assert parts(call, "B1")["SEAL"] == (2, 0)
        moved = json.loads(call("moves", "SEAL", "--json")[1])
        scrapped = sum(m["quantity"] for m in moved if m["to_place"] == "outside: scrap")
        assert scrapped == 1 + bool(first)
    assert forgotten(call) == [1, 1]


def test_what_another_build_took_from_a_complete_kit_was_not_forgotten(call) -> None:
    """It is picked again without a cause; what is asked for beyond it is forgotten."""
    call("pick", "B1", "bottom", "--all", "--complete", "--by", "JO", "--checked", "MK")
    call("pick", "B2", "bottom", "SEAL", "1", "--from-kit", "B1", "--reason", "sails first")
    call("return", "B1", "CRANK", "1", "--place", "floor", "--reason", "to measure")
    again = ("pick", "B1", "bottom", "--json")
    assert json.loads(call(*again, "CRANK", "1")[1])["forgotten"] is None
    assert json.loads(call(*again, "SEAL", "1")[1])["forgotten"] is None
    assert json.loads(call(*again, "SEAL", "1", "--cause", "damaged")[1])["forgotten"] == 1
    call("pick", "B2", "bottom", "SEAL", "1", "--from-kit", "B1", "--reason", "sails first")
    call("count", "SEAL", "2", "--place", "shelf 2")
    assert json.loads(call(*again, "SEAL", "1")[1])["forgotten"] is None


def forgotten(call) -> list[int]:
    """Return how much of what is forgotten, and see that the audit counts as many entries."""
    with records.open_shop(os.environ["KITTING_SHOP"]) as held:
        found = records.snapshot(held)["forgotten"]["quantity"].tolist()
    told = json.loads(call("audit", "--json")[1])
    assert told["forgotten"] == len(found)
    assert not any("same event" in f["message"] for f in told["findings"])
    return found


def test_an_extra_pick_that_is_undone_was_not_forgotten(call) -> None:
    """Each late pick is an event; one that is undone goes, when all its moves are undone."""
    call("pick", "B1", "bottom", "SEAL", "2", "--from", "shelf 10")
    call("pick", "B1", "bottom", "--complete", "--by", "JO", "--checked", "MK")
    late = ("pick", "B1", "bottom", "SEAL", "--cause", "wrong c", "--json")
    first = json.loads(call(*late, "1", "--from", "shelf 2")[1])
    again = json.loads(call(*late, "1", "--from", "shelf 10")[1])
    assert (first["forgotten"], again["forgotten"], forgotten(call)) == (1, 2, [1, 1])
    undo = ("reverse", str(again["moves"][0]["move"]), "--reason", "wrong part")
    assert "entry 2 is withdrawn: SEAL no longer counts" in call(*undo)[1]
    assert forgotten(call) == [1]
    call("reverse", str(first["moves"][0]["move"]), "--reason", "wrong part")
    both = json.loads(call(*late, "2")[1])
    assert len(both["moves"]) == 2
    one, two = (str(m["move"]) for m in both["moves"])
    assert "withdrawn" not in call("reverse", one, "--reason", "wrong part")[1]
    assert forgotten(call) == [2]
    assert "entry 3 is withdrawn" in call("reverse", two, "--reason", "wrong part")[1]
    assert forgotten(call) == []


def test_an_entry_is_not_noted_twice_unless_it_happened_twice(call) -> None:
    """Said at once, not when the audit comes; what happened twice is counted twice."""
    words = ("forgot", "B1", "SEAL", "--cause", "late")
    assert call(*words)[0] == 0
    code, _, said = call(*words, "--note", "asked by MK")
    assert (code, "on B1 on 2026-03-09 already, entry 1; if" in said) == (2, True)
    assert "--again" in said
    assert call(*words, "--again", "--note", "asked by MK")[0] == 0
    assert call("forgot", "B2", "SEAL", "--cause", "late")[0] == 0
    assert call("forgot", "B1", "CLIP", "--cause", "late")[0] == 0
    assert forgotten(call) == [1, 1, 1, 1]


def test_the_cause_is_one_key(call) -> None:
    """On a terminal the cause of an extra need is chosen by one key, without enter."""
    pty = pytest.importorskip("pty", reason="no terminals here")
    call("pick", "B1", "bottom", "--all", "--complete", "--by", "JO", "--checked", "MK")
    ours, theirs = pty.openpty()
    words = [sys.executable, "-m", "kitting", "pick", "B1", "bottom", "SEAL", "1", *ON]
    with subprocess.Popen(
        words, stdin=theirs, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
    ) as asking:
        for _ in range(100):  # a key that comes before the question is thrown away
            os.write(ours, b"3")
            with suppress(subprocess.TimeoutExpired):
                said, asked = asking.communicate(timeout=0.2)
                break
        else:
            asking.kill()
    os.close(ours)
    os.close(theirs)
    assert (asking.returncode, "3 wrong count" in asked) == (0, True)
    assert "noted as forgotten" in said


def test_taking_from_another_kit_is_seen_by_both(call) -> None:
    """It needs a reason, both checks tell of it, and the giver's plan lacks the part."""
    call("pick", "B1", "bottom", "--all")
    call("count", "SEAL", "0", "--place", "shelf 2")
    call("count", "SEAL", "0", "--place", "shelf 10")
    assert parts(call, "B1")["SEAL"] == (2, 0)
    words = ("pick", "B2", "bottom", "SEAL", "2", "--from-kit", "B1")
    assert call(*words)[0] == 2
    assert call(*words, "--reason", "sails first", "--by", "JO")[0] == 0
    assert (parts(call, "B1")["SEAL"], parts(call, "B2")["SEAL"]) == ((0, 2), (2, 0))
    for build in ("B1", "B2"):
        said = json.loads(call("check", build, "--json")[1])["findings"]
        assert any("taken from the kit of B1 bottom for B2" in f["message"] for f in said)


def test_left_overs_must_come_out(call) -> None:
    """A clip too many stops the closing until it is found or explained; the set's spares too."""
    call("pick", "B1", "top", "--all")
    call("pick", "B1", "top", "CLIP", "1")
    code, text, _ = call("return", "B1")
    rows = {line.split()[1]: line.split()[-1] for line in text.splitlines() if " ! " in line[:3]}
    assert (code, rows) == (1, {"CLIP": "1", "SPARE": "2"})
    done = ("return", "B1", "--done", "--by", "JO", "--checked", "MK")
    code, _, said = call(*done)
    assert (code, "1 x CLIP issued beyond" in said) == (2, True)
    assert call("return", "B1", "CLIP", "1", "--place", "drawer")[0] == 0
    assert call("return", "B1", "SPARE", "2", "--scrap", "--reason", "other variant")[0] == 0
    assert call("return", "B1")[0] == 0
    assert call(*done)[0] == 0


def test_an_unexplained_difference_stays_a_finding(call) -> None:
    """Closed with a reason, it is named in the check until the build is finished."""
    call("pick", "B1", "top", "--all")
    call("pick", "B1", "top", "CLIP", "1")
    call("return", "B1", "SPARE", "2", "--place", "shelf 9")
    done = ("return", "B1", "--done", "--by", "JO", "--checked", "MK", "--reason", "one is lost")
    assert call(*done)[0] == 1
    said = json.loads(call("check", "B1", "--json")[1])["findings"]
    assert any("1 x CLIP issued beyond" in f["message"] for f in said)


def test_a_customers_part_is_for_its_owner(call) -> None:
    """The crank of ann's serves B1; for B2 it is asked of bob, and never bought."""
    assert parts(call, "B1")["CRANK"] == (1, 0)
    assert parts(call, "B2")["CRANK"] == (0, 1)
    code, _, said = call("pick", "B2", "bottom", "CRANK", "1")
    assert (code, "1 of ann's at floor" in said) == (2, True)
    assert (
        call("carry", "CRANK", "1", "--from-customer", "--to", "floor", "--held-for", "B2")[0] == 0
    )
    assert parts(call, "B2")["CRANK"] == (1, 0)


def test_what_is_away_is_listed_and_a_move_undone(call) -> None:
    """Outwork out and back; a slip is reversed with a reason."""
    call("carry", "SEAL", "1", "--from", "shelf 2", "--to-outwork", "grinder")
    assert "1 piece of SEAL at outwork grinder" in call("carry")[1]
    number = json.loads(call("moves", "SEAL", "--json")[1])[-1]["move"]
    assert call("reverse", str(number), "--reason", "wrong part")[0] == 0
    assert "nothing is away" in call("carry")[1]
    assert call("reverse", str(number), "--reason", "again")[0] == 2


def test_a_part_inside_a_set_says_which_set_to_open(call, tmp_path: Path) -> None:
    """When only a set holds what the bill asks for, the list says so, and picking opens it."""
    lines = tmp_path / "lines.csv"
    lines.write_text(SHEETS["lines"].lstrip().replace("E,top,,SET,1,\n", ""), encoding="utf-8")
    assert call("read", str(lines))[0] == 0
    assert "shelf 1, open set SET" in call("pick", "B1", "top")[1]
    assert call("pick", "B1", "top", "--all")[0] == 0
    moved = json.loads(call("moves", "SPARE", "--json")[1])
    assert [(m["quantity"], m["to_place"]) for m in moved] == [(2, "shelf 1")]
    assert parts(call, "B1")["GASKET"] == (1, 0)
    back = json.loads(call("moves", "GASKET", "--json")[1])[-1]["move"]
    assert call("reverse", str(moved[0]["move"]), "--reason", "slip")[0] == 2
    assert call("reverse", str(back), "--reason", "slip")[0] == 0
    code, told, _ = call("reverse", str(moved[0]["move"]), "--reason", "slip")
    assert (code, told.count("is one with it")) == (0, 2)
    assert "1 piece of SET back from outside: unpacked to shelf 1" in told


@pytest.mark.slow
def test_picking_all_of_the_demo_changes_no_shortage(tmp_path, monkeypatch, capsys) -> None:
    """More than five hundred lines of three builds: the same is short before and after."""
    monkeypatch.setenv("KITTING_SHOP", str(tmp_path / "shop.db"))
    assert run(["read", str(ROOT / "demo" / "sheets"), *ON]) == 0
    builds = ("B26-02", "B26-01", "B26-03")

    def short() -> list[list[dict]]:
        found = []
        for build in builds:
            capsys.readouterr()
            run(["check", build, "--json", *ON])
            rows = json.loads(capsys.readouterr().out)["shortages"]
            # Who else gets what is on the shelf: nothing is there any more once all is picked.
            found.append([{k: v for k, v in row.items() if k != "elsewhere"} for row in rows])
        return found

    before = short()
    for build in builds:
        assert run(["pick", build, "--all", "--by", "JO", *ON]) == 0
    assert short() == before
    assert run(["prove"]) == 0

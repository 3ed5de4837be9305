"""The whole job through the command line, on the demo's sheets."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest

from kitting.commands import run

ROOT = Path(__file__).resolve().parents[2]
SHEETS = ROOT / "demo" / "sheets"
ON = ["--on", "2026-03-09"]


@pytest.fixture(scope="module")
def read_once(tmp_path_factory: pytest.TempPathFactory) -> Path:
    shop = tmp_path_factory.mktemp("read") / "shop.db"
    assert run(["read", str(SHEETS), "--shop", str(shop), *ON]) == 0
    return shop


@pytest.fixture
def shop(read_once: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Return a copy of the shop as read, which the environment names."""
    copy = tmp_path / "shop.db"
    shutil.copy(read_once, copy)
    monkeypatch.setenv("KITTING_SHOP", str(copy))
    monkeypatch.chdir(tmp_path)
    return copy


@pytest.fixture
def call(shop: Path, capsys: pytest.CaptureFixture[str]):
    """Return a function that runs a command and gives exit code and what it printed."""

    def make(*words: str) -> tuple[int, str]:
        capsys.readouterr()
        code = run(list(words))
        return code, capsys.readouterr().out

    return make


def check(call, build: str) -> dict:
    code, out = call("check", build, "--json", *ON)
    document = json.loads(out)
    assert code == (0 if document["whole"] else 1)
    return document


def test_check_json_keeps_its_shape(call) -> None:
    """A script finds the agreed keys, with the agreed meaning."""
    document = check(call, "B26-02")
    assert {"build", "as_of", "whole", "stages", "shortages", "gaps", "cautions"} <= set(document)
    part = document["stages"][2]["parts"][0]
    assert {
        *("part", "name", "role", "joint", "need", "unit", "have", "coming", "short", "place"),
        "use_by",
    } <= set(part)
    assert {
        *("stage", "joint", "role", "part", "short", "unit", "order_by", "supplier", "arrives"),
        "chance_in_time",
    } <= set(document["shortages"][0])
    assert {"stage", "joint", "role", "message"} <= set(document["gaps"][0])
    assert {"subject", "message", "source"} <= set(document["cautions"][0])
    for stage in document["stages"]:
        for row in stage["parts"]:
            if not row["from_set"]:
                assert row["need"] == pytest.approx(row["have"] + row["coming"] + row["short"])


def test_the_three_builds_behave_as_the_demo_tells(call) -> None:
    """One is whole, one is short but can be ordered, one cannot start."""
    assert check(call, "B26-01")["whole"]
    short = check(call, "B26-02")
    assert not short["whole"]
    assert all(s["in_time"] for s in short["shortages"] if not s["deferred"])
    stuck = check(call, "B26-03")
    assert any(s["supplier"] is None for s in stuck["shortages"])
    assert any(s["state"] == "late" for s in stuck["stages"])


def test_what_is_ordered_counts_as_coming_and_then_as_had(call, tmp_path: Path) -> None:
    """Order, check, receive, check: the same pieces move from short to coming to have."""
    before = check(call, "B26-02")
    code, out = call("order", "B26-02", "--into", "orders", "--json", *ON)
    assert code == 0
    orders = json.loads(out)["orders"]
    after = check(call, "B26-02")
    assert not after["shortages"]
    assert len(before["shortages"]) > 20
    files = sorted(p.name for p in (tmp_path / "orders").iterdir())
    assert len(files) == len(orders) + 1
    call("receive", orders[0]["order"], "--place", "bench 1", *ON)
    received = check(call, "B26-02")
    part = orders[0]["lines"][0]["part"]
    rows = [r for s in received["stages"] for r in s["parts"] if r["part"] == part]
    assert rows
    assert all(r["coming"] == 0 and r["short"] == 0 for r in rows)
    # A second order finds nothing to do.
    code, out = call("order", "B26-02", "--into", "again", *ON)
    assert "nothing is short" in out
    assert not (tmp_path / "again").exists()


def test_trying_an_order_writes_nothing(call, tmp_path: Path, shop: Path) -> None:
    """``--try`` shows the orders and leaves shop and folder as they were."""
    before = shop.read_bytes()
    code, out = call("order", "--try", "--into", "orders", *ON)
    assert code == 1
    assert "would be written" in out
    assert not (tmp_path / "orders").exists()
    assert shop.read_bytes() == before


def test_a_count_changes_what_is_had(call) -> None:
    """Counting the tube that is short makes the stage's sealant whole."""
    call("count", "RTV-GREY", "300 ml", "--place", "S2 chemicals", "--lot", "new", *ON)
    rows = [r for s in check(call, "B26-02")["stages"] for r in s["parts"]]
    assert not [r for r in rows if r["part"] == "RTV-GREY" and r["short"]]


def test_a_forgotten_part_is_noted_and_audited(call) -> None:
    """``forgot`` finds the place in the bill; ``audit`` counts it."""
    _, out = call("audit", "--json", *ON)
    before = json.loads(out)["forgotten"]
    code, out = call("forgot", "B26-01", "PL-1011", "--cause", "wrong c", "--json", *ON)
    assert code == 0
    noted = json.loads(out)
    assert noted["cause"] == "wrong count"
    assert noted["stage"] == "clutches"
    code, out = call("audit", "--json", *ON)
    assert code == 1
    assert json.loads(out)["forgotten"] == before + 1


@pytest.mark.parametrize(
    "words",
    [
        ["check", "B26-0"],  # no such build
        ["check"],  # no build at all
        ["chek", "B26-01"],  # no such command
        ["order", "B99", "--into", "x"],
        ["receive", "NONE"],
        ["count", "NOTHING", "3", "--place", "A1"],
        ["count", "PL-1011", "a few", "--place", "A1"],
        ["count", "PL-1011", "1.5", "--place", "A1"],
        ["forgot", "B26-01", "PL-1011", "--cause", "gremlins"],
        ["forgot", "B26-01", "PL-1011"],  # no cause and no terminal to ask on
        ["check", "B26-01", "--on", "9/3/2026"],
        ["check", "B26-01", "--shop", "nowhere.db"],
        ["read", "nowhere.xlsx"],
    ],
    ids=lambda words: " ".join(words),
)
def test_wrong_use_says_what_to_do(call, words, capsys) -> None:
    """Wrong names, numbers and days end with 2, a line of advice and no traceback."""
    capsys.readouterr()
    assert run(words) == 2
    said = capsys.readouterr()
    assert said.err.strip()
    assert "Traceback" not in said.err
    assert said.out == ""


def test_reading_twice_changes_nothing(call) -> None:
    """The same sheets again, even after goods came: nothing changes."""
    call("receive", "SEW-26-008", "--place", "A1", *ON)
    code, out = call("read", str(SHEETS), *ON)
    assert code == 0
    assert "nothing changed" in out


def test_a_faulty_sheet_leaves_the_shop_as_it_was(call, shop: Path, tmp_path: Path) -> None:
    """Every fault of every sheet is told, and nothing is read."""
    folder = tmp_path / "sheets"
    shutil.copytree(SHEETS, folder)
    lines = (folder / "lines.csv").read_text(encoding="utf-8").splitlines()
    lines[3] = lines[3].replace(",", ",nonsense-", 1)
    (folder / "lines.csv").write_text("\n".join(lines), encoding="utf-8")
    with (folder / "stock.csv").open("a", encoding="utf-8") as file:
        file.write("PL-1011,,A1,-4,,,,\n")
    before = shop.read_bytes()
    code, out = call("read", str(folder), "--json", *ON)
    assert code == 2
    found = json.loads(out)["findings"]
    assert {"lines", "stock"} <= {f["sheet"] for f in found if f["level"] == "stop"}
    assert shop.read_bytes() == before


def test_why_gives_rule_and_source_of_a_gap_once(call) -> None:
    """The second gap of a rule names it and points above; no explanation stands there twice."""
    _, out = call("check", "B26-02", "--why", *ON)
    lines = [line.strip() for line in out.splitlines()]
    again = [line for line in lines if line.endswith(", as above")]
    assert len(again) > 1
    for line in again:
        assert lines.index(line.removesuffix(", as above")) < lines.index(line)
    assert sum(line.startswith("why: a part that no list names") for line in lines) == 1

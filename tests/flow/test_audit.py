"""From a forgotten part to a sharper check: propose, accept, check again."""

from __future__ import annotations

import json
import shutil
from datetime import date
from pathlib import Path

import pytest

from kitting import records
from kitting.commands import run

ROOT = Path(__file__).resolve().parents[2]
ON = ["--on", "2026-03-09"]
SIGNED = ["--by", "Ines Ferrow", "--reason", "twice in three turbo engines"]


@pytest.fixture(scope="module")
def read_once(tmp_path_factory: pytest.TempPathFactory) -> Path:
    shop = tmp_path_factory.mktemp("read") / "shop.db"
    assert run(["read", str(ROOT / "demo" / "sheets"), "--shop", str(shop), *ON]) == 0
    return shop


@pytest.fixture
def shop(read_once: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    copy = tmp_path / "shop.db"
    shutil.copy(read_once, copy)
    monkeypatch.setenv("KITTING_SHOP", str(copy))
    monkeypatch.chdir(tmp_path)
    return copy


@pytest.fixture
def call(shop: Path, capsys: pytest.CaptureFixture[str]):
    def make(*words: str) -> tuple[int, str, str]:
        capsys.readouterr()
        code = run([*words, *ON])
        out = capsys.readouterr()
        return code, out.out, out.err

    return make


def proposed(call, part: str) -> dict | None:
    """Return the proposal for a part."""
    _, out, _ = call("audit", "--json")
    rows = [r for r in json.loads(out)["changes"]["proposals"] if r["part"] == part]
    assert len(rows) <= 1
    return rows[0] if rows else None


def pump_flange(call) -> tuple[bool, list[dict]]:
    """Tell whether the ring's role is still a gap of the ketch's engine, and the ring's rows."""
    _, out, _ = call("check", "B26-02", "--json")
    document = json.loads(out)
    gap = any(
        (g["joint"], g["role"]) == ("sea-water pump flange", "seal") for g in document["gaps"]
    )
    rows = [p for s in document["stages"] for p in s["parts"] if p["part"] == "OR-236-V75"]
    return gap, rows


def test_an_accepted_line_makes_the_next_check_sharper(call, shop: Path) -> None:
    """The ring that was forgotten twice is asked for by name, and proposed no more."""
    gap, rows = pump_flange(call)
    assert gap
    assert not rows
    row = proposed(call, "OR-236-V75")
    assert row is not None
    assert (row["lesson"], row["builds"], row["entries"]) == ("add a line", 2, "4; 11")
    code, out, _ = call("audit", "--accept", str(row["proposal"]), *SIGNED)
    assert code == 0
    assert "OR-236-V75,1,piece" in out
    gap, rows = pump_flange(call)
    assert not gap
    assert [(r["joint"], r["role"], r["need"]) for r in rows] == [
        ("sea-water pump flange", "seal", 1)
    ]
    assert proposed(call, "OR-236-V75") is None
    with records.open_shop(shop) as held:
        (kept,) = records.decided(held).to_dict("records")
        line = records.snapshot(held)["lines"].iloc[-1]
    assert (kept["decision"], kept["by"], kept["proposal"]) == ("accepted", "Ines Ferrow", 1)
    assert kept["day"].date() == date(2026, 3, 9)
    assert kept["change"].startswith("lines added: CURLEW4, seawater, sea-water pump flange")
    assert line["source"] == "Ines Ferrow, 2026-03-09"


def test_forgotten_again_it_is_proposed_again(call) -> None:
    """A rejected proposal comes back only with a new event."""
    row = proposed(call, "OR-236-V75")
    assert row is not None
    assert call("audit", "--reject", str(row["proposal"]), *SIGNED)[0] == 0
    assert proposed(call, "OR-236-V75") is None
    assert pump_flange(call)[0]
    place = ["--stage", "seawater", "--joint", "sea-water pump flange", "--role", "seal"]
    call("forgot", "B25-04", "OR-236-V75", *place, "--cause", "not in the bill")
    again = proposed(call, "OR-236-V75")
    assert again is not None
    assert again["entries"] == "4; 11; 19"


def test_every_kind_of_proposal_can_be_accepted(call, shop: Path) -> None:
    """Lines and spares change the bill, sooner orders the lead time, the shelf is watched."""
    seen = set()
    for _ in range(20):
        _, out, _ = call("audit", "--json")
        rows = json.loads(out)["changes"]["proposals"]
        if not rows:
            break
        seen.add(rows[0]["lesson"])
        assert call("audit", "--accept", "1", *SIGNED)[0] == 0
    assert seen == {"add a line", "carry a spare", "keep on the shelf", "order sooner"}
    with records.open_shop(shop) as held:
        tables = records.snapshot(held)
        assert len(records.decided(held)) == 9
    offer = tables["offers"][tables["offers"]["part"] == "PL-6011"].iloc[0]
    assert offer["lead_days"] == 10
    assert tables["lines"]["note"].str.startswith("spare; ").sum() == 2
    _, out, _ = call("audit")
    assert "are to be kept there" in out


@pytest.mark.parametrize(
    ("words", "code", "told"),
    [
        (["--accept", "99", *SIGNED], 2, "there is no proposal 99"),
        (["--accept", "1"], 2, "say who decides and why"),
        (["--accept", "1", "--reject", "1", *SIGNED], 2, "not both"),
        (["--accept", "0", *SIGNED], 2, "0 is not in the range"),
    ],
)
def test_a_decision_that_cannot_be_made_changes_nothing(call, shop: Path, words, code, told):
    with records.open_shop(shop) as held:
        before = records.snapshot(held)["lines"]
    found, _, err = call("audit", *words)
    assert found == code
    assert told in err
    with records.open_shop(shop) as held:
        assert records.decided(held).empty
        assert records.snapshot(held)["lines"].equals(before)


def test_what_is_to_be_kept_is_told_and_ordered_once(call) -> None:
    """Accepted: the next check says what lacks, the next order buys it, the one after does not."""
    assert json.loads(call("check", "B26-01", "--json")[1])["kept"] == []
    number = proposed(call, "PL-2031-22")["proposal"]
    assert call("audit", "--accept", str(number), *SIGNED)[0] == 0
    kept = [{"part": "PL-2031-22", "name": "end-float ring 30 mm, 2.20 mm"}]
    for build in ("B26-01", "B26-02"):
        document = json.loads(call("check", build, "--json")[1])
        assert document["kept"] == [{**kept[0], "lacks": "1", "unit": "piece"}]
    assert "lacks 1" in call("check", "B26-01")[1]
    lines = [line for o in _orders(call) for line in o["lines"] if line["part"] == "PL-2031-22"]
    assert [line["quantity"] for line in lines] == [1]
    assert json.loads(call("check", "B26-01", "--json")[1])["kept"] == []
    assert not [line for o in _orders(call) for line in o["lines"] if line["part"] == "PL-2031-22"]


def _orders(call) -> list[dict]:
    return json.loads(call("order", "--json", "--into", "orders")[1])["orders"]


def test_a_bin_that_was_counted_wrong_is_counted_again(call) -> None:
    """The record said more than was there: the bin is named until a count agrees."""
    from kitting.commands import common

    plan = common.make_plan(common.load_shop("shop.db", date(2026, 3, 9)), date(2026, 3, 9), None)
    shelf = plan.supply[(plan.supply["order"] == "") & (plan.supply["quantity"] > 2)]
    bins = plan.picks.merge(shelf, on=["supply", "part"]).query("lot == '' and held_for == ''")
    part, place = bins.iloc[0][["part", "place"]]
    here = ["--place", place, "--by", "MO"]
    assert json.loads(call("count", "--due", "--json")[1]) == []
    assert call("count", part, "2", *here)[0] == 0
    (due,) = json.loads(call("count", "--due", "--json")[1])
    assert (due["part"], due["place"], due["record"]) == (part, place, "2")
    assert due["why"] == "the record was wrong on 2026-03-09"
    text = call("check", due["build"])[1]
    assert "Count first: kits rely on these bins" in text
    assert part in text.split("Count first")[1]
    assert call("count", part, "2", *here)[0] == 0
    assert json.loads(call("count", "--due", "--json")[1]) == []


@pytest.mark.parametrize("words", [["count", "--due", "X"], ["count", "X"], ["count", "X", "1"]])
def test_a_count_says_what_it_lacks(call, words) -> None:
    code, _, told = call(*words)
    assert code == 2
    assert "PART QUANTITY --place BIN" in told or "leave PART out" in told

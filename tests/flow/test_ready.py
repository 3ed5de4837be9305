"""``kitting ready``: what to keep for a promise, in a small shop by hand and on the demo."""

from __future__ import annotations

import json
from itertools import pairwise
from math import exp, factorial
from pathlib import Path

import pytest

from kitting.commands import run

SHEETS = Path(__file__).resolve().parents[2] / "demo" / "sheets"
ON = ["--on", "2026-03-09"]
# A press is stripped (2 days) and gets a pump at the end (1 day); a pump is 4 days of work.
PRESS = {
    "parts": """part,name,customer_supplied
CORE,the customer's press,yes
CASTING,pump casting,
SHAFT,pump shaft,
RING,pump ring,
SEAL,lid seal,
WRENCH,torque wrench,
CARD,card,
""",
    "stages": """assembly,stage,after,work_days,deferred
PRESS,strip,,2,
PRESS,fit,strip,1,
PRESS,paint,fit,9,yes
PUMP,build,,4,
LID,make,,30,
""",
    "lines": """assembly,stage,part,quantity,role
PRESS,strip,CORE,1,
PRESS,fit,PUMP,1,
PRESS,fit,WRENCH,1,tool
PRESS,paint,SEAL,3,
PRESS,paint,LID,1,
LID,make,SEAL,5,
PUMP,build,CASTING,1,
PUMP,build,SHAFT,1,
PUMP,build,RING,2,
""",
    "suppliers": "supplier,currency,calendar,freight\nMILL,EUR,every weekday,0\n",
    "offers": """supplier,part,pack,price,lead_days
MILL,CASTING,1,500.00,2
MILL,SHAFT,1,100.00,20
MILL,RING,1,8.00,20
MILL,SEAL,1,1.00,40
MILL,WRENCH,1,90.00,40
""",
    "stock": "part,place,quantity\nRING,shelf,1\n",
}
BUILDS = "build,assembly,start,finished\n" + "".join(
    f"B{n},PRESS,2025-{n:02},2025-{n:02}\n".replace(f"-{n:02}", f"-{n:02}-10") for n in range(1, 13)
)


def made(folder: Path, **more: str) -> str:
    sheets = folder / "sheets"
    sheets.mkdir(parents=True)
    for name, text in {**PRESS, **more}.items():
        (sheets / f"{name}.csv").write_text(text)
    shop = str(folder / "shop.db")
    assert run(["read", str(sheets), "--shop", shop, *ON]) == 0
    return shop


@pytest.fixture(scope="module")
def press(tmp_path_factory: pytest.TempPathFactory) -> str:
    return made(tmp_path_factory.mktemp("press"))


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> str:
    shop = str(tmp_path_factory.mktemp("ready") / "shop.db")
    assert run(["read", str(SHEETS), "--shop", shop, *ON]) == 0
    return shop


@pytest.fixture
def asked(capsys):
    """Return a function: assembly, days and more words to exit code and document."""

    def ask(shop: str, assembly: str, days: int, *words: str):
        capsys.readouterr()
        code = run(
            ["ready", assembly, "--within", str(days), "--shop", shop, *ON, "--json", *words]
        )
        return code, json.loads(capsys.readouterr().out)

    return ask


def kept(document) -> dict[str, tuple[int, int, int]]:
    """Return pieces, days and cents of what is to be kept."""
    return {r["item"]: (r["keep"], r["bridges"], r["cost"]) for r in document["keep"]}


def test_less_than_the_work_cannot_be_promised(asked, press) -> None:
    """Strip and fit take three days whatever lies on the shelf; nothing is said of what to keep."""
    code, document = asked(press, "PRESS", 2)
    assert code == 1
    assert not document["possible"]
    assert document["soonest"] == 3
    assert not document["keep"]


def test_a_pump_is_kept_where_its_work_does_not_fit_in(asked, press) -> None:
    """It is wanted two days after the word and takes four; its parts then need not be kept.

    25 % of 616.00 a year; neither what is deferred, nor the wrench, nor what the customer brings.
    """
    code, document = asked(press, "PRESS", 3)
    assert code == 1
    lead = {row["item"]: row["lead"] for row in document["not_kept"]}
    assert set(lead) == {"CASTING", "SHAFT", "RING"}
    assert kept(document) == {"PUMP": (1, lead["SHAFT"] + 4 - 2, 15400)}
    assert document["cost"] == 15400


def test_parts_are_kept_where_the_work_fits_in_and_they_do_not(asked, press) -> None:
    """With days for the casting to come, the pump is built to order from a shaft and two rings."""
    _, document = asked(press, "PRESS", 3)
    lead = {row["item"]: row["lead"] for row in document["not_kept"]}
    # Three days of work, the pump two days after the word: five, and the casting's days.
    code, document = asked(press, "PRESS", 5 + lead["CASTING"])
    assert code == 1
    bridges = lead["SHAFT"] - lead["CASTING"]
    assert kept(document) == {"SHAFT": (1, bridges, 2500), "RING": (2, bridges, 400)}
    assert {r["item"]: r["have"] for r in document["keep"]} == {"SHAFT": 0, "RING": 1}
    code, document = asked(press, "PRESS", 5 + lead["SHAFT"])
    assert (code, document["keep"], document["cost"]) == (0, [], 0)


def test_an_exchange_unit_is_there_at_once(asked, press) -> None:
    """With a unit of the shop's the press itself can be kept."""
    code, document = asked(press, "PRESS", 0, "--exchange")
    assert code == 1
    assert document["soonest"] == 0
    assert set(kept(document)) == {"PRESS"}
    assert any("CORE" in f["message"] for f in document["findings"])


def test_one_is_kept_for_who_asks_and_more_for_those_before(asked, tmp_path) -> None:
    """Twelve builds in a year: others ask meanwhile as often as a Poisson law has it, at 90 %."""
    shop = made(tmp_path, builds=BUILDS)
    _, document = asked(shop, "PRESS", 3)
    assert {row["item"] for row in document["keep"]} >= {"PUMP"}
    beyond = 0
    for row in document["keep"]:
        rate = document["builds_a_year"] / 260 * row["bridges"]
        chance = [exp(-rate) * rate**n / factorial(n) for n in range(30)]
        others = next(n for n in range(30) if sum(chance[: n + 1]) >= 0.9)
        assert row["keep"] == row["each"] * (1 + others)
        beyond += others
    assert beyond >= 1


def test_each_promise_costs_what_is_told_of_it(asked, demo) -> None:
    """A longer promise costs less, down to nothing; each cost is that of its rows."""
    before = Path(demo).read_bytes()
    _, document = asked(demo, "PLOVER", 0)
    choices = document["choices"]
    assert choices[0]["within"] == document["soonest"] > 7
    assert choices[-1]["cost"] == 0
    for one, other in pairwise(choices):
        assert one["cost"] > other["cost"]
        assert one["within"] < other["within"]
    for choice in choices:
        code, document = asked(demo, "PLOVER", choice["within"])
        assert document["possible"]
        assert document["cost"] == pytest.approx(choice["cost"], abs=len(document["keep"]))
        lacking = any(r["have"] < r["keep"] for r in document["keep"])
        assert code == (1 if lacking else 0)
        for row in document["keep"]:
            assert 0 < row["bridges"] <= row["lead"]
    assert Path(demo).read_bytes() == before


def test_the_text_fits(demo, capsys) -> None:
    """80 columns; what lacks has a star; it says that nothing is ordered."""
    words = ["--within", "10", "--exchange", "--shop", demo, *ON]
    capsys.readouterr()
    assert run(["ready", "CURLEW4-PLOVER", *words]) == 1
    lines = capsys.readouterr().out.splitlines()
    assert max(map(len, lines)) <= 80
    assert lines[0] == "To promise CURLEW4-PLOVER (exchange unit) within 10 working days"
    assert any(line.startswith("  * CURLEW4      built ahead") for line in lines)
    assert "  Proposed, not ordered." in lines


def test_what_cannot_be_read_is_told(demo, capsys) -> None:
    """An assembly that is not there and a choice that cannot be made."""
    capsys.readouterr()
    assert run(["ready", "PLOVR", "--within", "9", "--shop", demo, *ON]) == 2
    assert "nearest: PLOVER" in capsys.readouterr().err
    words = ["--options", "hand=prt", "--shop", demo, *ON]
    assert run(["ready", "PLOVER", "--within", "9", *words]) == 2
    assert 'option "hand" cannot be "prt"' in capsys.readouterr().err

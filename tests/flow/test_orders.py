"""Orders through the command line: workbooks, XML, questions, and what is not bought."""

from __future__ import annotations

import contextlib
import io
import json
import shutil
from pathlib import Path

import pytest
from lxml import etree

from kitting.commands import run
from kitting.outputs.order_sums import sum_faults
from kitting.outputs.order_text import order_text

ROOT = Path(__file__).resolve().parents[2]
ON = ["--on", "2026-03-09"]


@pytest.fixture(scope="module")
def orders(tmp_path_factory: pytest.TempPathFactory) -> tuple[dict, Path]:
    """Order for the demo with one quantity left to be computed, and one price and lead time blank.

    The computed quantity of sealant and a bolt that only the dealer sells are changed.
    """
    folder = tmp_path_factory.mktemp("orders")
    shutil.copytree(ROOT / "demo" / "sheets", folder / "sheets")
    for sheet, written, blank in (
        ("lines.csv", ",timing cover,seal,RTV-GREY,11,ml", ",timing cover,seal,RTV-GREY,,ml"),
        ("offers.csv", "H4.1018,1,piece,,,6.20,,8,", "H4.1018,1,piece,,,,,,"),
    ):
        path = folder / "sheets" / sheet
        text = path.read_text(encoding="utf-8")
        assert text.count(written) == 1
        path.write_text(text.replace(written, blank), encoding="utf-8")
    shop = ["--shop", str(folder / "shop.db"), *ON]
    assert run(["read", str(folder / "sheets"), *shop]) == 0
    with pytest.MonkeyPatch.context() as patch:
        patch.chdir(folder)

        out = io.StringIO()
        with contextlib.redirect_stdout(out):
            assert run(["order", *shop, "--ubl", "--json"]) == 1
    return json.loads(out.getvalue()), folder


def test_each_order_stands_there_twice_and_says_the_same(orders) -> None:
    """A workbook and an XML for each; goods in the XML are those that are told."""
    document, folder = orders
    names = {Path(name).name for name in document["files"]}
    assert {p.name for p in (folder / "orders").iterdir()} == names
    schema = etree.XMLSchema(
        etree.parse(ROOT / "tests/published/data/ubl/xsdrt/maindoc/UBL-Order-2.1.xsd")
    )
    assert len(document["orders"]) > 2
    for order in document["orders"]:
        name = f"{order['order']} {order['supplier']}"
        assert {f"{name}.xlsx", f"{name}.xml"} <= names
        data = (folder / "orders" / f"{name}.xml").read_bytes()
        root = etree.fromstring(data)
        assert schema.validate(root.getroottree()), schema.error_log
        assert sum_faults(data) == ()
        goods = root.findtext(".//{*}AnticipatedMonetaryTotal/{*}LineExtensionAmount")
        assert goods == f"{order['goods'] / 100:.2f}"


def test_deposits_are_told_with_the_day_of_the_old_parts(orders) -> None:
    """What is paid and expected back are terms of each answer; the day stands by the part."""
    document, _ = orders
    (line,) = (x for order in document["orders"] for x in order["lines"] if x["deposit"])
    text = order_text(document)
    assert line["part"] == "C4-1435"
    assert line["deposit"] == 3500 * line["packs"]
    paid = line["deposit"]
    assert f"{paid / 100:.2f} paid now, {paid * 0.9 / 100:.2f} expected back." in text
    assert (
        f"C4-1435: deposit of {paid / 100:.2f} GBP, paid back for old parts that are back" in text
    )
    terms = ("goods", "freight", "hazard", "filling", "deposits", "waiting", "handling")
    for row in document["answers"]:
        assert row["total"] == sum(row[term] for term in terms) - row["deposits_back"]


def test_a_reason_that_many_lines_share_is_told_once(orders) -> None:
    """Below each supplier a reason stands once, after all its parts."""
    document, _ = orders
    text = order_text({**document, "drops": []}, why=True)
    for order in document["orders"]:
        _, _, block = text.partition(f"{order['supplier']}, line by line")
        block = "".join(block.split("\n\n")[0].split())
        told: dict[str, list[str]] = {}
        for line in order["lines"]:
            told.setdefault(line["why"], []).append(line["part"])
        for why, parts in told.items():
            assert "".join(f"{', '.join(parts)}: {why}".split()) in block
        assert block.count("Nobodyelseoffersit.") <= 1


def test_an_offer_without_price_and_days_is_asked_for(orders) -> None:
    """It is not bought; its seller gets a sheet with the question, and the shortage is told."""
    document, folder = orders
    bought = {line["part"] for order in document["orders"] for line in order["lines"]}
    assert "C4-1018" not in bought
    (asked,) = (
        q for q in document["questions"] if (q["part"], q["supplier"]) == ("C4-1018", "HARROWMERE")
    )
    assert (asked["ask"], asked["supplier_part"]) == ("price and delivery days", "H4.1018")
    assert any("C4-1018" in text for text in document["no_offer"])
    assert (folder / "orders" / "questions 2026-03-09 HARROWMERE.xlsx").is_file()


def test_the_three_answers_trade_money_for_days(orders) -> None:
    """Each next one pays more and waits less, with freight to pay; by hand costs more."""
    document, _ = orders
    cheap, balanced, early = document["answers"]
    (hand,) = document["by_hand"]

    def paid(row):
        return row["goods"] + row["freight"] + row["hazard"] + row["filling"]

    assert paid(cheap) < paid(balanced) < paid(early)
    assert cheap["days_late"] > balanced["days_late"] > early["days_late"]
    assert all(row["freight"] > 0 for row in document["answers"])
    assert balanced["total"] < min(cheap["total"], early["total"], hand["total"])
    assert paid(cheap) < paid(hand)


@pytest.mark.parametrize("wanted", ["--only", "--prefer", "--keep"])
def test_a_supplier_is_not_wanted_and_unwanted_at_once(wanted, capsys):
    """Options that contradict each other are refused before anything is planned."""
    assert (
        run(["order", wanted, "QUAYSIDE", "--supplier-not", "QUAYSIDE", "--shop", "none.db"]) == 2
    )
    assert "QUAYSIDE: both wanted and not wanted" in capsys.readouterr().err

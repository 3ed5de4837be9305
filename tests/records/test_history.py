"""The ledger as a frame must hold every move as the ledger does, whatever its cells hold."""

from __future__ import annotations

import csv
import random
import shutil
from datetime import date, timedelta

import pandas as pd
import pytest

from kitting import records
from kitting.commands import run
from kitting.records import history
from kitting.records.ledger import Move, all_moves, post
from kitting.tables.moves import MOVES

DAY = date(2026, 3, 9)
_TEXTS = [
    "",
    "",
    "A 1",
    "größer, 油",
    "two\nlines",
    '"quoted"',
    "-1",
    "a\x1fb",
    "\x1f",
    "NULL",
    "NaT",
]


def some_moves(seed, texts):
    """Return moves of the widest values, each with and without what may be blank."""
    chance = random.Random(seed)
    days = [None, DAY, date(1, 1, 1), date(9999, 12, 31)]
    return [
        Move(
            "0012", chance.choice([1, 7, 10**15]), "outside: count", f"B{n % 3}",
            DAY + timedelta(n % 4), lot=chance.choice(texts), unit="piece",
            use_by=chance.choice(days), opened=chance.choice(days), reason=chance.choice(texts),
            order=chance.choice(texts), line=chance.choice([None, 0, -3, 12]),
            build=chance.choice(["", "E-1"]), by=chance.choice(texts), owner=chance.choice(texts),
        )
        for n in range(60)
    ]  # fmt: skip


@pytest.mark.parametrize("at_once", [1, 7, 10_000])
@pytest.mark.parametrize("texts", [[""], ["", "A"], _TEXTS], ids=["blank", "plain", "odd"])
def test_a_frame_holds_each_move_as_the_ledger_does(shop, monkeypatch, at_once, texts):
    """Cell for cell, whether columns were read as one text or not."""
    monkeypatch.setattr(history, "_AT_ONCE", at_once)
    with shop.writing() as hand:
        first, *_ = post(hand, some_moves(at_once, texts))
        records.reverse(shop, first.move, "an error", day=DAY)
        kept = list(all_moves(hand))
    found = records.moves(shop)
    MOVES.check(found)
    for column in MOVES.columns:
        cells = found[column.name]
        if column.kind == "day":
            told = [None if pd.isna(d) else d.date() for d in cells]
        else:
            told = [None if pd.isna(v) else v for v in cells.tolist()]
        assert told == [getattr(m, column.name) for m in kept], column.name


def test_only_those_that_were_asked_for(shop):
    """By part and by build; and a shop without moves gives an empty frame."""
    with shop.writing() as hand:
        post(hand, some_moves(1, ["", "A"]))
        kept = list(all_moves(hand))
    for part, build in (("0012", ""), (None, "E-1"), ("0012", "E-1"), ("none", "")):
        wanted = [m.move for m in kept if part in (None, m.part) and build in ("", m.build)]
        assert records.moves(shop, part, build)["move"].tolist() == wanted
    with records.open_shop(":memory:", create=True) as bare:
        assert MOVES.check(records.moves(bare)).empty


def test_moves_are_written_for_a_spreadsheet(pattern, tmp_path, capsys):
    """Every move, its quantity in its unit; a file that is there is left alone."""
    file, into = shutil.copy(pattern, tmp_path / "shop.db"), tmp_path / "moves.csv"
    assert run(["moves", "--csv", str(into), "--shop", str(file)]) == 0
    assert "2 moves written" in capsys.readouterr().out
    with into.open(encoding="utf-8-sig", newline="") as text:
        seal, oil = csv.DictReader(text)
    assert (seal["part"], seal["quantity"], seal["unit"], seal["line"]) == (
        "0012",
        "3",
        "piece",
        "",
    )
    assert (oil["quantity"], oil["use_by"], oil["lot"]) == ("5", "2027-01-01", "L7")
    assert run(["moves", "--csv", str(into), "--shop", str(file)]) == 2
    assert "is there already" in capsys.readouterr().err

"""Prove finds what is wrong, whoever did it."""

from __future__ import annotations

import json
import shutil
import sqlite3
from contextlib import closing
from datetime import date

import pytest

from kitting import records
from kitting.commands import run

DAY = date(2026, 3, 9)

_MOVE = (
    "INSERT INTO moves (day, made_at, part, lot, from_place, to_place, quantity, unit, held_for, "
    "reason, \"order\", build, \"by\", reverses) VALUES ('2026-03-09', '', '0012', '', {}, "
    "'piece', '', '', '', '', '', {})"
)


@pytest.mark.parametrize(
    ("tampering", "said"),
    [
        (_MOVE.format("'A1', 'outside: scrap', 4", "NULL"), "takes Lot"),
        (_MOVE.format("'A1', 'outside: count', 2", "1"), "not the opposite of move 1"),
        (_MOVE.format("'outside: supplier', 'A1', 2", "NULL"), "came from a supplier but has no"),
        ("UPDATE receipts SET quantity = 9", "receipt R0001 does not agree with move 4"),
        ("UPDATE receipts SET part = '1E5'", "receipt R0001 does not agree with move 4"),
        ("UPDATE receipts SET move = 77", "refers to a row of moves that is not there"),
        ("DROP TRIGGER moves_no_delete; DELETE FROM moves WHERE move = 3", "takes Lot"),
        ("UPDATE on_hand SET quantity = quantity + 1 WHERE part = '0012'", "the sums show"),
        ("UPDATE on_hand SET use_by = '2030-01-01' WHERE part = '0012'", "the sums show"),
        ("UPDATE on_hand SET build = 'E-1' WHERE part = '0012'", "are kept for E-1"),
        ("DELETE FROM on_hand WHERE part = 'OIL'", "the sums show None"),
    ],
)
def test_tampering_is_found(pattern, tmp_path, tampering, said):
    """Rows written past the program are told by prove."""
    file = shutil.copy(pattern, tmp_path / "shop.db")
    with records.open_shop(file) as opened:
        records.count(opened, records.Count("0012", "A1", 9, DAY))
        records.receive(opened, records.Arrival("K0001", 1, "A1", DAY, line=1))
        records.count(opened, records.Count("0012", "A1", 3, DAY))
        assert records.prove(opened).holds
    with closing(sqlite3.connect(file)) as past:
        past.executescript(tampering)
        past.commit()
    with records.open_shop(file) as opened:
        proof = records.prove(opened)
    assert not proof.holds
    assert any(said in fault for fault in proof.faults), proof.faults


def test_prove_tells_by_its_exit_code(pattern, tmp_path, capsys):
    """0 and what was proved; 1 and what is wrong, also as JSON."""
    file = shutil.copy(pattern, tmp_path / "shop.db")
    assert run(["prove", "--shop", str(file)]) == 0
    assert "all holds: 2 moves, 2 lots" in capsys.readouterr().out
    with closing(sqlite3.connect(file)) as past, past:
        past.execute("UPDATE on_hand SET quantity = 7 WHERE part = '0012'")
    assert run(["prove", "--shop", str(file), "--json"]) == 1
    told = json.loads(capsys.readouterr().out)
    assert (told["holds"], told["moves"], len(told["faults"])) == (False, 2, 1)

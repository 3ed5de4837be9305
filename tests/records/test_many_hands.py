"""Several processes at once: nothing given twice, nothing lost."""

from __future__ import annotations

import os
import shutil
from datetime import date

import pytest
from records.crowd import crowd

from kitting import records
from kitting.errors import InputError
from kitting.records import Arrival, Move, ledger

DAY = date(2026, 3, 9)
HANDS = 4


def together(work):
    """Run work in several processes at once and return the words that each wrote."""
    pipes, children = [], []
    for number in range(HANDS):
        ours, theirs = os.pipe()
        child = os.fork()
        if not child:
            code = 1
            try:
                os.close(ours)
                os.write(theirs, " ".join(work(number)).encode())
                code = 0
            finally:
                os._exit(code)
        os.close(theirs)
        pipes.append(ours)
        children.append(child)
    said = []
    for pipe in pipes:
        with os.fdopen(pipe, encoding="utf-8") as lines:
            said.append(lines.read().split())
    assert [os.waitpid(child, 0)[1] for child in children] == [0] * HANDS
    return said


@pytest.fixture
def file(pattern, tmp_path):
    """Return a file that holds the small shop."""
    return shutil.copy(pattern, tmp_path / "shop.db")


def test_order_numbers_are_given_once(file):
    """No two processes get the same number."""

    def take(_number):
        with records.open_shop(file) as opened:
            return [records.next_order_number(opened) for _ in range(25)]

    given = [n for numbers in together(take) for n in numbers]
    assert len(set(given)) == HANDS * 25
    assert "K0001" not in given


def test_receipts_of_many_hands_all_count(file, shelf):
    """Every receipt of every process is on the shelf."""

    def receive(number):
        with records.open_shop(file) as opened:
            return [
                records.receive(
                    opened, Arrival("K0001", 1, "A1", DAY, line=1, by=str(number))
                ).receipt
                for _ in range(20)
            ]

    given = [n for numbers in together(receive) for n in numbers]
    assert len(set(given)) == HANDS * 20
    with records.open_shop(file) as opened:
        assert records.prove(opened).faults == ()
        assert shelf(opened)[("0012", "", "A1", "")] == 3 + HANDS * 20


def test_the_last_piece_goes_to_one(file, shelf):
    """Three seals on the shelf and four people who each want two: one gets them."""

    def take(number):
        with records.open_shop(file) as opened:
            move = Move("0012", 2, "A1", f"kit: E-{number}/bottom", DAY, unit="piece")
            try:
                with opened.writing() as hand:
                    ledger.post(hand, [move])
            except InputError:
                return ["refused"]
            return ["taken"]

    assert sorted(word for words in together(take) for word in words) == [
        *(["refused"] * 3),
        "taken",
    ]
    with records.open_shop(file) as opened:
        assert records.prove(opened).faults == ()
        assert shelf(opened)[("0012", "", "A1", "")] == 1


def test_a_shop_made_by_all_at_once(tmp_path):
    """Several processes that make the same shop make one."""
    file = tmp_path / "shop.db"

    def make(_number):
        with records.open_shop(file, create=True) as opened:
            return [records.next_order_number(opened)]

    assert sorted(n for numbers in together(make) for n in numbers) == [
        f"K000{n + 1}" for n in range(HANDS)
    ]


@pytest.mark.parametrize("seconds", [1, pytest.param(60, marks=pytest.mark.slow)])
def test_a_crowd_at_a_file(tmp_path, seconds):
    """Eight processes pick and receive the same 200 parts: all that they report is there, once."""
    told = crowd(str(tmp_path / "shop.db"), seconds)
    assert told["picked"] > 0 < told["received"]


@pytest.mark.parametrize("seconds", [1, pytest.param(60, marks=pytest.mark.slow)])
def test_a_crowd_at_a_server(server, seconds):
    """The same on a database server."""
    told = crowd(server()[1], seconds)
    assert told["picked"] > 0 < told["received"]

"""SIGKILL at random moments of every kind of work; many of them with ``-m slow``."""

from __future__ import annotations

import pytest
from records.killed import FILES, SERVER, Order, kill_many


def test_a_few_kills():
    """Each kind of work, killed a few times: nothing is lost, nothing half done."""
    told = kill_many([kind for kind in FILES if kind is not Order], 12)
    assert sum(c.total() for c in told.values()) >= 12


def test_a_few_kills_on_a_server(server):
    """The same on a database server."""
    assert sum(c.total() for c in kill_many(SERVER, 4).values()) >= 4


@pytest.mark.slow
def test_five_hundred_kills():
    """Five hundred processes killed at random moments; no piece of work is half done."""
    told = kill_many(FILES, 500)
    assert sum(c.total() for c in told.values()) >= 500
    assert all(c[True] for c in told.values()), "every process was killed between two pieces"

"""A command that a person stops: exit code 2, a plain word, and everything or nothing done."""

from __future__ import annotations

import subprocess
import sys

import pytest

from kitting.commands import run

SHEETS = {
    "parts": "part\nPIPE\n",
    "stages": "assembly,stage\nENGINE,dress\n",
    "lines": "assembly,stage,part,quantity\nENGINE,dress,PIPE,2\n",
    "suppliers": "supplier\nYARD\n",
    "offers": "supplier,part,price,lead_days\nYARD,PIPE,4.00,2\n",
    "builds": "build,assembly,start\nE-1,ENGINE,2026-03-20\n",
}
# Stops the main thread once kitting's own code runs, however slow the machine is.
STOPPED = """
import signal, sys, threading
from kitting.commands import main
timer = threading.Timer({after}, signal.raise_signal, [signal.SIGINT])
timer.daemon = True
timer.start()
sys.argv[:] = ["kitting", *{args!r}]
main()
"""


@pytest.mark.parametrize("after", [0.3, 0.6])
def test_orders_are_written_whole_or_not_at_all(tmp_path, capsys, after):
    """Files and records agree wherever an order is stopped; no lines of our code are shown."""
    for name, text in SHEETS.items():
        (tmp_path / f"{name}.csv").write_text(text, encoding="utf-8")
    shop, into = str(tmp_path / "shop.db"), tmp_path / "orders"
    assert run(["read", str(tmp_path), "--shop", shop]) == 0
    capsys.readouterr()
    args = ["order", "--into", str(into), "--shop", shop, "--on", "2026-03-09"]
    done = subprocess.run(
        [sys.executable, "-c", STOPPED.format(after=after, args=args)],
        capture_output=True, text=True, timeout=60, check=False,
    )  # fmt: skip
    assert "Traceback" not in done.stderr
    assert done.returncode in (0, 2)
    assert ("look before you repeat it" in done.stderr) is (done.returncode == 2)
    run(["check", "E-1", "--shop", shop, "--on", "2026-03-09"])
    ordered = "due" in capsys.readouterr().out
    assert ordered is into.exists()


# Ends the process as a kill does, when the sheets are placed and the order is not yet recorded.
KILLED = """
import os, signal
from kitting.commands import run
from kitting.outputs.folder import Staging
place = Staging.place
Staging.place = lambda self: (place(self), os.kill(os.getpid(), signal.SIGKILL))
run({args!r})
"""


@pytest.fixture
def killed(tmp_path):
    """Return the words of an order, and what is in its folder after such an order was killed."""
    for name, text in SHEETS.items():
        (tmp_path / f"{name}.csv").write_text(text, encoding="utf-8")
    shop, into = str(tmp_path / "shop.db"), tmp_path / "orders"
    assert run(["read", str(tmp_path), "--shop", shop]) == 0
    args = ["order", "--into", str(into), "--shop", shop, "--on", "2026-03-09"]
    code = KILLED.format(args=args)
    assert subprocess.run([sys.executable, "-c", code], timeout=120).returncode < 0
    return args, into


def names(into):
    """Return the files of a folder, the note of what is being placed by its first word."""
    found = (path.name for path in into.iterdir() if not path.name.startswith(".orders-"))
    return sorted(name.split()[0] if name.startswith(".") else name for name in found)


LEFT = ["K0001 YARD.xlsx", "summary K0001.xlsx"]
NEW = ["K0002 YARD.xlsx", "summary K0002.xlsx"]


def test_sheets_of_an_order_that_was_cut_off_are_removed(killed, capsys):
    """Told when tried, removed by the next order; what is recorded is never removed."""
    args, into = killed
    assert names(into) == [".unfinished", *LEFT]
    assert run([*args, "--try"]) == 0
    assert "K0001 YARD.xlsx is of no order in this shop" in capsys.readouterr().err
    assert names(into) == [".unfinished", *LEFT]
    assert run(args) == 0
    assert "K0001 YARD.xlsx is removed: its order was cut off" in capsys.readouterr().err
    assert names(into) == NEW
    assert run(args) == 0  # it is on its way: nothing is removed, nothing is ordered
    assert "note" not in capsys.readouterr().err
    assert names(into) == NEW


def test_a_sheet_that_a_person_changed_is_never_removed(killed, capsys):
    """It is told, each time until somebody takes it away, and so is nothing else there."""
    args, into = killed
    (into / LEFT[0]).write_bytes(b"changed")
    (into / "notes.txt").write_text("ours", encoding="utf-8")
    assert run(args) == 0
    assert "is of an order that was cut off, and was changed since" in capsys.readouterr().err
    assert names(into) == sorted([LEFT[0], "notes.txt", *NEW])
    assert (into / LEFT[0]).read_bytes() == b"changed"
    assert run(args) == 0
    assert "K0001 YARD.xlsx is of no order in this shop" in capsys.readouterr().err


def test_sheets_of_another_shop_are_left_alone(killed, tmp_path, capsys):
    """Its notes are none of ours, and a recorded order's sheets stay whatever a note says."""
    args, into = killed
    other = tmp_path / "other.db"
    assert run(["read", str(tmp_path), "--shop", str(other)]) == 0
    changed = [str(other) if word.endswith("shop.db") else word for word in args]
    assert run(changed) == 2
    assert "is there already" in capsys.readouterr().err
    assert names(into) == [".unfinished", *LEFT]
    (note,) = into.glob(".unfinished*")
    told = note.read_text(encoding="utf-8")
    assert run(args) == 0
    assert names(into) == NEW
    note.write_text(told.replace("K0001", "K0002"), encoding="utf-8")
    assert run(args) == 0
    assert names(into) == NEW

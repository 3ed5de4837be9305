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

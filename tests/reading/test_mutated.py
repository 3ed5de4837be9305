"""Hostile files: never another error than ours, never too much time or memory, nothing in part."""

from __future__ import annotations

import io
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest
from reading.mutated import workbook

from kitting.commands import run
from kitting.reading import read_sheets

SCRIPT = Path(__file__).with_name("mutated.py")


@pytest.mark.parametrize("times", [120, pytest.param(20_000, marks=pytest.mark.slow)])
def test_mutated_files(times):
    """Findings or a refusal, whatever is in them; in a process of its own with a memory limit."""
    done = subprocess.run(
        [sys.executable, str(SCRIPT), str(times), "3"],
        capture_output=True,
        text=True,
        check=False,
        timeout=3600,
        env={"PYTHONPATH": ":".join(p for p in sys.path if p), "PATH": "/usr/bin:/bin"},
    )
    assert done.returncode == 0, done.stderr[-2000:]
    assert done.stdout.startswith(f"{times} files:")


def test_a_size_that_lies(tmp_path):
    """A member that unpacks to more than its header says is never unpacked in full."""
    out = io.BytesIO(workbook())
    with zipfile.ZipFile(out, "a", zipfile.ZIP_DEFLATED) as packed:
        packed.writestr("xl/sharedStrings.xml", b"<sst>" + b" " * 30_000_000 + b"</sst>")
    raw = bytearray(out.getvalue())
    at = raw.rfind(b"PK\x01\x02")
    raw[at + 24 : at + 28] = (1000).to_bytes(4, "little")
    (tmp_path / "book.xlsx").write_bytes(raw)
    (finding,) = read_sheets(tmp_path / "book.xlsx").findings
    assert "the file is damaged" in finding.message


def test_limits_are_options(tmp_path, capsys, monkeypatch):
    """A sheet or file beyond a limit is refused with the limit named; the usual ones let it in."""
    monkeypatch.chdir(tmp_path)
    Path("parts.csv").write_text("part\n" + "".join(f"P{n}\n" for n in range(50)))
    assert run(["read", "parts.csv", "--most-rows", "20"]) == 2
    assert "more than 20 rows; split it" in capsys.readouterr().err
    assert run(["read", "parts.csv"]) == 0
    Path("parts.csv").write_text("part,note\n" + f"P,{'x' * 5000}\n" * 400)
    assert run(["read", "parts.csv", "--most-mb", "1"]) == 2
    assert "at most 1 MB are read" in capsys.readouterr().err

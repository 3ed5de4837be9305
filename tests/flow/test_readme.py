"""What README shows is what the tool prints."""

from __future__ import annotations

import re
import shlex
import shutil
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from kitting.commands import run

if TYPE_CHECKING:
    from collections.abc import Iterator

ROOT = Path(__file__).resolve().parents[2]


def shown() -> Iterator[tuple[str, list[str]]]:
    """Yield each command line of README's examples and the lines printed below it."""
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    for block in re.findall(r"^```\n(\$ .*?)^```$", text, re.MULTILINE | re.DOTALL):
        for piece in re.split(r"^\$ ", block, flags=re.MULTILINE)[1:]:
            line, *printed = piece.rstrip("\n").split("\n")
            yield line, printed


def test_every_example_prints_what_the_readme_shows(tmp_path, monkeypatch, capsys):
    """Run in their order; a line of three dots stands for any lines, what is shown for itself."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv("KITTING_SHOP", raising=False)
    shutil.copytree(ROOT / "demo", tmp_path / "demo")
    examples = list(shown())
    assert len(examples) >= 8
    for line, printed in examples:
        program, *words = shlex.split(line)
        assert program == "kitting"
        capsys.readouterr()
        assert run(words) in (0, 1), line
        said = [row.rstrip() for row in capsys.readouterr().out.splitlines()]
        here = 0
        for row, before in zip(printed, ["", *printed], strict=False):
            if row == "...":
                continue
            found = said[here:].index(row.rstrip()) if row.rstrip() in said[here:] else None
            if found is None:
                pytest.fail(f"$ {line}\nprints no (or no later) line\n{row}")
            assert found == 0 or before in ("...", ""), (
                f"$ {line}\nlines are left out before\n{row}"
            )
            here += found + 1

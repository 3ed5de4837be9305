"""Commands are listed, documented and shown with an example."""

from __future__ import annotations

import importlib
from pathlib import Path

import pytest

from kitting.commands import COMMANDS

ROOT = Path(__file__).resolve().parents[2]
FOLDER = ROOT / "kitting" / "commands"


def test_the_overview_lists_every_command_file() -> None:
    """The table of commands and the files agree."""
    files = {p.stem for p in FOLDER.glob("*.py")} - {"__init__", "common"}
    assert files == set(COMMANDS)


@pytest.mark.parametrize("name", COMMANDS)
def test_each_command_has_help_with_an_example(name: str) -> None:
    """Help says what it does and shows one call; every option says what it is for."""
    command = importlib.import_module(f"kitting.commands.{name}").command
    assert command.name == name
    assert command.help
    assert f"kitting {name}" in command.epilog
    for parameter in command.params:
        assert parameter.param_type_name == "argument" or parameter.help, parameter.name


@pytest.mark.parametrize("name", COMMANDS)
def test_each_command_is_in_the_readme(name: str) -> None:
    """The README names every command."""
    assert f"kitting {name}" in (ROOT / "README.md").read_text(encoding="utf-8")

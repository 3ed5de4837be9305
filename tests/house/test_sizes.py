"""Sizes that keep a file in one's head."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

PACKAGE = Path(__file__).resolve().parents[2] / "kitting"
FILES = sorted(PACKAGE.rglob("*.py"))
TOP = {
    "README.md", "DEVELOPERS.md", "pyproject.toml", "kitting", "tests", "catalogs", "demo",
}  # fmt: skip


@pytest.mark.parametrize("path", FILES, ids=lambda p: str(p.relative_to(PACKAGE)))
def test_files_and_functions_stay_small(path: Path) -> None:
    """At most 400 lines a file, 60 a function (docstring aside), 6 arguments."""
    source = path.read_text(encoding="utf-8")
    assert len(source.splitlines()) <= 400
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.FunctionDef):
            body = node.body
            first = body[1] if len(body) > 1 and ast.get_docstring(node) else body[0]
            assert (node.end_lineno or 0) - first.lineno < 60, node.name
            given = [*node.args.posonlyargs, *node.args.args, *node.args.kwonlyargs]
            plain = [a for a in given if a.arg not in {"self", "cls"}]
            command = any("click" in ast.unparse(d) for d in node.decorator_list)
            assert len(plain) <= 6 or command, node.name


def test_public_things_are_documented() -> None:
    """Every public function and class says what it does."""
    bare = [
        f"{path.relative_to(PACKAGE)}:{node.name}"
        for path in FILES
        for node in ast.parse(path.read_text(encoding="utf-8")).body
        if isinstance(node, ast.FunctionDef | ast.ClassDef)
        and not node.name.startswith("_")
        and not ast.get_docstring(node)
    ]
    assert not bare


def test_the_top_level_holds_nothing_else() -> None:
    """README, DEVELOPERS, pyproject, kitting, tests, catalogs, demo and dotfiles; nothing else."""
    top = PACKAGE.parent
    tracked = {p.name for p in top.iterdir() if not p.name.startswith(".")}
    made_by_tools = {n for n in tracked if n.endswith((".egg-info", ".db")) or n in {"dist"}}
    assert tracked - made_by_tools <= TOP

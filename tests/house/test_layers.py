"""The layer rules, read from the imports themselves."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

PACKAGE = Path(__file__).resolve().parents[2] / "kitting"
ROOMS = {
    p.name
    for p in PACKAGE.iterdir()
    if p.is_dir() and not p.name.startswith("_") and p.name not in {"terms", "tables", "commands"}
}
PURE = {"bill", "netting", "sourcing", "timing", "audit", "dealings"}
FILES = sorted(PACKAGE.rglob("*.py"))
# Standard-library ways to reach files, clocks, the network or chance.
IMPURE_MODULES = {"os", "pathlib", "io", "time", "random", "secrets", "socket", "sqlite3", "shutil"}
HEAVY = {
    *("pandas", "numpy", "scipy", "networkx", "openpyxl", "sqlalchemy", "holidays"),
    *("rich", "python_calamine", "rapidfuzz", "jinja2", "markupsafe", "segno", "ortools"),
}


def imports(path: Path, *, top_level_only: bool = False) -> set[str]:
    """Return the dotted names that a file imports when it runs."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    typing_only = {
        id(child)
        for node in ast.walk(tree)
        if isinstance(node, ast.If) and "TYPE_CHECKING" in ast.unparse(node.test)
        for child in ast.walk(node)
    }
    nodes = tree.body if top_level_only else list(ast.walk(tree))
    found: set[str] = set()
    for node in nodes:
        if id(node) in typing_only:
            continue
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path}: relative import"
            module = node.module or ""
            found |= {f"{module}.{alias.name}" for alias in node.names} | {module}
    return found


def room_of(path: Path) -> str:
    return path.relative_to(PACKAGE).parts[0]


@pytest.mark.parametrize("path", FILES, ids=lambda p: str(p.relative_to(PACKAGE)))
def test_rooms_never_import_rooms(path: Path) -> None:
    """A room imports terms, tables, errors, shipped data and outside libraries only."""
    room = room_of(path)
    seen = {name.split(".")[1] for name in imports(path) if name.startswith("kitting.")}
    if room in ROOMS:
        allowed = {room, "terms", "tables", "errors", "shipped"}
        if room == "board":
            allowed.add("outputs")
        assert seen <= allowed
    elif room in {"terms", "tables"}:
        assert seen <= {"terms", "errors"} | ({"tables"} if room == "tables" else set())


@pytest.mark.parametrize(
    "path",
    [p for p in FILES if room_of(p) == "terms"],
    ids=lambda p: str(p.relative_to(PACKAGE)),
)
def test_terms_use_the_standard_library_only(path: Path) -> None:
    """Words of the trade load nothing heavy."""
    assert not {n.split(".")[0] for n in imports(path)} & HEAVY


@pytest.mark.parametrize(
    "path",
    [p for p in FILES if room_of(p) in PURE or p.name == "plan.py"],
    ids=lambda p: str(p.relative_to(PACKAGE)),
)
def test_pure_rooms_touch_nothing_outside(path: Path) -> None:
    """No files, no clock, no database, no hidden randomness in the pure rooms."""
    assert not {n.split(".")[0] for n in imports(path)} & IMPURE_MODULES
    source = path.read_text(encoding="utf-8")
    for call in ("open(", "date.today(", "datetime.now(", "np.random.seed(", "default_rng()"):
        calls = [line for line in source.splitlines() if call in line.replace("_" + call, "")]
        assert not calls, calls


@pytest.mark.parametrize(
    "path",
    [p for p in FILES if room_of(p) == "commands" or p.parent == PACKAGE],
    ids=lambda p: str(p.relative_to(PACKAGE)),
)
def test_commands_load_heavy_libraries_only_when_run(path: Path) -> None:
    """Help and completion stay fast: no heavy library at the top of a command."""
    if path.name == "plan.py":
        return
    top = imports(path, top_level_only=True)
    assert not {n.split(".")[0] for n in top} & HEAVY
    assert not {n.split(".")[1] for n in top if n.startswith("kitting.")} & ROOMS


def test_every_table_has_one_writer() -> None:
    """Each contract names the one room that writes it, and that room exists."""
    from kitting.tables.catalogs import JOINT_KINDS
    from kitting.tables.dealings import DEALINGS, INVOICES, MATCHED, ORDER_STATES
    from kitting.tables.flow import FLOW
    from kitting.tables.shop import SHEETS

    tables = [*SHEETS, *FLOW, JOINT_KINDS, *DEALINGS, INVOICES, MATCHED, ORDER_STATES]
    assert {t.writer for t in tables} <= ROOMS
    assert len({t.name for t in tables}) == len(tables)

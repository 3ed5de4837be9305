"""README lists every setting of the sheet shop, with the default that the code goes by."""

from __future__ import annotations

import ast
import re
from pathlib import Path

from kitting.reading import settings
from kitting.tables.shop import SETTING_DEFAULTS

ROOT = Path(__file__).resolve().parents[2]
ROW = re.compile(
    r"^\| (?P<name>[^|]+) \| (?P<meaning>[^|]+) \| ?(?P<default>[^|]*)\| ?(?P<unit>[^|]*)\|$"
)


def told() -> dict[str, str]:
    """Return the defaults of README's table of settings, by name."""
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    _, _, after = text.partition("| setting | meaning | unless given | unit |\n|---|---|---|---|\n")
    rows = [ROW.match(line) for line in after.partition("\n\n")[0].splitlines()]
    assert all(rows), "a row of the table has not four cells"
    return {row["name"].strip(): row["default"].strip() for row in rows}


def test_every_setting_is_listed_with_its_default() -> None:
    """No setting is missing, none is listed that does nothing."""
    open_ended = {"rate USD", "late_cost_per_day BUILD", "freight steps SUPPLIER"}
    found = told()
    assert set(found) == set(SETTING_DEFAULTS) | open_ended
    assert {name: found[name] for name in SETTING_DEFAULTS} == SETTING_DEFAULTS


def test_every_setting_that_the_code_asks_for_is_known() -> None:
    """Reading says of a setting that is not known that it does nothing: that must be true."""
    asked = set()
    for path in (ROOT / "kitting").rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute):
                plain = node.args and isinstance(node.args[0], ast.Constant)
                if node.func.attr == "setting" and plain:
                    asked.add(node.args[0].value)
    assert len(asked) > 10
    assert asked <= set(SETTING_DEFAULTS)
    assert not set(settings._ALSO) & set(SETTING_DEFAULTS)

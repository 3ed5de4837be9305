"""What the room loads: the kit check starts a fresh process each time."""

from __future__ import annotations

import subprocess
import sys

SMALL = """
import sys
import pandas as pd
from kitting.bill import explode, open_builds
from kitting.tables.shop import BUILDS, LINES, empty_shop
line = dict.fromkeys(LINES.names, "") | {"line": 1, "assembly": "a", "part": "P", "quantity": 2}
build = dict.fromkeys(BUILDS.names, "") | {"build": "B", "assembly": "a", "priority": 5}
build |= {"start": pd.NaT, "finished": pd.NaT}
shop = empty_shop().replaced(
    lines=LINES.conform(pd.DataFrame([line])), builds=BUILDS.conform(pd.DataFrame([build]))
)
assert explode(shop, open_builds(shop)).required["quantity"].tolist() == [2]
print(sorted({"scipy", "networkx", "openpyxl", "sqlalchemy"} & set(sys.modules)))
"""


def test_a_small_shop_explodes_without_heavy_libraries() -> None:
    """Neither scipy nor networkx is loaded until a large bill or a graph asks for it."""
    run = subprocess.run(
        [sys.executable, "-c", SMALL], capture_output=True, text=True, check=True, timeout=60
    )
    assert run.stdout.strip() == "[]"

"""Parts that are on the shelf and go to another build: who gets them is said."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

from click.testing import CliRunner

from kitting.commands import group, run

if TYPE_CHECKING:
    from pathlib import Path

AS_OF = ["--on", "2026-03-09"]
SHEETS = {
    "parts": "part,name,customer_supplied\nring,ring,\npin,pin,\noil,oil,\ncore,core,\n"
    "case,case,yes\n",
    "stages": "assembly,stage,work_days\nengine,head,1\nengine,close,1\n",
    "lines": "assembly,stage,part,quantity\nengine,head,ring,3\nengine,close,ring,2\n"
    "engine,head,pin,1\nengine,head,core,1\nengine,head,case,1\n",
    "builds": "build,assembly,start,priority,customer\nB1,engine,2026-03-16,1,ann\n"
    "B2,engine,2026-03-10,4,bob\nB3,engine,2026-03-16,2,eve\n",
    "stock": "part,quantity,place,owner\nring,9,A1,\npin,9,A2,\ncore,1,A3,ann\ncase,1,A4,\n",
}


def check(place: str, *words: str):
    args = ["check", *words, "--shop", place, *AS_OF]
    return CliRunner().invoke(group, args, standalone_mode=False).output


def test_what_goes_to_other_builds_is_said_once(tmp_path: Path) -> None:
    """Nine rings: five for the first build, four for the third; nothing for the last.

    An owner's part, what each customer brings for his own build, and one of which there is enough,
    are not told.
    """
    folder = tmp_path / "sheets"
    folder.mkdir()
    for name, text in SHEETS.items():
        (folder / f"{name}.csv").write_text(text, encoding="utf-8")
    place = str(tmp_path / "shop.db")
    assert run(["read", str(folder), "--shop", place, *AS_OF]) == 0
    text = check(place, "B2")
    (line,) = [row for row in text.splitlines() if "on the shelf go" in row]
    assert line == "       5 on the shelf go to B1 (priority 1), 4 to B3 (priority 2)"
    document = json.loads(check(place, "B2", "--json"))
    short = {s["part"]: s["elsewhere"] for s in document["shortages"]}
    assert [(g["build"], g["priority"], g["quantity"]) for g in short["ring"]] == [
        ("B1", 1, 5),
        ("B3", 2, 4),
    ]
    assert short["core"] == []
    assert "on the shelf go" not in check(place, "B1")
    third = [row for row in check(place, "B3").splitlines() if "on the shelf go" in row]
    assert third == ["       5 on the shelf go to B1 (priority 1)"]

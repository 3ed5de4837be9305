"""Sheets from the instructions and the parts list of the Walrus Turbine 400.

johndroper/WalrusTurbine, commit 6601011, ``WT400/*``, MIT. The instructions are what the work
needs, the parts list is what lies on the shelf. What the converter does:

- A numbered heading of the instructions is a stage, after the one before it.
- A part is a row of the parts list, numbered by its anchor. A link goes by its anchor, whatever
  file it names (two name the wrong one), or by its words where the list has no such anchor.
- A number before the link is the quantity. Without one, a fixing counts one in each step that
  names it; anything else counts once, where it is first named, for later steps work on the same
  thing. ``A in B and C`` is two.
- Two counts stand elsewhere in the text: the carriage bolts, with their washers and nuts, are as
  many as the holes drilled for them; the heat-set inserts stand as words, not links.
- Grease, threadlocker, caulk, tape, glaze and wire are listed as 1 with no amount: one container.
- Sellers are named without prices or days, so there are no offers. Days of work are ours.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

from real.folder import START

if TYPE_CHECKING:
    from pathlib import Path

    from real.folder import Row, Sheets

TURBINE = "Walrus Turbine 400"
_ROW = re.compile(r'<a id="(?P<part>[^"]+)">(?P<name>[^<]+)</a>.*\|\s*(?P<number>\d+)\s*\|?\s*$')
_STAGE = re.compile(r"1\. (?P<name>.+)")
_STEP = re.compile(r"(?P<indent> +)\d+\. +(?P<text>.+)")
_LINK = re.compile(
    r"(?:(?P<number>\d+) )?\[(?P<words>[^\]]*)\]\( ?(?P<file>[^#)]*)#?(?P<at>[^)]*)\)"
)
_INSERTS = re.compile(r"Install (?P<number>\d+) heat-set inserts")
_HOLES = re.compile(r"Drill out (?P<number>\d+) \[carriage bolt holes\]")
_FIXINGS = ("screw", "bolt", "nut", "washer", "o-ring")
_WORDS = {"¼": "1/4", "½": "1/2", "¾": "3/4", "”": '"', "1 1/2": "1-1/2", "hex-head": "hex"}


@dataclass(frozen=True)
class Use:
    """A part that a step takes."""

    stage: str
    part: str
    quantity: int
    step: str


def read_list(folder: Path) -> dict[str, tuple[str, int]]:
    """Read name and number of each part of the parts list, by its anchor."""
    text = (folder / "parts-list.md").read_text(encoding="utf-8")
    rows = (_ROW.search(line) for line in text.splitlines())
    return {r["part"]: (r["name"], int(r["number"])) for r in rows if r}


def read_uses(folder: Path) -> tuple[Use, ...]:
    """Read what each step of the instructions takes."""
    text = (folder / "instructions.md").read_text(encoding="utf-8")
    listed = read_list(folder)
    holes = _HOLES.search(text)
    assert holes is not None
    bolts = int(holes["number"])
    stage = ""
    uses: list[Use] = []
    for line in text.partition("## Assembly Steps")[2].splitlines():
        if head := _STAGE.fullmatch(line.rstrip()):
            stage = head["name"]
        elif step := _STEP.fullmatch(line.rstrip()):
            known = {u.part for u in uses}
            found = _taken(step["text"], listed, known, bolts)
            uses += [Use(stage, part, n, step["text"]) for part, n in found.items()]
    return tuple(uses)


def _taken(
    text: str, listed: dict[str, tuple[str, int]], known: set[str], bolts: int
) -> dict[str, int]:
    """Count the parts that one step takes."""
    if inserts := _INSERTS.search(text):
        return {"heatset_inserts": int(inserts["number"])}
    links = [(found, _part(found, listed)) for found in _LINK.finditer(text)]
    each = bolts if any(part == "carriage_bolt" for _, part in links) else 1
    taken: dict[str, int] = {}
    for found, part in links:
        if not part or part in taken:
            continue
        fixing = any(word in listed[part][0].casefold() for word in _FIXINGS)
        if found["number"]:
            taken[part] = int(found["number"])
        elif fixing:
            taken[part] = each
        elif part not in known and not text.startswith("Installing"):
            taken[part] = 2 if re.match(r"Mount \[[^\]]+\]\S* in \[[^\]]+\]\S* and \[", text) else 1
    return taken


def _part(link: re.Match[str], listed: dict[str, tuple[str, int]]) -> str:
    """Find the part that a link means; blank for a picture or a printed part."""
    if link["at"] in listed:
        return link["at"]
    if link["file"] != "parts-list.md":
        return ""
    words = _plain(link["words"])
    names = {_plain(name): part for part, (name, _) in listed.items()}
    return next(part for name, part in names.items() if words == name or words.endswith(name))


def _plain(words: str) -> str:
    for seen, meant in _WORDS.items():
        words = words.replace(seen, meant)
    words = words.casefold().removesuffix("s")
    return re.sub(r"^1/4-20 ", "", words)


def sheets(folder: Path) -> Sheets:
    """Write one turbine's instructions as its bill, and the parts list as stock."""
    listed = read_list(folder)
    uses = read_uses(folder)
    stages = list(dict.fromkeys(u.stage for u in uses))
    after = dict(zip(stages[1:], stages, strict=False))
    lines: list[Row] = [
        {"assembly": TURBINE, "stage": u.stage, "part": u.part, "quantity": u.quantity,
         "note": u.step[:60]}
        for u in uses
    ]  # fmt: skip
    return {
        "parts": [{"part": part, "name": name} for part, (name, _) in listed.items()],
        "stages": [
            {"assembly": TURBINE, "stage": s, "after": after.get(s, "")} for s in stages
        ],
        "lines": lines,
        "stock": [
            {"part": part, "place": "parts list", "quantity": n} for part, (_, n) in listed.items()
        ],
        "builds": [{"build": "WT400", "assembly": TURBINE, "start": START}],
    }  # fmt: skip

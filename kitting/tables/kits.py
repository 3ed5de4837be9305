"""What lies in kits, how it got there, and which kits were called complete; written at the bench.

No sheet holds these tables: ``Shop`` gives them empty where there are none.
"""

from __future__ import annotations

from kitting.tables.contract import Column, Kind, Table


# fmt: off
def _c(name: str, kind: Kind, meaning: str, unit: str = "") -> Column:
    return Column(name, kind, meaning, unit)


_BASE = "base units"

KITTED = Table("kitted", "what is picked for stages of open builds, or fitted", "records", (
    _c("build", "text", "the build"),
    _c("assembly", "text", "the assembly"),
    _c("stage", "text", "the stage"),
    _c("part", "text", "part number"),
    _c("lot", "text", "lot or batch mark"),
    _c("quantity", "whole", "how much", _BASE),
    _c("unit", "text", "unit as written"),
    _c("use_by", "day", "last day it may be used"),
    _c("opened", "day", "day it was opened; blank = sealed"),
    _c("held_for", "text", "build it was kept for before it was picked"),
    _c("owner", "text", "whose it is; blank = the shop's"),
    _c("fitted", "yes or no", "it was fitted; no = it lies in the kit"),
), ("build", "assembly", "stage", "part", "lot", "held_for", "owner", "fitted"))

KIT_MOVES = Table("kit_moves", "what went into and out of the kits of open builds", "records", (
    _c("move", "whole", "number of the move; those that were undone are left out"),
    _c("day", "day", "when"),
    _c("part", "text", "part number"),
    _c("quantity", "whole", "how much", _BASE),
    _c("build", "text", "build on whose account it was moved"),
    _c("from_build", "text", "build whose kit it left; blank = it came from a bin"),
    _c("from_stage", "text", "stage of that kit"),
    _c("from_place", "text", "place that it left when that is no kit"),
    _c("to_build", "text", "build whose kit it entered; blank = it went elsewhere"),
    _c("to_stage", "text", "stage of that kit"),
    _c("to_place", "text", "place that it entered when that is no kit"),
    _c("fitted", "yes or no", "it was fitted then"),
    _c("by", "text", "who moved it"),
    _c("checked", "text", "who looked at it besides"),
    _c("reason", "text", "why"),
), ("move",))

KITS = Table("kits", "kits that were called complete", "records", (
    _c("kit", "whole", "row number"),
    _c("build", "text", "the build"),
    _c("assembly", "text", "the assembly"),
    _c("stage", "text", "the stage"),
    _c("day", "day", "when"),
    _c("by", "text", "who picked it"),
    _c("checked", "text", "who checked it"),
    _c("note", "text", "anything else"),
), ("kit",))

KIT_SHORTS = Table("kit_shorts", "what a kit lacked when it was called complete", "records", (
    _c("kit", "whole", "the kit"),
    _c("joint", "text", "the joint"),
    _c("role", "text", "what it does there"),
    _c("part", "text", "part number"),
    _c("quantity", "whole", "how much was not in it", _BASE),
    _c("unit", "text", "unit as written"),
    _c("why", "text", "on the shelf, coming or short"),
), ("kit", "joint", "role", "part"))

KEPT: tuple[Table, ...] = (KITTED, KIT_MOVES, KITS, KIT_SHORTS)

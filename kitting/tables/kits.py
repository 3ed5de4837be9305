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
    _c("what", "text", "picked, taken from another kit, put back, out of a set, fitted"),
    _c("build", "text", "whose kit it entered, or left when it entered none"),
    _c("stage", "text", "stage of that kit"),
    _c("from_build", "text", "whose kit it was taken from; blank = from none"),
    _c("from_stage", "text", "stage of that kit"),
    _c("place", "text", "bin or other place at its other end"),
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

COUNTS = Table("counts", "what was counted, and what the record said before", "records", (
    _c("count", "whole", "row number"),
    _c("day", "day", "when"),
    _c("part", "text", "part number"),
    _c("lot", "text", "lot or batch mark; blank = unmarked"),
    _c("place", "text", "bin or shelf"),
    _c("held_for", "text", "build it is kept for; blank = anyone"),
    _c("owner", "text", "whose it is; blank = the shop's"),
    _c("before", "whole", "what the record said", _BASE),
    _c("after", "whole", "what was there", _BASE),
    _c("by", "text", "who counted"),
), ("count",))

COUNT_FIRST = Table("count_first", "bins to count before a kit relies on them", "netting", (
    _c("build", "text", "the first build that relies on it"),
    _c("part", "text", "part number"),
    _c("lot", "text", "lot or batch mark; blank = unmarked"),
    _c("place", "text", "bin or shelf"),
    _c("quantity", "whole", "what the record says", _BASE),
    _c("counted", "day", "when it was counted last; blank = not on record"),
    _c("why", "text", "why to count it"),
), ("part", "lot", "place"))

ISSUED = Table("issued", "what went into a build's kits against what was fitted", "netting", (
    _c("build", "text", "the build"),
    _c("part", "text", "part number"),
    _c("issued", "whole", "what went into its kits; a set counts as its contents", _BASE),
    _c("fitted", "whole", "what the bill fits", _BASE),
    _c("left_over", "whole", "what came back", _BASE),
    _c("difference", "whole", "issued - fitted - left over", _BASE),
), ("build", "part"))

USED_HERE = Table("used_here", "what of a build's kits was fitted where", "netting", (
    _c("build", "text", "the build"),
    _c("stage", "text", "the stage"),
    _c("joint", "text", "the joint"),
    _c("role", "text", "what it does there"),
    _c("part", "text", "part number"),
    _c("quantity", "whole", "how much", _BASE),
))

KEPT: tuple[Table, ...] = (KITTED, KIT_MOVES, KITS, KIT_SHORTS, COUNTS)

"""Versions of the bill: which reading or decision changed it, and how."""

from __future__ import annotations

from kitting.tables.contract import Column, Kind, Table
from kitting.tables.shop import LINES


# fmt: off
def _c(name: str, kind: Kind, meaning: str) -> Column:
    return Column(name, kind, meaning)


VERSIONS = Table("versions", "versions of the bill, first to last", "records", (
    _c("version", "whole", "its number"),
    _c("day", "day", "when"),
    _c("made_at", "text", "moment it was made, UTC"),
    _c("by", "text", "who changed the bill"),
    _c("reason", "text", "why"),
    _c("added", "whole", "rows that came, changed ones too"),
    _c("removed", "whole", "rows that went, changed ones too"),
), ("version",))

LINE_HISTORY = Table("line_history", "lines of the bill that came and went", "records", (
    _c("version", "whole", "number of the version"),
    _c("day", "day", "when it was made"),
    _c("by", "text", "who changed the bill"),
    _c("came", "yes or no", "the line came; no = it went, or was changed"),
    *(_c(c.name, c.kind, c.meaning) for c in LINES.columns
      if c.name in ("assembly", "stage", "joint", "part", "quantity")),
))
# fmt: on

BILL = (
    *("parts", "sets", "stand_ins", "stages", "joints"),
    *("lines", "options", "rules", "waivers"),
)
"""Sheets that are the bill."""

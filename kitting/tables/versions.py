"""Versions of the bill: which reading or decision changed it, and how."""

from __future__ import annotations

from kitting.tables.contract import Column, Kind, Table


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
# fmt: on

BILL = (
    *("parts", "sets", "stand_ins", "stages", "joints"),
    *("lines", "options", "rules", "waivers"),
)
"""Sheets that are the bill."""

"""The ledger of moves as a frame; written at the bench, read for a spreadsheet or a study."""

from __future__ import annotations

from kitting.tables.contract import Column, Kind, Table


# fmt: off
def _c(name: str, kind: Kind, meaning: str, unit: str = "") -> Column:
    return Column(name, kind, meaning, unit)


MOVES = Table("moves", "every change of stock, in the order of writing", "records", (
    _c("move", "whole", "its number"),
    _c("day", "day", "when it happened"),
    _c("made_at", "text", "when it was written, UTC"),
    _c("part", "text", "part number"),
    _c("quantity", "whole", "how much", "base units"),
    _c("unit", "text", "unit as written"),
    _c("from_place", "text", "where it left"),
    _c("to_place", "text", "where it entered"),
    _c("lot", "text", "lot or batch mark"),
    _c("use_by", "day", "last day it may be used"),
    _c("opened", "day", "day it was opened; blank = sealed"),
    _c("held_for", "text", "build it is kept for"),
    _c("owner", "text", "whose it is; blank = the shop's"),
    _c("build", "text", "build it was moved for"),
    _c("order", "text", "order that it answers"),
    _c("line", "whole or blank", "line of that order"),
    _c("by", "text", "who moved it"),
    _c("checked", "text", "who looked at it besides"),
    _c("reason", "text", "why"),
    _c("reverses", "whole or blank", "number of the move that it undoes"),
), ("move",))

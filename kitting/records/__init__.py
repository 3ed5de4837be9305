"""The shop's memory: a ledger of moves, orders and receipts, and the sheets, in one database.

``open_shop`` opens a SQLite file or a database server and brings it up to date; ``apply`` reads
sheets into it in one transaction and ``changes`` tells beforehand what that would do; ``snapshot``
gives the shop as frames and ``moves`` its ledger as one. ``add_orders``, ``receive``, ``count``,
``forgot`` and ``reverse`` write what happens at the bench, ``amend`` and ``claim`` what happens
with suppliers, and ``decide`` what came of a proposal, each in full or not at all;
``copying.copy_shop`` makes backups, brings them back and takes a shop onto a server;
``prove`` works everything out anew.

Nothing here loads pandas, SQLAlchemy or even another file of this room until it is needed.
"""

from __future__ import annotations

import importlib
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from kitting.records.amending import Amendment, amend, split
    from kitting.records.boxes import Box, open_box
    from kitting.records.claiming import Answer, Claim, answer, claim, claims
    from kitting.records.counting import Count, Counted, count
    from kitting.records.decisions import decide, decided
    from kitting.records.frames import build_names, snapshot
    from kitting.records.history import moves
    from kitting.records.ledger import Move
    from kitting.records.notes import Forgotten, forgot
    from kitting.records.opening import Records, open_shop
    from kitting.records.order_lines import drafts, order_numbers
    from kitting.records.orders import Arrival, Received, add_orders, next_order_number, receive
    from kitting.records.proof import Proof, prove
    from kitting.records.sheets import CHANGES, apply, changes
    from kitting.records.undoing import reverse
    from kitting.records.version_history import between, line_history, versions

# Where each name is; a command at the bench pays only for what it uses.
_FILES = {
    "amending": "Amendment, amend, split",
    "boxes": "Box, open_box",
    "claiming": "Answer, Claim, answer, claim, claims",
    "counting": "Count, Counted, count",
    "decisions": "decide, decided",
    "frames": "build_names, snapshot",
    "history": "moves",
    "ledger": "Move",
    "notes": "Forgotten, forgot",
    "opening": "Records, open_shop",
    "order_lines": "drafts, order_numbers",
    "orders": "Arrival, Received, add_orders, next_order_number, receive",
    "proof": "Proof, prove",
    "sheets": "CHANGES, apply, changes",
    "undoing": "reverse",
    "version_history": "between, line_history, versions",
}
_FILE_OF = {name: file for file, names in _FILES.items() for name in names.split(", ")}

__all__ = [
    "CHANGES",
    "Amendment",
    "Answer",
    "Arrival",
    "Box",
    "Claim",
    "Count",
    "Counted",
    "Forgotten",
    "Move",
    "Proof",
    "Received",
    "Records",
    "add_orders",
    "amend",
    "answer",
    "apply",
    "between",
    "build_names",
    "changes",
    "claim",
    "claims",
    "count",
    "decide",
    "decided",
    "drafts",
    "forgot",
    "line_history",
    "moves",
    "next_order_number",
    "open_box",
    "open_shop",
    "order_numbers",
    "prove",
    "receive",
    "reverse",
    "snapshot",
    "split",
    "versions",
]


def __getattr__(name: str) -> object:
    """Load the file that holds a name when it is first asked for."""
    if name not in _FILE_OF:
        raise AttributeError(f"module {__name__} has no attribute {name}")
    found: object = getattr(importlib.import_module(f"{__name__}.{_FILE_OF[name]}"), name)
    globals()[name] = found
    return found

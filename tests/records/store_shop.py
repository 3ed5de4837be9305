"""Store a shop of each schema that has none yet, as SQL beside the others.

Run it after adding a step: ``python tests/records/store_shop.py``. The shop of a step is the stored
shop of the step before, brought on by that step alone, with a row put into each table that is new.
A stored shop is never made anew: it is what shops of its age look like.
"""

from __future__ import annotations

import sqlite3
from contextlib import closing
from pathlib import Path

from kitting.records.hands import FileHand
from kitting.records.opening import Records, take_steps
from kitting.records.schema import split
from kitting.records.step_kinds import NewTable
from kitting.records.steps import STEPS, TODAY

DATA = Path(__file__).parent / "data"
_SAMPLE = {
    "whole": 1,
    "whole or blank": None,
    "real": 1.5,
    "yes or no": 1,
    "day": "2026-03-09",
    "text": "größer",
}
# Rows of these stand for moves, or are summed from them; a made-up one would not prove.
_NOT_MADE_UP = {"on_hand", "stock_seen", "order_facts", "orders_seen", "claims"}


def stored(step: int) -> Path:
    """Return the file of the stored shop of a step."""
    return DATA / f"shop_step_{step}.sql"


def store(step: int) -> None:
    """Store the shop of a step, from that of the step before."""
    with closing(sqlite3.connect(":memory:", isolation_level=None)) as file:
        file.executescript(stored(step - 1).read_text(encoding="utf-8"))
        take_steps(Records("stored", FileHand(file)), STEPS[:step])
        for change in STEPS[step - 1].changes:
            if isinstance(change, NewTable) and change.name not in _NOT_MADE_UP:
                specs = [spec.partition(":") for spec in split(change.columns)]
                row = {n.strip(): _SAMPLE[kind.strip() or "text"] for n, _, kind in specs}
                names = ", ".join(f'"{n}"' for n in row)
                file.execute(
                    f'INSERT INTO "{change.name}" ({names}) VALUES ({", ".join("?" * len(row))})',
                    list(row.values()),
                )
        stored(step).write_text("\n".join(file.iterdump()) + "\n", encoding="utf-8")


if __name__ == "__main__":
    for number in range(2, TODAY + 1):
        if not stored(number).exists():
            store(number)
            print(f"stored {stored(number).name}")

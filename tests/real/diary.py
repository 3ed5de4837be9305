"""A builder's diary of assembling an aircraft engine from a kit, as forgotten parts.

Facts transcribed from a public diary (January 2017), read in place from the folder ``shared``
beside the project's own. It is one build: what the days before taught is held against what came
up later. Everything that the maker of the kit was to deliver has one supplier.

Run as a script: ``python tests/real/diary.py``.
"""

from __future__ import annotations

import csv
import sys
from pathlib import Path

from kitting.audit import wilson
from kitting.audit.lessons import Event, Lessons

FILE = (
    Path(__file__).resolve().parents[3]
    / "shared" / "real" / "maintenance" / "kit_engine_build_events.csv"
)  # fmt: skip
CAUSES = {
    "short": "late",
    "on_back_order": "late",
    "waited": "late",
    "stopped": "late",
    "misdelivered": "late",
    "lost": "damaged on fitting",
    "damaged": "damaged on fitting",
    "not_in_kit": "not in the bill",
}
# The paint was bought elsewhere, and the aircraft hardware is sold apart from the kit.
NOT_THE_MAKER = {"engine paint": "", "aviation hardware set": ""}
NOT_ORDERED = {"aviation hardware set"}


def events() -> list[tuple[str, Event]]:
    """Return day and event of each part that was not there; told twice, it counts once."""
    found: list[tuple[str, Event]] = []
    seen = set()
    with FILE.open(encoding="utf-8", newline="") as file:
        for number, row in enumerate(csv.DictReader(file), 2):
            cause = CAUSES.get(row["event"])
            if cause is None or (row["item"], cause) in seen:
                continue
            seen.add((row["item"], cause))
            if row["item"] in NOT_ORDERED:
                cause = "not in the bill"
            event = Event(
                entry=number, build="kit engine", assembly="engine", stage=row["stage"], joint="",
                role="", part=row["item"], quantity=1, unit="piece", cause=cause,
                supplier=NOT_THE_MAKER.get(row["item"], "maker of the kit"),
            )  # fmt: skip
            found.append((row["date"], event))
    return found


def judged() -> list[tuple[str, Event, str]]:
    """Return day, event, and the lesson of earlier days that would have caught it, blank if none.

    What came up on the first day is not judged.
    """
    told = events()
    rows = []
    for day, event in told:
        earlier = [e for d, e in told if d < day]
        if earlier:
            change = Lessons(earlier).catching(event)
            rows.append((day, event, str(change.lesson) if change else ""))
    return rows


def main() -> int:
    """Print what would have been caught."""
    if not FILE.is_file():
        print("the diary is not beside the project (shared/real/maintenance)")
        return 1
    rows = judged()
    for day, event, lesson in rows:
        print(f"{day} {event.part[:44]:44} {event.cause:20} {lesson or '-'}")
    caught = sum(bool(lesson) for *_, lesson in rows)
    low, high = wilson(caught, len(rows))
    print(f"caught {caught} of {len(rows)}: {caught / len(rows):.2f} (95 %: {low:.2f}-{high:.2f})")
    return 0


if __name__ == "__main__":
    sys.exit(main())

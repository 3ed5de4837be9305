"""What a shop has one or few of: benches and people, as the sheet shop writes them."""

from __future__ import annotations

import re

PEOPLE = "people"
_BENCH = re.compile(r"(?P<name>[^=]+?)\s*(?:=\s*(?P<count>\d+))?")


def parse_benches(text: str) -> dict[str, int]:
    """Read how many builds each bench holds at once: ``bay 1; run stand; bench = 3``.

    Raises
    ------
    ValueError
        When it cannot be understood; the message says what to write.
    """
    found: dict[str, int] = {}
    for piece in text.split(";"):
        if not piece.strip():
            continue
        match = _BENCH.fullmatch(piece.strip())
        if match is None or match["count"] == "0" or match["name"] == PEOPLE:
            raise ValueError(
                f'benches is "{text}"; write the places with ; between, and = for how many there '
                "are, such as bay 1; run stand; bench = 3"
            )
        found[match["name"]] = int(match["count"] or 1)
    return found


def parse_people(text: str) -> int:
    """Read how many people work at once; 0 when it is blank: no limit.

    Raises
    ------
    ValueError
        When it is not a whole number above zero.
    """
    people = text.strip()
    if people and not (people.isascii() and people.isdigit() and int(people)):
        raise ValueError(f'people is "{people}"; write how many work at once, such as 2')
    return int(people or 0)

"""Working days of a named calendar, as data; the arithmetic is in the room ``timing``."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date

FIRST_DAY, LAST_DAY = date(1980, 1, 1), date(2150, 12, 31)
"""No day in a sheet or on the command line lies outside."""

_DAY = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")


@dataclass(frozen=True, slots=True)
class Calendar:
    """Which days someone works.

    Parameters
    ----------
    name
        Name used in the sheets, such as ``GB-ENG`` or ``shop``.
    week
        Seven flags from Monday, ``1111100`` for Monday to Friday.
    closed
        Days that fall on a working weekday but are not worked, in order.
    first, last
        The span for which the closed days are known.
    """

    name: str
    week: str
    closed: tuple[date, ...]
    first: date
    last: date


WEEK = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")


def parse_week(text: str) -> str:
    """Read days of the week, ``Tue; Thu``, as seven flags from Monday; blank is every day.

    Raises
    ------
    ValueError
        When a word is no day of the week.
    """
    names = [word for word in text.replace(",", ";").replace(" ", ";").split(";") if word]
    days = {name[:3].capitalize() for name in names}
    wrong = [n for n in names if n[:3].capitalize() not in WEEK or not n.isalpha()]
    if wrong:
        raise ValueError(f'"{wrong[0]}" is not a day of the week; write such as Tue; Thu')
    return "".join("1" if not days or day in days else "0" for day in WEEK)


def parse_day(text: str) -> date:
    """Read an ISO 8601 calendar day, ``2026-11-25``.

    Raises
    ------
    ValueError
        When the text is another form; the message says which to write.
    """
    try:
        if not _DAY.fullmatch(text.strip()):
            raise ValueError
        return date.fromisoformat(text.strip())
    except ValueError:
        raise ValueError(
            f'"{text}" is not a day; write year-month-day, such as 2026-03-09'
        ) from None


def parse_clock(text: str) -> int:
    """Read a 24-hour time ``15:30`` as minutes after midnight.

    Raises
    ------
    ValueError
        When it is not a time of day.
    """
    hours, colon, minutes = text.strip().partition(":")
    if colon and hours.isdecimal() and minutes.isdecimal() and len(minutes) == 2:
        total = int(hours) * 60 + int(minutes)
        if int(minutes) < 60 and total < 24 * 60:
            return total
    raise ValueError(f'"{text}" is not a time; write hours:minutes, such as 15:30')

"""Working-day arithmetic on arrays of days, a small coat over numpy's."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

from kitting.errors import KittingError

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    from kitting.terms.days import Calendar

    Days = NDArray[np.datetime64]


@lru_cache(maxsize=512)
def _busdays(calendar: Calendar) -> np.busdaycalendar:
    closed = np.array(calendar.closed, dtype="datetime64[D]")
    return np.busdaycalendar(weekmask=calendar.week, holidays=closed)


def as_days(days: ArrayLike) -> Days:
    """Return days as an array of numpy days; blank stays blank."""
    return np.asarray(days, dtype="datetime64[D]")


def outside(days: Days, calendar: Calendar) -> NDArray[np.bool_]:
    """Tell which days lie outside the span that a calendar knows; blank does not."""
    return (days < np.datetime64(calendar.first)) | (days > np.datetime64(calendar.last))


def _kept(days: Days, calendar: Calendar, blank_outside: bool) -> Days:
    out = outside(days, calendar)
    if not out.any():
        return days
    if blank_outside:
        return np.where(out, np.datetime64("NaT", "D"), days)
    raise KittingError(
        f"{days[out].flat[0]} lies outside the days that calendar {calendar.name} knows "
        f"({calendar.first} to {calendar.last}); check the day, or ask as of a nearer one"
    )


def add_days(
    days: ArrayLike,
    n: ArrayLike,
    calendar: Calendar,
    *,
    back: bool = False,
    blank_outside: bool = False,
) -> Days:
    """Step working days from each day; a day that is not worked is moved to a worked one first.

    Parameters
    ----------
    days
        Days, any shape; blank gives blank.
    n
        How far to step, below zero for earlier [working days].
    calendar
        Whose working days.
    back
        Move a day that is not worked back, instead of forward, before stepping.
    blank_outside
        Give blank, instead of an error, where a day or result is outside the calendar's span.

    Raises
    ------
    KittingError
        When a day or a result lies outside the span that the calendar knows.
    """
    known = _kept(np.atleast_1d(as_days(days)), calendar, blank_outside)
    result: Days = np.asarray(
        np.busday_offset(
            known,
            np.asarray(n, dtype="int64"),
            roll="backward" if back else "forward",
            busdaycal=_busdays(calendar),
        )
    )
    return _kept(result, calendar, blank_outside)


def roll(
    days: ArrayLike, calendar: Calendar, *, back: bool = False, blank_outside: bool = False
) -> Days:
    """Return each day itself when it is worked, else the next (or last) worked one.

    Raises
    ------
    KittingError
        When a day or a result lies outside the span that the calendar knows.
    """
    return add_days(days, 0, calendar, back=back, blank_outside=blank_outside)


def works(days: ArrayLike, calendar: Calendar) -> NDArray[np.bool_]:
    """Tell which days are worked; blank is not.

    Raises
    ------
    KittingError
        When a day lies outside the span that the calendar knows.
    """
    known = _kept(np.atleast_1d(as_days(days)), calendar, False)
    return np.asarray(np.is_busday(known, busdaycal=_busdays(calendar)))


def count(first: ArrayLike, last: ArrayLike, calendar: Calendar) -> NDArray[np.int64]:
    """Count working days from ``first``, included, to ``last``, not included [working days].

    Raises
    ------
    KittingError
        When a day is blank or lies outside the span that the calendar knows.
    """
    ends = [np.atleast_1d(as_days(d)) for d in (first, last)]
    if any(np.isnat(e).any() for e in ends):
        raise KittingError("working days cannot be counted from or to a blank day")
    begin, end = (_kept(e, calendar, False) for e in ends)
    return np.asarray(np.busday_count(begin, end, busdaycal=_busdays(calendar)), dtype="int64")

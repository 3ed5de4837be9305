"""How late a stage is when its parts come on given days.

What comes first serves the need that is due first; needs that cost nothing when late, such as
those of deferred stages, are served last. A stage waits for the last of its parts. Days are
weekdays: closing days of the shop are not counted apart.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from kitting.sourcing.market import FAR, NEVER

if TYPE_CHECKING:
    from collections.abc import Mapping

    from kitting.sourcing.demand import Need, Needs

UNKNOWN = 260
"""Working days of waiting that stand for a day of arrival that is not known: a year."""


def weekdays(day: int) -> int:
    """Count the weekdays from Monday, 1969-12-29, to before a day [days after 1970-01-01]."""
    weeks, rest = divmod(day + 3, 7)
    return 5 * weeks + min(rest, 5)


def waits(due: int, usable: int) -> int:
    """Return the working days from the day something is due to the day it can be used."""
    if usable <= due:
        return 0
    if usable >= NEVER:
        return UNKNOWN
    return weekdays(usable) - weekdays(due)


def in_service(needs: Needs, stages: Mapping[int, int]) -> Needs:
    """Order needs as they are served: those of stages that may be late last, else by day."""
    return tuple(sorted(needs, key=lambda n: (n.need not in stages, n.day, n.need)))


def serve(needs: Needs, arrivals: list[tuple[int, int]]) -> list[tuple[Need, int, int]]:
    """Give what arrives to the needs in their order.

    Parameters
    ----------
    needs
        Needs of one part in the order in which they are served.
    arrivals
        Day on which it can be used and quantity.

    Returns
    -------
    list
        The need, the place of the arrival in ``arrivals``, and the quantity.
    """
    order = sorted(range(len(arrivals)), key=lambda place: arrivals[place][0])
    left = [arrivals[place][1] for place in order]
    served: list[tuple[Need, int, int]] = []
    here = 0
    for need in needs:
        asked = need.quantity
        while asked and here < len(order):
            given = min(asked, left[here])
            if given:
                served.append((need, order[here], given))
            asked -= given
            left[here] -= given
            if not left[here]:
                here += 1
    return served


def days_late(
    needs: Needs, arrivals: list[tuple[int, int]], stages: Mapping[int, int]
) -> tuple[tuple[int, int], ...]:
    """Return each stage that must wait and its working days, for the arrivals of one part.

    Parameters
    ----------
    needs
        Needs of one part in the order in which they are served.
    stages
        Number of the stage of each need that costs something when late.
    """
    late: dict[int, int] = {}
    for need, place, _ in serve(needs, arrivals):
        if need.need in stages and need.day < FAR:
            days = waits(need.day, arrivals[place][0])
            if days:
                stage = stages[need.need]
                late[stage] = max(late.get(stage, 0), days)
    return tuple(sorted(late.items()))

"""Opening containers: how many tubes must be opened, and what of them is thrown away."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

NEVER = 10**9
"""A day that never comes; days are counted from any first day."""
MOST = 500
"""More containers of one consumable than this are not told one by one."""


@dataclass(frozen=True, slots=True)
class Use:
    """What one stage takes of a consumable.

    Parameters
    ----------
    day
        Day of the stage.
    quantity
        Base units.
    build
        The build.
    stage
        The stage, in words.
    """

    day: int
    quantity: int
    build: str = ""
    stage: str = ""


@dataclass(frozen=True, slots=True)
class Container:
    """A container that is there or comes.

    Parameters
    ----------
    content
        What it holds [base units].
    from_day, use_by
        First and last day on which it may be opened, or used when it is open.
    opened
        Day it was opened; ``None`` = sealed.
    held_for
        Build that it is kept for; blank = anyone.
    comes, lot
        Where it comes from, and its mark.
    """

    content: int
    from_day: int = 0
    use_by: int = NEVER
    opened: int | None = None
    held_for: str = ""
    comes: str = "shelf"
    lot: str = ""


@dataclass(slots=True)
class Opened:
    """A container that was opened, or stood open.

    Parameters
    ----------
    container
        The container.
    opened, last
        Day it is or was opened, and the last day on which it may be used.
    left
        What is left in it [base units].
    uses
        What was taken, in order.
    """

    container: Container
    opened: int
    last: int
    left: int
    uses: list[Use] = field(default_factory=list)

    @property
    def used(self) -> int:
        """What was taken of it [base units]."""
        return self.container.content - self.left


def open_containers(
    uses: Iterable[Use], there: Sequence[Container], content: int, open_days: int
) -> list[Opened]:
    """Say which containers are opened, when, and what is left in each.

    In the order of days, what stands open and spoils first is used up first; then the container
    that spoils first is opened; then one is bought. While all containers are alike no other order
    opens fewer: what stands open costs nothing, and a container opened later keeps longer.

    Parameters
    ----------
    uses
        What the stages take.
    there
        Containers on the shelf, open ones too, and on order.
    content
        What a bought container holds, above zero [base units].
    open_days
        Days that a container may be used after the day it is opened.

    Returns
    -------
    list
        In the order of opening, those that stood open first; only those that are used. Stops
        after ``MOST`` containers.
    """
    standing = [Opened(c, c.opened, c.use_by, c.content) for c in there if c.opened is not None]
    sealed = [c for c in there if c.opened is None and c.content > 0]
    opened: list[Opened] = []
    for use in sorted(uses, key=lambda u: u.day):
        wanted = use.quantity
        while wanted > 0 and len(opened) < MOST:
            chosen = _standing(standing, use)
            if chosen is None:
                chosen = _fresh(sealed, use, content, open_days)
                standing.append(chosen)
            if not chosen.uses:
                opened.append(chosen)
            taken = min(wanted, chosen.left)
            chosen.left -= taken
            wanted -= taken
            chosen.uses.append(Use(use.day, taken, use.build, use.stage))
    return opened


def _standing(standing: Sequence[Opened], use: Use) -> Opened | None:
    """Return what stands open, may serve a use, and spoils first."""
    may = [
        o
        for o in standing
        if o.left > 0
        and o.container.from_day <= use.day <= o.last
        and o.container.held_for in ("", use.build)
    ]
    return min(may, key=lambda o: (o.last, not o.container.held_for), default=None)


def _fresh(sealed: list[Container], use: Use, content: int, open_days: int) -> Opened:
    """Open the sealed container that spoils first, or a bought one."""
    may = [c for c in sealed if c.from_day <= use.day <= c.use_by and c.held_for in ("", use.build)]
    chosen = min(may, key=lambda c: (not c.held_for, c.use_by, c.from_day), default=None)
    if chosen is None:
        chosen = Container(content, use.day, comes="buy")
    else:
        sealed.remove(chosen)
    last = min(use.day + open_days, chosen.use_by)
    return Opened(chosen, use.day, last, chosen.content)


def thrown_away(opened: Sequence[Opened], until: int) -> int:
    """Return what spoils in containers whose last day is before ``until`` [base units]."""
    return sum(o.left for o in opened if o.last < until)

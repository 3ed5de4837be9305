"""What a forgotten part teaches: the change that its cause asks for."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from kitting.terms.words import Cause, Lesson

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

_BY_CAUSE: dict[str, Lesson] = {
    Cause.NOT_IN_BILL: Lesson.ADD_LINE,
    Cause.WRONG_COUNT: Lesson.RAISE_COUNT,
    Cause.OPTION: Lesson.ADD_LINE,
    Cause.DAMAGED: Lesson.CARRY_SPARE,
    Cause.MEASURED: Lesson.KEEP,
    Cause.LATE: Lesson.ORDER_SOONER,
    Cause.NOT_PICKED: Lesson.LOOK,
    Cause.WRONG_PART: Lesson.LOOK,
    "": Lesson.ADD_LINE,
}
# Lessons that concern one place of the bill; the others concern the part wherever it goes.
OF_PLACE = (Lesson.ADD_LINE, Lesson.RAISE_COUNT, Lesson.CARRY_SPARE)


@dataclass(frozen=True, slots=True)
class Event:
    """A forgotten part, as far as lessons go.

    Parameters
    ----------
    entry, build, assembly, stage, joint, role, part, quantity, unit, cause
        As in table ``forgotten``; the assembly is the one that has the stage.
    supplier
        Whose delivery it would have come by; blank = not known.
    """

    entry: int
    build: str
    assembly: str
    stage: str
    joint: str
    role: str
    part: str
    quantity: int
    unit: str
    cause: str
    supplier: str = ""


@dataclass(frozen=True, slots=True)
class Taught:
    """One change, and the events that ask for it.

    Parameters
    ----------
    lesson
        What to do.
    assembly, stage, joint, role, part, supplier
        Where; blank where the lesson does not ask.
    events
        The events, in order.
    """

    lesson: Lesson
    assembly: str
    stage: str
    joint: str
    role: str
    part: str
    supplier: str
    events: tuple[Event, ...]

    @property
    def quantity(self) -> int:
        """The most that any build missed in all [base units]."""
        sums: dict[str, int] = {}
        for e in self.events:
            sums[e.build] = sums.get(e.build, 0) + e.quantity
        return max(sums.values())

    @property
    def entries(self) -> str:
        """Numbers of the events."""
        return "; ".join(str(e.entry) for e in self.events)

    def catches(self, event: Event) -> bool:
        """Tell whether the change, once made, would have caught an event.

        A line, a count or a spare catches the same part at the same place when it is as many; a
        shelf the same part anywhere; ordering sooner the same part, or another late one of the
        same supplier; looking at the bin what was in the bill but not picked, or picked wrong.
        """
        if self.lesson is Lesson.ORDER_SOONER:
            alike = event.part == self.part or (self.supplier and event.supplier == self.supplier)
            return bool(alike) and event.cause == Cause.LATE
        if event.part != self.part:
            return False
        if self.lesson is Lesson.LOOK:
            return event.cause in (Cause.NOT_PICKED, Cause.WRONG_PART)
        if event.cause in (Cause.LATE, Cause.NOT_PICKED, Cause.WRONG_PART):
            return self.lesson is Lesson.KEEP and event.cause == Cause.LATE
        enough = event.quantity <= self.quantity
        if self.lesson is Lesson.KEEP:
            return enough
        here = (event.assembly, event.stage) == (self.assembly, self.stage)
        return here and (not event.joint or event.joint == self.joint) and enough


class Lessons:
    """Events gathered into the changes that they ask for, one after the other."""

    def __init__(self, events: Iterable[Event] = ()) -> None:
        self._groups: dict[tuple[str, ...], list[Event]] = {}
        self._near: dict[tuple[str, str], dict[tuple[str, ...], None]] = {}
        for event in events:
            self.learn(event)

    def learn(self, event: Event) -> None:
        """Take one more event in."""
        key = _key(event)
        self._groups.setdefault(key, []).append(event)
        self._near.setdefault(("part", event.part), {})[key] = None
        if key[0] == Lesson.ORDER_SOONER and event.supplier:
            self._near.setdefault(("supplier", event.supplier), {})[key] = None

    def changes(self) -> tuple[Taught, ...]:
        """Return the changes, in order of their first event."""
        return tuple(_of(group) for group in self._groups.values())

    def catching(self, event: Event) -> Taught | None:
        """Return a change that would have caught an event, if one does."""
        keys = dict(self._near.get(("part", event.part), {}))
        if event.supplier:
            keys |= self._near.get(("supplier", event.supplier), {})
        changes = (_of(self._groups[key]) for key in keys)
        return next((change for change in changes if change.catches(event)), None)


def _key(event: Event) -> tuple[str, ...]:
    lesson = _BY_CAUSE.get(event.cause, Lesson.ADD_LINE)
    place = (event.assembly, event.stage, event.joint) if lesson in OF_PLACE else ()
    return (lesson, event.part, *place)


def _of(events: Sequence[Event]) -> Taught:
    first = events[0]
    lesson = _BY_CAUSE.get(first.cause, Lesson.ADD_LINE)
    placed = lesson in OF_PLACE
    role = next((e.role for e in events if e.role), "")
    return Taught(
        lesson=lesson,
        assembly=first.assembly if placed else "",
        stage=first.stage if placed else "",
        joint=first.joint if placed else "",
        role=role if placed else "",
        part=first.part,
        supplier=next((e.supplier for e in events if e.supplier), "")
        if lesson is Lesson.ORDER_SOONER
        else "",
        events=tuple(events),
    )

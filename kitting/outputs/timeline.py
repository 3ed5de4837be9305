"""The stages of a build over the days, and below them what is on its way and how sure it is."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING, Any

from kitting.outputs.drawing import WIDE, Days, drawing, mark, markup, put, text, title
from kitting.outputs.sureness import percent
from kitting.outputs.text import short_day

if TYPE_CHECKING:
    from collections.abc import Sequence
    from xml.etree.ElementTree import Element

    from markupsafe import Markup

    from kitting.outputs.arrivals import Arrival
    from kitting.outputs.check import Document

_LABELS = 275  # at the left of a wide drawing
_HEAD = 22
_ABOVE = 15  # room of a label above its bar, on a narrow drawing


def timeline(
    document: Document, arrivals: Sequence[Arrival], today: date, width: int
) -> Markup | None:
    """Draw a build's stages and deliveries over the days; ``None`` when no stage has a day.

    Parameters
    ----------
    document
        Its kit check.
    arrivals
        Its deliveries.
    today
        The day of the plan.
    width
        ``WIDE``: names at the left. Less: names above the bars.
    """
    stages = [s for s in document["stages"] if s["start"]]
    if not stages:
        return None
    wide = width >= WIDE
    row = 22 if wide else 36
    ends = [date.fromisoformat(s["finish"] or s["start"]) for s in stages]
    ends += [d for a in arrivals for d in (a.expected, a.likely) if d]
    starts = [today, *(date.fromisoformat(s["start"]) for s in stages)]
    # What is likely only after half a year would press everything else to the left.
    last = min(max(ends), max(starts) + timedelta(60))
    days = Days(min(starts), last, _LABELS if wide else 4, width - 8)
    gap = 30 if arrivals else 0
    height = _HEAD + row * (len(stages) + len(arrivals)) + gap + 6
    root = drawing(width, height, f"stages of {document['build']} over the days")
    days.axis(root, _HEAD, height - 4)
    several = len({s["assembly"] for s in stages}) > 1
    y = float(_HEAD)
    for stage in stages:
        _stage(root, stage, (days, y, wide), several=several)
        y += row
    if arrivals:
        text(root, (4, y + 20), "On its way, and to be ordered", "bold")
        y += gap
    for arrival in arrivals:
        _arrival(root, arrival, (days, y, wide))
        y += row
    x = days.at(today) + days.each / 2
    put(root, "line", "today", x1=x, y1=float(_HEAD - 4), x2=x, y2=height - 4)
    return markup(root)


def _place(at: tuple[Days, float, bool]) -> tuple[float, float, float]:
    """Return where the name of a row begins, its line, and the middle of its bar."""
    _, y, wide = at
    return (18.0, y + 15, y + 11) if wide else (20.0, y + 12, y + _ABOVE + 9)


def _stage(
    root: Element, stage: dict[str, Any], at: tuple[Days, float, bool], *, several: bool
) -> None:
    days, _, wide = at
    left, line, middle = _place(at)
    start = date.fromisoformat(stage["start"])
    finish = date.fromisoformat(stage["finish"] or stage["start"])
    x, end = days.at(start), days.at(finish + timedelta(1))
    group = put(root, "g")
    bar = put(group, "rect", f"bar {stage['state']}", x=x, y=middle - 6,
              width=max(end - x - 1, 3.0), height=12.0, rx="2")  # fmt: skip
    mark(group, stage["state"], 9, line - 4)
    of = f"{stage['assembly']} " if several else ""
    name = f"{of}{stage['stage']}: {stage['name']}" if stage["name"] else f"{of}{stage['stage']}"
    text(group, (left, line), name, room=_LABELS - 36 if wide else days.right - 110)
    if not wide:
        text(group, (days.right, line), short_day(stage["start"]), "small end")
    chance = stage.get("parts_in_time")
    sure = f", parts in time: {percent(chance)}" if chance is not None else ""
    title(bar, f"{name}: {stage['state']}, {stage['start']} to {stage['finish']}{sure}")


def _arrival(root: Element, arrival: Arrival, at: tuple[Days, float, bool]) -> None:
    """Draw the promised day as a tick, the spread as a bar behind it, the need as a flag."""
    days, _, wide = at
    left, line, middle = _place(at)
    group = put(root, "g")
    sure = percent(arrival.chance) if arrival.chance is not None else ""
    text(group, (left, line), arrival.name, room=_LABELS - 70 if wide else days.right - 80)
    text(group, (_LABELS - 6 if wide else days.right, line), sure, "small end")
    late = bool(arrival.likely and arrival.needed and arrival.likely > arrival.needed)
    state = "short" if late else "coming"
    mark(group, "coming" if arrival.order else "short", 9, line - 4, 4.0)
    half = days.each / 2
    if arrival.expected:
        x = days.at(arrival.expected) + half
        if arrival.likely:
            end = max(days.at(arrival.likely) + half, x)
            spread = put(group, "rect", f"spread {state}", x=x, y=middle - 3,
                         width=max(end - x, 1.0), height=6.0)  # fmt: skip
            title(spread, f"{arrival.name}: promised {arrival.expected}, likely by "
                  f"{arrival.likely}, needed {arrival.needed}")  # fmt: skip
        put(group, "line", "promised", x1=x, y1=middle - 6, x2=x, y2=middle + 6)
    if arrival.needed:
        x = days.at(arrival.needed)
        put(group, "path", "needed", d=f"M{x:.1f} {middle + 7:.1f}V{middle - 7:.1f}l6 3l-6 3")

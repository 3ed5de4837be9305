"""Drawings of a page: lines, text and the shapes that stand for states, as SVG that is well formed.

A shape never differs from another by its colour alone; colours are those of M. Okabe and K. Ito,
Color Universal Design (2008, from memory), set by class in the page's style.
"""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING
from xml.etree import ElementTree as Xml

from markupsafe import Markup

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

WIDE, NARROW = 820, 360
"""Widths of a drawing on a desk or on paper, and on a phone [units of the drawing]."""
SIZE = 12
"""Height of letters [units of the drawing]."""
# A letter is about so broad for its height; breadths are only guessed, so it is a little more.
_BREADTH = 0.56
_DAY = timedelta(days=1)
# Narrower days are not told apart, so weekends are not shaded.
_LEAST_DAY = 2.0


def drawing(width: int, height: float, label: str) -> Xml.Element:
    """Begin a drawing.

    Parameters
    ----------
    width, height
        Of the drawing [units]; on the page it is as wide as there is room.
    label
        What it shows, for those who do not see it.
    """
    return Xml.Element(
        "svg",
        {"viewBox": f"0 0 {width} {height:g}", "role": "img", "aria-label": label, "class": "draw"},
    )


def markup(root: Xml.Element) -> Markup:
    """Return a drawing as a piece of a page; text in it is escaped by the library that writes."""
    return Markup(Xml.tostring(root, encoding="unicode", short_empty_elements=True))


def put(parent: Xml.Element, tag: str, of: str = "", **values: float | str) -> Xml.Element:
    """Draw an element of a class; ``_`` in the name of a value stands for a dash."""
    written = {k.replace("_", "-"): f"{v:.1f}" if isinstance(v, float) else str(v)
               for k, v in values.items()}  # fmt: skip
    if of:
        written["class"] = of
    return Xml.SubElement(parent, tag, written)


def text(
    parent: Xml.Element, at: tuple[float, float], said: str, of: str = "", room: float = 0.0
) -> Xml.Element:
    """Write text, cut where it has no more room [units; 0 = all there is]."""
    element = put(parent, "text", of, x=float(at[0]), y=float(at[1]))
    # Bold letters are broader.
    element.text = cut(said, room * (0.85 if of == "bold" else 1.0)) if room else said
    return element


def cut(said: str, room: float) -> str:
    """Cut a text to a width [units]; a cut shows as an ellipsis."""
    most = max(int(room / (SIZE * _BREADTH)), 1)
    return said if len(said) <= most else f"{said[: most - 1].rstrip()}\u2026"


def breadth(said: str) -> float:
    """Return about how broad a text is [units]."""
    return len(said) * SIZE * _BREADTH


def title(element: Xml.Element, said: str) -> None:
    """Tell what an element is when the mouse rests on it or a reader reads it aloud."""
    child = Xml.Element("title")
    child.text = said
    element.insert(0, child)


def mark(parent: Xml.Element, state: str, x: float, y: float, r: float = 5.0) -> Xml.Element:
    """Draw the shape of a state around a point.

    Whole is a disc, coming a triangle that points on, short a diamond, late a square, deferred a
    ring; a gap is empty: a square with a cross where it stops, a standing triangle where it warns.
    """
    group = put(parent, "g", f"mark {state}")
    if state in ("whole", "deferred"):
        put(group, "circle", cx=x, cy=y, r=r)
    elif state == "coming":
        put(group, "polygon", points=_points((x - r, y - r), (x + r, y), (x - r, y + r)))
    elif state == "short":
        d = r * 1.25
        put(group, "polygon", points=_points((x, y - d), (x + d, y), (x, y + d), (x - d, y)))
    elif state == "warn":
        put(group, "polygon", points=_points((x, y - r), (x + r, y + r), (x - r, y + r)))
    else:
        put(group, "rect", x=x - r, y=y - r, width=2 * r, height=2 * r)
    if state == "stop":
        put(group, "path", d=f"M{x - r:.1f} {y - r:.1f}L{x + r:.1f} {y + r:.1f}"
            f"M{x + r:.1f} {y - r:.1f}L{x - r:.1f} {y + r:.1f}")  # fmt: skip
    return group


def _points(*points: tuple[float, float]) -> str:
    return " ".join(f"{x:.1f},{y:.1f}" for x, y in points)


class Days:
    """Days across a drawing.

    Parameters
    ----------
    first, last
        The days at both ends; the last is shown in full.
    left, right
        Where they lie [units].
    """

    def __init__(self, first: date, last: date, left: float, right: float) -> None:
        self.first, self.last = first, max(last, first + 6 * _DAY)
        self.left, self.right = left, right
        self.each = (right - left) / ((self.last - self.first).days + 1)

    def at(self, day: date) -> float:
        """Return where a day begins; days beyond the ends lie at the ends."""
        kept = min(max(day, self.first), self.last + _DAY)
        return self.left + (kept - self.first).days * self.each

    def mondays(self, room: float) -> Iterator[date]:
        """Yield Mondays so far apart that what is written at each has room [units]."""
        day = self.first + timedelta(days=-self.first.weekday() % 7)
        weeks = max(int(room // (7 * self.each)) + 1, 1)
        while day <= self.last:
            yield day
            day += weeks * 7 * _DAY

    def axis(self, parent: Xml.Element, top: float, bottom: float) -> None:
        """Draw a line at each Monday that has room for its date, and shade the weekends."""
        day = self.first
        while day <= self.last and self.each >= _LEAST_DAY:
            if day.weekday() >= 5:
                put(parent, "rect", "rest", x=self.at(day), y=top, width=self.each,
                    height=bottom - top)  # fmt: skip
            day += _DAY
        for day in self.mondays(50):
            x = self.at(day)
            put(parent, "line", "tick", x1=x, y1=top, x2=x, y2=bottom)
            if x + 40 < self.right:
                text(parent, (x + 2, top - 4), f"{day.day} {day:%b}", "small")


def legend(states: Sequence[tuple[str, str]], width: int) -> Markup:
    """Draw what the shapes mean, in as many lines as it takes.

    Parameters
    ----------
    states
        State and its meaning in a word or two.
    width
        Of the drawing [units].
    """
    places, x, y = [], 8.0, 12.0
    for state, said in states:
        need = 22 + breadth(said) + 10
        if x + need > width and x > 8:
            x, y = 8.0, y + 20
        places.append((state, said, x, y))
        x += need
    root = drawing(width, y + 10, "what the shapes mean")
    for state, said, left, line in places:
        mark(root, state, left + 5, line)
        text(root, (left + 16, line + 4), said)
    return markup(root)

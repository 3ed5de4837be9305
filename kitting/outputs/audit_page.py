"""The audit as one page with drawings: what was forgotten, how often, and what to change."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from kitting.outputs.audit import better
from kitting.outputs.drawing import NARROW, WIDE, drawing, markup, put, text, title
from kitting.outputs.pages import page
from kitting.outputs.sureness import percent
from kitting.outputs.text import long_day, plural
from kitting.terms.money import show_cents

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date
    from xml.etree.ElementTree import Element

    from markupsafe import Markup

Document = dict[str, Any]
ASPECTS = (("cause", "Why"), ("part", "Which parts"), ("joint", "At which joints"))
_MOST, _STEP = 12, 22.0
_BUILDS = 40


def audit_page(document: Document, shop: str, day: date) -> str:
    """Return the page.

    Parameters
    ----------
    document
        From ``audit_document``, with ``changes``.
    shop
        Name of the shop.
    day
        Day of the audit.
    """
    currency = document["currency"]
    progress = document["progress"]
    return page(
        "audit.html",
        shop=shop,
        day=long_day(day.isoformat()),
        document=document,
        total=document["all"][0] if document["all"] else None,
        missed=[row for row in document["caught"] if not row["caught"]],
        builds=[over_builds(document["trend"], width) for width in (WIDE, NARROW)],
        better=better(progress) if progress else "",
        rankings=[
            (heading, [ranking(document[f"by_{name}"], width) for width in (WIDE, NARROW)])
            for name, heading in ASPECTS
        ],
        proposals=document["changes"]["proposals"],
        held_back=document["changes"]["back_test"],
        percent=percent,
        money=lambda cents: show_cents(cents, currency),
    )


def over_builds(trend: Sequence[Document], width: int) -> Markup | None:
    """Draw each finished build with a ring for each forgotten part, and the mean of five builds.

    Parameters
    ----------
    trend
        Rows of table ``trend``; the last forty are drawn.
    width
        Of the drawing [units].
    """
    rows = list(trend)[-_BUILDS:]
    if not rows:
        return None
    most = max(row["events"] for row in rows)
    each = (width - 20) / len(rows)
    step = min(16.0, 160 / max(most, 1))
    floor = 16 + max(most, 1) * step
    root = drawing(width, floor + 34, "forgotten parts of each finished build, first to last")
    put(root, "line", "string", x1=8.0, y1=floor + 4, x2=width - 8.0, y2=floor + 4)
    points = []
    for n, row in enumerate(rows):
        x = 10 + (n + 0.5) * each
        column = put(root, "g", "mark late")
        title(column, f"{row['build']}: {row['events']} forgotten")
        for k in range(row["events"]):
            radius = min(step, each) * 0.38
            put(column, "circle", cx=x, cy=floor - (k + 0.5) * step + 2, r=radius)
        points.append(f"{x:.1f},{floor - row['recent'] * step + 2:.1f}")
        _build_name(root, x, floor + 18, row, n, each)
    put(root, "polyline", "mean", points=" ".join(points))
    return markup(root)


def _build_name(root: Element, x: float, y: float, row: Document, n: int, each: float) -> None:
    """Write a build's name where there is room for it."""
    every = int(62 // each) + 1
    if n % every == 0:
        text(root, (max(x - 20, 2), y), row["build"], "small", each * every)
        text(root, (max(x - 20, 2), y + 13), f"{row['finished']:%b %Y}", "small")


def ranking(rows: Sequence[Document], width: int) -> Markup | None:
    """Draw how often each was forgotten, worst first, and on what share of the builds.

    A bar is the number of times; the figure behind it is the running share of all. The dot is the
    share of builds that could have forgotten it, the line its 95 % interval.

    Parameters
    ----------
    rows
        Rows of table ``tally`` for one aspect; the first twelve are drawn.
    width
        Of the drawing [units].
    """
    rows = list(rows)[:_MOST]
    if not rows:
        return None
    slim = width < WIDE
    names, bars, rates = (0.0, 0.0, 205.0) if slim else (0.0, 330.0, 590.0)
    lift = 15.0 if slim else 0.0
    step = _STEP + lift
    right = width - 12.0
    root = drawing(width, 22 + len(rows) * step + 6, "how often each was forgotten")
    _scale(root, rates, right, len(rows) * step + 20)
    most = max(row["events"] for row in rows)
    long = (rates - bars - 62) / most
    for n, row in enumerate(rows):
        y = 32 + n * step
        said = f"{row['name']}: {row['label']}" if row["label"] else row["name"]
        room = width - 10 if slim else bars - 12
        text(root, (names, y), said, "", room)
        line = y + lift
        put(root, "rect", "bar late", x=bars + 1, y=line - 9, width=row["events"] * long, height=11)
        after = bars + row["events"] * long + 6
        text(root, (after, line), f"{row['events']} ({100 * row['running']:.0f} %)", "small")
        _interval(root, row, line - 4, rates, right)
    return markup(root)


def _scale(root: Element, left: float, right: float, bottom: float) -> None:
    """Draw the scale of shares."""
    for share in (0.0, 0.5, 1.0):
        x = left + share * (right - left)
        put(root, "line", "tick", x1=x, y1=16.0, x2=x, y2=bottom)
        end = "end" if share == 1.0 else ""
        text(root, (x, 12), f"{100 * share:.0f} %", f"small {end}".strip())


def _interval(root: Element, row: Document, y: float, left: float, right: float) -> None:
    """Draw a share of builds and its interval."""
    if row["rate"] is None:
        return
    low, rate, high = (left + row[name] * (right - left) for name in ("low", "rate", "high"))
    put(root, "line", "promised", x1=low, y1=y, x2=high, y2=y)
    dot = put(root, "circle", "needed", cx=rate, cy=y, r=4.0)
    title(dot, f"{row['builds']} of {plural(row['could'], 'build', 'builds')}")

"""Small pieces of terminal text that several pages use: 80 columns, cut words, days."""

from __future__ import annotations

import textwrap
from datetime import date
from typing import TYPE_CHECKING

import click

from kitting.terms.words import Level

if TYPE_CHECKING:
    from collections.abc import Iterator

WIDTH = 80
# Colour never stands alone: each level has its own word in front.
_LEVELS = {Level.STOP: ("STOP", "red"), Level.WARN: ("warn", "yellow"), Level.NOTE: ("note", None)}


def leveled(level: str, text: str) -> Iterator[str]:
    """Wrap a finding under its level's word."""
    word, colour = _LEVELS[Level(level)]
    first, *rest = wrapped(f"  {word:4} {text}", 7)
    yield first.replace(word, click.style(word, fg=colour), 1)
    yield from rest


def wrapped(text: str, indent: int) -> Iterator[str]:
    """Wrap a text to 80 columns; its own leading spaces indent the first line."""
    start = len(text) - len(text.lstrip())
    yield from textwrap.wrap(
        text.strip(), WIDTH, initial_indent=" " * start, subsequent_indent=" " * indent
    )


def fit(text: str, width: int, align: str = "<") -> str:
    """Pad or cut a text to a width; a cut shows as ``~``."""
    cut = text if len(text) <= width else text[: width - 1] + "~"
    return f"{cut:{align}{width}}"


def middle(text: str, width: int) -> str:
    """Pad a text, or cut its middle out: sizes stand at the end of a name as often as kinds."""
    if len(text) <= width:
        return f"{text:{width}}"
    tail = width // 2 - 1
    return f"{text[: width - tail - 1]}~{text[-tail:]}"


def plural(number: float, one: str, many: str) -> str:
    """Write ``1 part``, ``2 parts`` or ``1.5 hours``."""
    written = f"{number:g}" if isinstance(number, float) else str(number)
    return f"{written} {one if number == 1 else many}"


def long_day(day: str | None) -> str:
    """Write an ISO day as ``Mon 9 Mar 2026``; ``no day`` when blank."""
    if day is None:
        return "no day"
    parsed = date.fromisoformat(day)
    return f"{parsed:%a} {parsed.day} {parsed:%b %Y}"


def short_day(day: str | None) -> str:
    """Write an ISO day as ``Mon 9 Mar``; ``?`` when blank."""
    if day is None:
        return "?"
    parsed = date.fromisoformat(day)
    return f"{parsed:%a} {parsed.day} {parsed:%b}"

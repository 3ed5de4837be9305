"""The nearest names to one that is unknown."""

from __future__ import annotations

import difflib
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable


def nearest(name: str, known: Iterable[str], most: int = 3) -> str:
    """Return ``"; nearest: a, b"`` for an error message, or ``""`` when nothing is near."""
    by_fold = {k.casefold(): k for k in known}
    close = difflib.get_close_matches(name.casefold(), list(by_fold), n=most, cutoff=0.5)
    return f"; nearest: {', '.join(by_fold[c] for c in close)}" if close else ""

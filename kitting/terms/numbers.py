"""Part numbers: text that must survive, and the folded key that finds look-alikes."""

from __future__ import annotations

import unicodedata


def fold(number: str) -> str:
    """Fold case, spaces and dashes away, to compare two part numbers.

    The result proposes that two numbers may be one; it is never used to merge them.
    """
    text = unicodedata.normalize("NFKC", number).casefold()
    return "".join(c for c in text if c.isalnum())

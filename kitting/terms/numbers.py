"""Part numbers: text that must survive, and the folded key that finds look-alikes."""

from __future__ import annotations

import unicodedata

_ALIKE = str.maketrans(
    "АВЕКМНОРСТУХІЈЅасеорхуіјѕΑΒΕΖΗΙΚΜΝΟΡΤΥΧο",  # noqa: RUF001 - Cyrillic and Greek
    "ABEKMHOPCTYXIJSaceopxyijsABEZHIKMNOPTYXo",
)


def fold(number: str) -> str:
    """Fold away case, spaces, dashes and letters of other alphabets that look like Latin ones.

    The result proposes that two numbers may be one; it is never used to merge them.
    """
    text = unicodedata.normalize("NFKC", number).translate(_ALIKE).casefold()
    return "".join(c for c in text if c.isalnum())

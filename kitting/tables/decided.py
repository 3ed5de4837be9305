"""What people decided on proposals, as it stands."""

from __future__ import annotations

from typing import TYPE_CHECKING

from kitting.terms.words import Decision

if TYPE_CHECKING:
    import pandas as pd

    from kitting.terms.words import Lesson


def last_accepted(decided: pd.DataFrame, lesson: Lesson) -> pd.DataFrame:
    """Return the decisions of one lesson that stand: of each part the last, if it was accepted.

    Parameters
    ----------
    decided
        Table ``proposals``.
    lesson
        Such as keep on the shelf, or look at the bin.
    """
    last = decided[decided["lesson"] == lesson].drop_duplicates("part", keep="last")
    return last[last["decision"] == Decision.ACCEPTED]

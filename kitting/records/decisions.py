"""What a person decided on proposals: written together with the sheets that it changes."""

from __future__ import annotations

from typing import TYPE_CHECKING

from kitting.errors import InputError
from kitting.records.rows import add_rows, frame_of, kept_rows, rows_of
from kitting.records.sheets import apply
from kitting.tables.audit import PROPOSALS

if TYPE_CHECKING:
    from collections.abc import Mapping

    import pandas as pd

    from kitting.records.opening import Records


def decide(
    records: Records, decision: pd.DataFrame, frames: Mapping[str, pd.DataFrame]
) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Write a decision and the sheets that it changes, in one transaction.

    Parameters
    ----------
    decision
        One row of table ``proposals``; its number and what changed are filled in here.
    frames
        Frames of ``tables.shop`` as they are from now on; empty when nothing changes.

    Returns
    -------
    DataFrame, DataFrame
        The decision as written, and table ``changes``.

    Raises
    ------
    InputError
        When nobody signs, no reason is given, or a text cannot be kept.
    TableError
        When a frame breaks its contract.
    """
    (row,) = decision.to_dict("records")
    if not row["by"].strip() or not row["reason"].strip():
        raise InputError("say who decides and why: --by NAME --reason TEXT")
    with records.writing() as hand:
        ((last,),) = hand.rows("SELECT COALESCE(MAX(proposal), 0) FROM proposals")
        told = apply(records, frames, row["day"].date(), row["by"], row["reason"])
        change = "; ".join(
            f"{sheet} {what}: {which}" + (f" ({detail})" if detail else "")
            for sheet, what, which, detail in told.itertuples(index=False, name=None)
        )
        written = decision.assign(proposal=int(last) + 1, change=change)
        add_rows(hand, PROPOSALS.name, PROPOSALS.names, rows_of(PROPOSALS, written))
    return written, told


def decided(records: Records) -> pd.DataFrame:
    """Return table ``proposals``: every decision, in order."""
    with records.reading() as hand:
        return frame_of(PROPOSALS, kept_rows(hand, PROPOSALS))

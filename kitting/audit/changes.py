"""An accepted proposal as new rows of the shop's sheets."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pandas as pd

from kitting.errors import KittingError
from kitting.tables.audit import PROPOSALS
from kitting.tables.shop import LINES, OFFERS, PARTS
from kitting.terms.words import Lesson

if TYPE_CHECKING:
    from datetime import date

    from kitting.tables.shop import Shop
    from kitting.terms.words import Decision


def changed_sheets(
    shop: Shop, proposal: pd.Series[Any], by: str, day: date
) -> dict[str, pd.DataFrame]:
    """Return the sheets as they are once a proposal is carried out.

    A line or a spare becomes a row of ``lines``, a count another quantity there; ordering sooner
    lengthens the lead time of the supplier's offers of the part. What is to be kept on the shelf
    or looked at changes no sheet. A part that the shop does not hold yet gets a row of ``parts``.

    Parameters
    ----------
    shop
        The shop.
    proposal
        A row of table ``proposed``.
    by, day
        Who accepts it, and when: the source of a new line.

    Raises
    ------
    KittingError
        When the sheets no longer hold what it would change.
    """
    match proposal["lesson"]:
        case Lesson.ADD_LINE | Lesson.CARRY_SPARE:
            return _with_line(shop, proposal, f"{by}, {day.isoformat()}")
        case Lesson.RAISE_COUNT:
            return _raised(shop, proposal, f"{by}, {day.isoformat()}")
        case Lesson.ORDER_SOONER:
            return _sooner(shop, proposal)
    return {}


def _with_line(shop: Shop, proposal: pd.Series[Any], source: str) -> dict[str, pd.DataFrame]:
    lines, parts = shop["lines"], shop["parts"]
    spare = proposal["lesson"] == Lesson.CARRY_SPARE
    joint = "" if spare else proposal["joint"]
    new = {
        "line": int(lines["line"].max()) + 1 if len(lines) else 1,
        "assembly": proposal["assembly"],
        "stage": proposal["stage"],
        "joint": joint,
        "role": "" if spare else proposal["role"],
        "part": proposal["part"],
        "quantity": int(proposal["quantity"]),
        "unit": proposal["unit"],
        "when": _when(shop, proposal) if spare else "",
        "source": source,
        "note": f"{'spare; ' if spare else ''}{proposal['evidence']}",
    }
    frames = {"lines": _appended(LINES, lines, new)}
    if proposal["part"] not in set(parts["part"]):
        row = {c.name: "" for c in PARTS.columns} | {
            "part": proposal["part"],
            "unit": proposal["unit"],
            "shelf_days": pd.NA,
            "open_days": pd.NA,
            "customer_supplied": False,
        }
        frames["parts"] = _appended(PARTS, parts, row)
    return frames


def _when(shop: Shop, proposal: pd.Series[Any]) -> str:
    """Return the conditions of the joint that a spare is for."""
    joints = shop["joints"]
    here = (joints["assembly"] == proposal["assembly"]) & (joints["joint"] == proposal["joint"])
    return str(joints.loc[here, "when"].iloc[0]) if here.any() else ""


def _appended(table: Any, frame: pd.DataFrame, row: dict[str, Any]) -> pd.DataFrame:
    one = pd.DataFrame([row]).astype({c.name: c.dtype for c in table.columns})
    made: pd.DataFrame = table.conform(pd.concat([frame, one], ignore_index=True))
    return made


def _raised(shop: Shop, proposal: pd.Series[Any], source: str) -> dict[str, pd.DataFrame]:
    lines = shop["lines"]
    here = pd.Series(True, index=lines.index)
    for column in ("assembly", "stage", "joint", "part"):
        here &= lines[column] == proposal[column]
    if not here.any():
        return _with_line(shop, proposal, source)
    changed = lines.copy()
    changed.loc[here, "quantity"] = int(proposal["quantity"])
    note = f"raised by {source}: {proposal['evidence']}"
    changed.loc[here, "note"] = [f"{old}; {note}" if old else note for old in lines[here]["note"]]
    return {"lines": LINES.conform(changed)}


def _sooner(shop: Shop, proposal: pd.Series[Any]) -> dict[str, pd.DataFrame]:
    offers = shop["offers"]
    here = offers["part"] == proposal["part"]
    if proposal["supplier"]:
        here &= offers["supplier"] == proposal["supplier"]
    if not here.any():
        raise KittingError(
            f"nobody offers {proposal['part']}"
            + (f" at {proposal['supplier']}" if proposal["supplier"] else "")
            + "; add the offer first, or reject the proposal"
        )
    changed = offers.copy()
    changed.loc[here, "lead_days"] = offers.loc[here, "lead_days"] + int(proposal["days"])
    return {"offers": OFFERS.conform(changed)}


def decision(
    proposal: pd.Series[Any], answer: Decision, by: str, reason: str, day: date
) -> pd.DataFrame:
    """Return one row of table ``proposals``: what a person decided on a proposal.

    Parameters
    ----------
    proposal
        A row of table ``proposed``.
    answer
        Accepted or rejected.
    by, reason, day
        Who, why and when.
    """
    row = pd.DataFrame([proposal.to_dict()]).assign(
        day=pd.Timestamp(day), by=by, decision=str(answer), reason=reason, change=""
    )
    made: pd.DataFrame = PROPOSALS.check(PROPOSALS.conform(row))
    return made


def new_rows(before: pd.DataFrame, after: pd.DataFrame) -> pd.DataFrame:
    """Return the rows of a sheet that were not there before, or otherwise."""
    old = set(before.astype("str").itertuples(index=False, name=None))
    new = [row not in old for row in after.astype("str").itertuples(index=False, name=None)]
    found: pd.DataFrame = after[new]
    return found

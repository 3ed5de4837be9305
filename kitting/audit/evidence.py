"""What today's bill says about the parts that were forgotten, looked up by build and part."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import pandas as pd

from kitting.tables.catalogs import Catalogs
from kitting.terms.words import Fits, Level, StandInKind

if TYPE_CHECKING:
    from kitting.tables.shop import Shop

Pair = tuple[str, str]
_WORD = re.compile(r"[a-z0-9]+")
_PAIR = ["build", "part"]
# This check reads what past builds noted: it would find an entry by the entry itself.
_HINDSIGHT = "used before"


@dataclass(frozen=True, slots=True)
class Row:
    """How much is asked for, or was used, at one place; ``asked`` is the part by whose name."""

    stage: str
    joint: str
    asked: str
    quantity: int


@dataclass(frozen=True, slots=True)
class Empty:
    """A role that nothing fills; ``usual`` is what usually does."""

    joint: str
    role: str
    usual: str

    def suits(self, family: str) -> bool:
        """Tell whether every word of a part's family stands in what usually fills the role."""
        wanted = _words(family)
        return bool(wanted) and wanted <= _words(self.usual)


@dataclass(frozen=True, slots=True)
class Evidence:
    """What is known about forgotten parts.

    Parameters
    ----------
    lines, used
        What today's bill asks for, and what was used, by build and part.
    surplus
        Sets and what they bring beyond the bill's own lines, by build and part.
    empty
        Empty roles that stop or warn without looking at past builds, by build and stage.
    spares
        Spares that the rules advise, and why, by build and part.
    orders
        Day to order with confidence, and day of the order on record, by build and part.
    """

    lines: dict[Pair, list[Row]]
    used: dict[Pair, list[Row]]
    surplus: dict[Pair, list[tuple[str, int]]]
    empty: dict[Pair, list[Empty]]
    spares: dict[Pair, tuple[int, str]]
    orders: dict[Pair, tuple[pd.Timestamp, pd.Timestamp]]


@dataclass(frozen=True)
class Also:
    """What today's plan would say besides the bill.

    Parameters
    ----------
    spares
        Table ``spares`` for the past builds.
    orders
        Table ``past_orders``.
    """

    spares: pd.DataFrame
    orders: pd.DataFrame


def gather(
    events: pd.DataFrame,
    shop: Shop,
    required: pd.DataFrame,
    gaps: pd.DataFrame,
    kinds: pd.DataFrame | Catalogs,
    also: Also | None = None,
) -> Evidence:
    """Collect what concerns the forgotten parts, and nothing else.

    Parameters
    ----------
    events
        Forgotten parts, from ``counted``.
    shop
        Reads ``sets``, ``stand_ins``, ``joints`` and ``used``.
    required, gaps
        Tables of those names for the past builds.
    kinds
        Table ``joint_kinds``, or the catalogs that hold it.
    also
        Spares and days to order, if known.
    """
    pairs = events[_PAIR].drop_duplicates()
    required = required[required["build"].isin(pairs["build"])]
    used = shop["used"].assign(asked=shop["used"]["part"])
    return Evidence(
        lines=_rows(_asked(pairs, required, shop["stand_ins"])),
        used=_rows(used.merge(pairs, on=_PAIR)),
        surplus=_surplus(pairs, required, shop["sets"]),
        empty=_empty(gaps, shop["joints"], kinds.kinds if isinstance(kinds, Catalogs) else kinds),
        spares=_pairs(also.spares, "spare", "why") if also else {},
        orders=_pairs(also.orders, "order_by", "ordered") if also else {},
    )


def _pairs(frame: pd.DataFrame, one: str, other: str) -> dict[Pair, Any]:
    """Index two columns by build and part."""
    rows = frame[[*_PAIR, one, other]].itertuples(index=False, name=None)
    return {(build, part): tuple(cells) for build, part, *cells in rows}


def _rows(frame: pd.DataFrame) -> dict[Pair, list[Row]]:
    """Index rows by build and part, summed by place."""
    places = ["build", "part", "stage", "joint", "asked"]
    sums = frame.groupby(places, sort=False)["quantity"].sum()
    found: dict[Pair, list[Row]] = {}
    for place, quantity in sums.items():
        build, part, *where = _texts(place)
        found.setdefault((build, part), []).append(Row(where[0], where[1], where[2], int(quantity)))
    return found


def _texts(key: Any) -> tuple[str, ...]:
    return tuple(key)


def _asked(pairs: pd.DataFrame, required: pd.DataFrame, stand_ins: pd.DataFrame) -> pd.DataFrame:
    """Return what is asked for of each forgotten part, or of parts for which it may serve.

    Quantities are in units of the forgotten part, rounded down.
    """
    alternate = stand_ins[stand_ins["kind"] == str(StandInKind.ALTERNATE)]
    own = pairs[["part"]].drop_duplicates()
    serves = pd.concat(
        [
            own.assign(asked=own["part"], times=1, over=1),
            pd.DataFrame(
                {
                    "part": stand_ins["stand_in"],
                    "asked": stand_ins["part"],
                    "times": stand_ins["take"],
                    "over": stand_ins["give"],
                }
            ),
            pd.DataFrame(
                {
                    "part": alternate["part"],
                    "asked": alternate["stand_in"],
                    "times": alternate["give"],
                    "over": alternate["take"],
                }
            ),
        ]
    ).drop_duplicates(["part", "asked"])
    serves = serves[serves["part"].isin(own["part"])]
    asked = required.loc[
        required["part"].isin(serves["asked"]), ["build", "stage", "joint", "part", "quantity"]
    ]
    found = asked.rename(columns={"part": "asked"}).merge(serves, on="asked").merge(pairs, on=_PAIR)
    return found.assign(quantity=found["quantity"] * found["times"] // found["over"])


def _surplus(
    pairs: pd.DataFrame, required: pd.DataFrame, sets: pd.DataFrame
) -> dict[Pair, list[tuple[str, int]]]:
    """Return what sets of the bill contain of forgotten parts, less what lines take from them."""
    inside = sets[(sets["fits"] != str(Fits.DO_NOT_FIT)) & sets["part"].isin(pairs["part"])]
    inside = inside.groupby(["set", "part"], as_index=False)["quantity"].sum()
    there = required.loc[required["part"].isin(inside["set"]), ["build", "part", "quantity"]]
    there = there.groupby(_PAIR, as_index=False)["quantity"].sum()
    there = there.rename(columns={"part": "set", "quantity": "sets"})
    brought = there.merge(inside, on="set").merge(pairs, on=_PAIR)
    taken = required[required["from_set"].isin(inside["set"])]
    taken = taken.groupby(["build", "from_set", "part"], as_index=False)["quantity"].sum()
    taken = taken.rename(columns={"from_set": "set", "quantity": "taken"})
    both = brought.merge(taken, on=["build", "set", "part"], how="left")
    left = both["sets"] * both["quantity"] - both["taken"].fillna(0)
    found: dict[Pair, list[tuple[str, int]]] = {}
    for build, part, name, quantity in zip(
        both["build"], both["part"], both["set"], left, strict=True
    ):
        found.setdefault((build, part), []).append((name, max(int(quantity), 0)))
    return found


def _empty(
    gaps: pd.DataFrame, joints: pd.DataFrame, kinds: pd.DataFrame
) -> dict[Pair, list[Empty]]:
    """Index the empty roles that stop or warn by build and stage, those told by hindsight not."""
    loud = gaps["level"].isin([str(Level.STOP), str(Level.WARN)])
    loud = gaps[loud & (gaps["check"] != _HINDSIGHT)]
    kind = joints[["assembly", "joint", "kind"]]
    usual = kinds[["kind", "role", "usual"]]
    rows = loud.merge(kind, on=["assembly", "joint"], how="left")
    rows = rows.merge(usual, on=["kind", "role"], how="left")
    rows["usual"] = rows["usual"].fillna("")
    found: dict[Pair, list[Empty]] = {}
    for build, stage, *rest in rows[["build", "stage", "joint", "role", "usual"]].itertuples(
        index=False, name=None
    ):
        found.setdefault((build, stage), []).append(Empty(*rest))
    return found


def _words(text: str) -> set[str]:
    """Return the words of a text, without plural endings."""
    words = _WORD.findall(text.casefold())
    return {w[:-1] if len(w) > 3 and w.endswith("s") and w[-2] != "s" else w for w in words}

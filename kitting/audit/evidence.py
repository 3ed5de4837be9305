"""What today's bill says about the parts that were forgotten, looked up by build and part."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, NamedTuple

import pandas as pd

from kitting.audit.miscounted import miscounted
from kitting.audit.since import bill_then
from kitting.tables.catalogs import Catalogs
from kitting.terms.conditions import split_list
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


class Sent(NamedTuple):
    """How a part that came late was ordered; days that are not known are ``NaT``.

    Parameters
    ----------
    order_by, ordered
        Day to order with the shop's confidence, and the day on which it was ordered.
    promised
        Day of its first promise.
    chance
        Chance, by today's lead times, that what was promised for that day is in time; NaN = not
        known.
    doubtful
        The chance is below the shop's confidence.
    """

    order_by: pd.Timestamp
    ordered: pd.Timestamp
    promised: pd.Timestamp
    chance: float
    doubtful: bool


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
        Days of the order on record, and its chance, by build and part.
    sizes
        Joints for which the part is one of the sizes to choose from by measuring.
    then
        What the bill of that day said, in words, by entry.
    counts
        What a count before the build would have shown, in words.
    """

    lines: dict[Pair, list[Row]]
    used: dict[Pair, list[Row]]
    surplus: dict[Pair, list[tuple[str, int]]]
    empty: dict[Pair, list[Empty]]
    spares: dict[Pair, tuple[int, str]]
    orders: dict[Pair, Sent]
    sizes: dict[Pair, list[str]]
    then: dict[int, str]
    counts: dict[Pair, str]


@dataclass(frozen=True)
class Also:
    """What today's plan would say besides the bill, and what the bill said then.

    Parameters
    ----------
    spares
        Table ``spares`` for the past builds.
    orders
        Table ``past_orders``.
    history
        Table ``line_history``; ``None`` = not known.
    """

    spares: pd.DataFrame
    orders: pd.DataFrame
    history: pd.DataFrame | None = None


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
        orders={k: Sent(*v) for k, v in _pairs(also.orders, *Sent._fields).items()} if also else {},
        sizes=_sizes(pairs, shop, required),
        then=bill_then(events, shop, also.history) if also and also.history is not None else {},
        counts=miscounted(pairs, shop),
    )


def _pairs(frame: pd.DataFrame, *columns: str) -> dict[Pair, Any]:
    """Index some columns by build and part."""
    rows = frame[[*_PAIR, *columns]].itertuples(index=False, name=None)
    return {(build, part): tuple(cells) for build, part, *cells in rows}


def _sizes(pairs: pd.DataFrame, shop: Shop, required: pd.DataFrame) -> dict[Pair, list[str]]:
    """Return the joints of each build for which a part is one of the sizes to choose from."""
    measured, parts = shop["measured"], shop["parts"]
    if measured.empty:
        return {}
    family = dict(zip(parts["part"], parts["family"].str.casefold().str.strip(), strict=True))
    holds = required[["build", "assembly"]].drop_duplicates()
    found: dict[Pair, list[str]] = {}
    for build, part, assembly in pairs.merge(holds, on="build").itertuples(index=False, name=None):
        for row in measured[measured["assembly"] == assembly].itertuples(index=False):
            of_family = not row.parts and row.family.casefold().strip() == family.get(part)
            if part in split_list(row.parts) or of_family:
                found.setdefault((build, part), []).append(row.joint)
    return found


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

"""Netting of frames: needs against supply, the part itself first and then its stand-ins."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from kitting.netting.cover import Cover, Covering, Pair, Tier
from kitting.netting.lend import lend
from kitting.netting.match import Lots, Wants, match
from kitting.netting.ranks import sorted_rows
from kitting.netting.stand_ins import ways
from kitting.tables.flow import PICKS, SHORTAGES
from kitting.terms.words import LENT_ROLES, InKit

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Whole = NDArray[np.int64]


def net(
    needs: pd.DataFrame,
    supply: pd.DataFrame,
    stand_ins: pd.DataFrame,
    builds: pd.DataFrame | None = None,
) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Give each need its supply; nothing that is used up is promised twice.

    1. *Order.* Needs are served by priority (1 first), day and need number. A need without a day
       counts as on the last day that any need or supply begins.
    2. *What fits.* A lot or order serves a need of its part when ``from_day <= day <= use_by``
       (a blank ``use_by`` is no limit), and when it is held for the need's build or for nobody,
       and when it is the shop's own, the build's customer's, or held for the build.
    3. *Which first.* Before all else, what is in the kit of a stage serves that stage, by its own
       part and as a stand-in; what was fitted serves nothing else. Then a need takes what is held
       for its build (with what its kits hold beyond their stages), then what its customer owns,
       then what is free. Among each of these: the soonest to spoil, the earliest ``from_day``, the
       shelf before an order, the least supply number.
    4. *Stand-ins.* When every need has had its own part's supply, priority by priority, each part's
       first stand-in serves what is still missing, then its second, and so on, again by steps 1 to
       3; within one priority and place in the row, pairs of one ratio are served together, the
       smallest ``take`` first, then the smallest ``give``. A part's stand-ins are tried
       superseding parts before alternates, near before far along a row of supersessions, then by
       part number. ``take`` units of the stand-in cover ``give`` of the part: a pick holds whole
       multiples of both (in lowest terms), never a fraction of a piece.

    5. *Tools.* A need of role ``tool`` or ``figure`` is given a lot for its stage and puts it
       back. Tools come after all that is used up; each takes by steps 1 to 4 as if it were the
       only one, so that one lot serves any number of tool needs, on the same day too.

    For one part and one priority, with nothing held and no tools, the covered quantity is the
    greatest possible (Glover 1967, convex bipartite matching).

    Parameters
    ----------
    needs
        Table ``needs``.
    supply
        Table ``supply``.
    stand_ins
        Table ``stand_ins``.
    builds
        Table ``builds``, for whose customers' parts serve; ``None`` when nobody owns any.

    Returns
    -------
    picks, shortages
        Tables ``picks`` (by need number, in the order taken) and ``shortages`` (by need number,
        with the quantity that remains) [base units].
    """
    needs = _by_number(needs, needs["need"].to_numpy(np.int64))
    ordered = supply["order"].to_numpy(object) != ""
    supply = _by_number(supply, ordered.astype(np.int64), supply["supply"].to_numpy(np.int64))
    both = np.concatenate([needs["part"].to_numpy(object), supply["part"].to_numpy(object)])
    codes, parts = pd.factorize(both)
    part = codes.astype(np.int64)
    first, last, day = _days(supply["from_day"], supply["use_by"], needs["day"])
    covering = Covering(
        Wants(part[: len(needs)], _whole(needs, "priority"), day, _whole(needs, "quantity")),
        Lots(part[len(needs) :], first, last, _whole(supply, "quantity")),
    )
    kits, others = _kits(needs, supply), _tiers(needs, supply, builds)
    tools = needs["role"].isin(LENT_ROLES).to_numpy(bool)
    used, lent = np.flatnonzero(~tools), np.flatnonzero(tools)
    for rows, sharing, tiers in ((used, match, kits), (used, match, others), (lent, lend, others)):
        if not tiers:
            continue
        covering.own(rows, sharing, tiers)
        short = np.zeros(len(parts), bool)
        short[part[rows][covering.left[rows] > 0]] = True
        pairs = _pairs(stand_ins, parts[short].tolist(), parts)
        covering.stand_ins((rows, tiers), sharing, pairs, len(parts))
    return _picks(needs, supply, covering.result()), _shortages(needs, covering.left)


def _by_number(frame: pd.DataFrame, *keys: Whole) -> pd.DataFrame:
    """Return the rows in the order of the keys; the frame itself when they stand so."""
    rows = sorted_rows(*keys)
    return frame if np.array_equal(rows, np.arange(len(frame))) else frame.iloc[rows]


def _whole(frame: pd.DataFrame, column: str) -> Whole:
    numbers: Whole = frame[column].to_numpy(np.int64)
    return numbers


def _days(first: pd.Series, last: pd.Series, need: pd.Series) -> tuple[Whole, Whole, Whole]:
    """Return the three as day numbers; blanks become a day beyond all, or the last beginning."""
    blank = np.iinfo(np.int64).min
    begins, ends, days = (
        column.to_numpy("datetime64[D]").astype(np.int64) for column in (first, last, need)
    )
    latest = max(int(side.max(initial=0)) for side in (begins, days))
    beyond = 1 + max(latest, int(ends.max(initial=0)))
    return (
        np.where(begins == blank, beyond, begins),
        np.where(ends == blank, beyond, ends),
        np.where(days == blank, latest, days),
    )


def _kits(needs: pd.DataFrame, supply: pd.DataFrame) -> list[Tier]:
    """Return what is in kits, for the stages that it is in the kits of."""
    in_kit = supply["kit"].to_numpy(object) != ""
    if not in_kit.any():
        return []
    stage = ["assembly", "stage"]
    lots = pd.MultiIndex.from_frame(supply.loc[in_kit, ["held_for", *stage]])
    kits = lots.unique()
    of_lot = np.full(len(supply), -1)
    of_lot[in_kit] = kits.get_indexer(lots)
    of_need = kits.get_indexer(pd.MultiIndex.from_frame(needs[["build", *stage]]))
    return [Tier(of_lot, of_need.astype(np.int64))]


def _tiers(needs: pd.DataFrame, supply: pd.DataFrame, builds: pd.DataFrame | None) -> list[Tier]:
    """Return what is held for builds, what their customers own, and what is free."""
    held_for, owner = supply["held_for"], supply["owner"]
    fitted = supply["kit"] == InKit.FITTED
    held = (held_for != "") & ~fitted
    owned = (held_for == "") & (owner != "")
    tiers = []
    if held.any():
        tiers.append(_tier(held_for, held, needs["build"]))
    if owned.any() and builds is not None:
        customer = builds.set_index("build")["customer"]
        tiers.append(_tier(owner, owned, needs["build"].map(customer).fillna("")))
    free = (held_for == "") & (owner == "")
    return [*tiers, Tier(np.where(free, 0, -1), None)]


def _tier(names: pd.Series, which: pd.Series, asked: pd.Series) -> Tier:
    """Give some lots and all needs the codes of what the lots are kept by."""
    codes = pd.Index(names[which].unique())
    of_lot = np.where(which, codes.get_indexer(names), -1)
    return Tier(of_lot.astype(np.int64), codes.get_indexer(asked).astype(np.int64))


def _pairs(stand_ins: pd.DataFrame, short: list[str], parts: NDArray[np.object_]) -> list[Pair]:
    """Return the stand-ins of the parts that are short, as codes of parts that are there at all."""
    found = ways(stand_ins, short)
    if not found:
        return []
    code = {name: number for number, name in enumerate(parts.tolist())}
    return [
        Pair(code[part], code[way.stand_in], rank, way.take, way.give)
        for part, tried in found.items()
        for rank, way in enumerate(tried)
        if way.stand_in in code
    ]


def _picks(needs: pd.DataFrame, supply: pd.DataFrame, cover: Cover) -> pd.DataFrame:
    """Return what was covered as the table ``picks``."""
    rows = sorted_rows(cover.want)
    lot = cover.lot[rows]
    columns = {
        "need": _whole(needs, "need")[cover.want[rows]],
        "supply": _whole(supply, "supply")[lot],
        "part": supply["part"].array.take(lot),
        "quantity": cover.quantity[rows],
        "covers": cover.covers[rows],
    }
    return PICKS.conform(pd.DataFrame(columns))


def _shortages(needs: pd.DataFrame, left: Whole) -> pd.DataFrame:
    """Return what remains as the table ``shortages``."""
    rows = np.flatnonzero(left > 0)
    return SHORTAGES.conform(needs.iloc[rows].assign(quantity=left[rows]))

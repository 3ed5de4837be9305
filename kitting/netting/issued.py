"""Issued against fitted: what went into a build's kits, what the bill fits, what is left over."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import pandas as pd

from kitting.netting.late import come_late
from kitting.netting.shelf import expired
from kitting.tables.kits import ISSUED, USED_HERE
from kitting.terms.findings import Finding
from kitting.terms.units import Dimension, show, unit
from kitting.terms.words import LENT_ROLES, Fits, InKit, KitMove, Level

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator
    from datetime import date

    from kitting.tables.shop import Shop


@dataclass(frozen=True)
class Netted:
    """The frames of one netting; contracts in ``tables.flow``."""

    required: pd.DataFrame
    left_overs: pd.DataFrame
    needs: pd.DataFrame
    supply: pd.DataFrame
    picks: pd.DataFrame


def issued(shop: Shop, netted: Netted, build: str) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Set what went into a build's kits against what the bill fits and what is left over.

    Issued is what lies in the kits or was fitted, with what came back; a set counts as its
    contents. Fitted is what the bill asks for, each need by the part that is in the kit for it,
    and what a set holds beyond the bill but is said to be needed. Left over is what came back.
    Issued - fitted - left over is the difference: above zero something is not accounted for,
    below zero more came back than should, or less was picked than the bill asks for. Stages and
    sets of which nothing is in a kit are left out, and tools always.

    Parameters
    ----------
    shop
        Reads ``kitted``, ``kit_moves`` and ``sets``.
    netted
        What was netted, the build among it.
    build
        An open build.

    Returns
    -------
    tuple
        Table ``issued`` by part, and table ``used_here``: what was fitted where.
    """
    sums: dict[str, dict[str, int]] = {c: defaultdict(int) for c in _SUMS}
    _kit_side(shop, netted, build, sums)
    used = list(_fitted(netted, build, sums))
    parts = sorted({part for one in sums.values() for part in one})
    rows = [
        (build, p, *(sums[c][p] for c in _SUMS), sums["issued"][p] - sums["fitted"][p]
         - sums["left_over"][p])
        for p in parts
    ]  # fmt: skip
    table = ISSUED.conform(pd.DataFrame(rows, columns=ISSUED.names)) if rows else ISSUED.empty()
    used += [("", "", "", p, d) for *_, p, _i, _f, _l, d in _positive(rows)]
    frame = USED_HERE.empty()
    if used:
        frame = pd.DataFrame(used, columns=[n for n in USED_HERE.names if n != "build"])
        frame = USED_HERE.conform(frame.assign(build=build))
    return table, frame


_SUMS = ("issued", "fitted", "left_over")


def _positive(rows: Iterable[tuple[Any, ...]]) -> Iterator[tuple[Any, ...]]:
    """Yield the rows whose difference is above zero."""
    return (row for row in rows if row[-1] > 0)


def _contents(netted: Netted, build: str) -> set[str]:
    """Return the sets whose contents serve the build, and which are therefore no parts."""
    required = netted.required
    return set(required.loc[required["build"] == build, "from_set"]) - {""}


def _kit_side(shop: Shop, netted: Netted, build: str, sums: dict[str, dict[str, int]]) -> None:
    """Add what went into the kits and what came back."""
    sets = _contents(netted, build)
    inside = defaultdict(list)
    listed = shop["sets"]
    for name, part, quantity in zip(
        *(listed[c].tolist() for c in ("set", "part", "quantity")), strict=True
    ):
        inside[name].append((part, quantity))
    kitted = shop["kitted"]
    kitted = kitted[kitted["build"] == build]
    for part, quantity in zip(kitted["part"], kitted["quantity"], strict=True):
        if part in sets:
            for content, each in inside[part]:
                sums["issued"][content] += int(quantity) * int(each)
        else:
            sums["issued"][part] += int(quantity)
    moves = shop["kit_moves"]
    moves = moves[moves["build"] == build]
    for part, quantity, what in zip(moves["part"], moves["quantity"], moves["what"], strict=True):
        if what == KitMove.BACK and part not in sets:
            sums["issued"][part] += int(quantity)
        if what in (KitMove.BACK, KitMove.OUT_OF_SET) and part not in sets:
            sums["left_over"][part] += int(quantity)


def _fitted(
    netted: Netted, build: str, sums: dict[str, dict[str, int]]
) -> Iterator[tuple[str, str, str, str, int]]:
    """Add what the bill fits, and yield stage, joint, role, part and quantity of what is there."""
    sets = _contents(netted, build)
    needs = netted.needs[(netted.needs["build"] == build) & ~netted.needs["part"].isin(sets)]
    needs = needs[~needs["role"].isin(LENT_ROLES)]
    kits = netted.supply.loc[netted.supply["kit"] != "", "supply"]
    picks = netted.picks[netted.picks["supply"].isin(kits)]
    taken = picks.merge(needs.drop(columns=["part", "quantity"]), on="need")
    for row in taken.itertuples():
        sums["fitted"][row.part] += int(row.quantity)
        yield row.stage, row.joint, row.role, row.part, int(row.quantity)
    covered = picks.groupby("need")["covers"].sum()
    left = needs["quantity"] - needs["need"].map(covered).fillna(0).astype("int64")
    there = netted.supply[(netted.supply["kit"] != "") & (netted.supply["held_for"] == build)]
    stages = pd.MultiIndex.from_frame(there[["assembly", "stage"]])
    begun = pd.MultiIndex.from_frame(needs[["assembly", "stage"]]).isin(stages)
    for part, lacking in zip(needs["part"][begun], left[begun], strict=True):
        sums["fitted"][part] += int(lacking)
    opened = sets & set(there["part"])
    required = netted.required
    inside = required[(required["build"] == build) & required["from_set"].isin(opened)]
    for row in inside.itertuples():
        sums["fitted"][row.part] += int(row.quantity)
        yield row.stage, row.joint, row.role, row.part, int(row.quantity)
    beyond = netted.left_overs
    beyond = beyond[(beyond["build"] == build) & (beyond["fits"] == Fits.NEEDED)]
    beyond = beyond[beyond["set"].isin(opened)]
    for part, quantity in zip(beyond["part"], beyond["quantity"], strict=True):
        sums["fitted"][part] += int(quantity)


def named(shop: Shop, rows: pd.DataFrame) -> pd.DataFrame:
    """Return the differences that a person must account for: parts that are counted in pieces.

    Parameters
    ----------
    rows
        Table ``issued``.
    """
    units = shop["parts"].set_index("part")["unit"]
    counted = [unit(str(units.get(part, ""))).dimension is Dimension.COUNT for part in rows["part"]]
    return rows[pd.Series(counted, index=rows.index, dtype=bool) & (rows["difference"] != 0)]


def findings(shop: Shop, day: date, netted: Netted, shortages: pd.DataFrame) -> tuple[Finding, ...]:
    """Tell what a person should know of lots, coming orders and kits.

    Lots past their last day, orders that come too late for what is short, parts taken from one
    build's kit for another, kits of finished builds that hold something, and what is not accounted
    for after the left-overs were counted.

    Parameters
    ----------
    shop
        The shop as of ``day``.
    day
        The day of the plan.
    netted
        What was netted.
    shortages
        Table ``shortages``.
    """
    kits: tuple[Finding, ...] = ()
    if len(shop["kitted"]) or len(shop["kit_moves"]):
        kits = (*_robbed(shop), *_forsaken(shop), *_unsquared(shop, netted))
    late = come_late(netted.needs, shortages, netted.supply, netted.picks)
    return (*expired(shop, day), *late, *kits)


def _amount(shop: Shop, part: str, quantity: int) -> str:
    """Write a quantity in the part's unit: ``3 x P``, ``15 ml of P``."""
    units = shop["parts"].set_index("part")["unit"]
    of = unit(str(units.get(part, "")))
    sign = "x" if of.dimension is Dimension.COUNT else f"{of.name} of"
    return f"{show(quantity, of)} {sign} {part}"


def _robbed(shop: Shop) -> Iterator[Finding]:
    """Yield what was taken from one build for another; both are named."""
    moves = shop["kit_moves"]
    for row in moves[moves["what"] == KitMove.TAKEN].itertuples():
        if row.build == row.from_build:
            continue
        by = f" by {row.by}" if row.by else ""
        yield Finding(
            Level.WARN,
            f"{_amount(shop, row.part, int(row.quantity))} taken from the kit of {row.from_build} "
            f"{row.from_stage} for {row.build} {row.stage} on {row.day:%Y-%m-%d}{by}: "
            f"{row.reason}; see that {row.from_build} gets it again in time",
            about=str(row.part),
        )


def _forsaken(shop: Shop) -> Iterator[Finding]:
    """Yield finished builds in whose kits something lies."""
    builds = shop["builds"]
    finished = set(builds.loc[builds["finished"].notna(), "build"])
    kitted = shop["kitted"]
    there = kitted[kitted["build"].isin(finished) & ~kitted["fitted"]]
    for build, parts in there.groupby("build", sort=True)["part"].nunique().items():
        yield Finding(
            Level.NOTE,
            f"its kits still hold {parts} part{'s' if parts > 1 else ''} though it was finished; "
            f"count what is left over: kitting return {build}",
            about=str(build),
        )


def _unsquared(shop: Shop, netted: Netted) -> Iterator[Finding]:
    """Yield what is not accounted for on builds whose left-overs were reconciled."""
    supply = netted.supply
    for build in sorted(set(supply.loc[supply["kit"] == InKit.FITTED, "held_for"])):
        table, _ = issued(shop, netted, build)
        for row in named(shop, table).itertuples():
            yield Finding(Level.WARN, difference_text(shop, row), about=build)


def difference_text(shop: Shop, row: Any) -> str:
    """Say what a difference between issued and fitted means; a row of table ``issued``."""
    part, difference = str(row.part), int(row.difference)
    amount = _amount(shop, part, abs(difference))
    if difference > 0:
        return f"{amount} issued beyond what the bill fits and what came back: find it"
    return f"{amount} of what the bill fits was not in the kits or came back: was it fitted?"

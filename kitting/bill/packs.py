"""Packs with an opened life: which tubes are opened on which day, and whether one is enough.

A part-used tube serves another stage only inside its clock, ``open_days`` of the sheet parts. The
netting of quantities does not see this: two stages that share a tube by volume may lie further
apart than it keeps.
"""

from __future__ import annotations

import re
from collections import defaultdict
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from kitting.bill.containers import MOST, NEVER, Container, Opened, Use, open_containers
from kitting.bill.ways import unit_of
from kitting.tables.flow import CAUTIONS, OPENED
from kitting.terms.units import Dimension, counted, parse_number, to_base
from kitting.terms.words import InKit, Level

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from kitting.tables.shop import Shop
    from kitting.terms.units import Unit

_SOURCE = "open_days of the sheet parts"
# "grey sealant, 80 ml tube" says what one container holds, whatever the pack.
_CONTENT = re.compile(r"(\d+(?:\.\d+)?)\s*(ml|cl|l|g|kg|US fl oz|oz)\b", re.IGNORECASE)
_DAY = "datetime64[D]"
# Tells a lot from every other; the place of a kit is its stage.
_WHERE = ("part", "lot", "place", "held_for", "owner", "assembly", "stage", "kit")

Openings = dict[str, tuple[list[Opened], list[Opened]]]
"""By part: what is opened, and what would be if an open container kept for ever."""


def packs(
    shop: Shop, needs: pd.DataFrame, supply: pd.DataFrame
) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Say which containers are opened for the needs, and where the opened life asks for more.

    Parts without ``open_days``, parts that are counted in pieces, and parts of which nobody says
    what a container holds are left out.

    Parameters
    ----------
    shop
        The shop: parts, offers, and which lots of the stock and of kits are open.
    needs
        Table ``needs``; needs without a day are left out.
    supply
        Table ``supply``.

    Returns
    -------
    tuple
        Table ``opened``; and table ``cautions``, a warn for each build that must open a container
        which by quantity alone it would not need to buy.
    """
    lives = _lives(shop)
    uses = _uses(needs, lives)
    if not uses:
        return OPENED.empty(), CAUTIONS.empty()
    found = _open_all(shop, uses, supply, lives)
    return _opened(found), _cautions(shop, found, lives)


def _lives(shop: Shop) -> dict[str, int]:
    """Return the opened life of each measured part that has one."""
    parts = shop["parts"]
    measured = (Dimension.VOLUME, Dimension.MASS)
    columns = (parts[c].tolist() for c in ("part", "unit", "open_days"))
    return {
        part: days
        for part, name, days in zip(*columns, strict=True)
        if isinstance(days, int) and unit_of(name).dimension in measured
    }


def _uses(needs: pd.DataFrame, lives: Mapping[str, int]) -> dict[str, list[Use]]:
    """Return what the stages take, by part, in the order of needs."""
    uses: dict[str, list[Use]] = defaultdict(list)
    stamps = needs["day"].to_numpy().astype(_DAY)
    days = np.where(np.isnat(stamps), NEVER, stamps.astype(np.int64)).tolist()
    columns = (needs[c].tolist() for c in ("part", "quantity", "build", "stage"))
    for part, quantity, build, stage, day in zip(*columns, days, strict=True):
        if part in lives and quantity > 0 and day != NEVER:
            uses[part].append(Use(day, quantity, build, stage))
    return uses


def _open_all(
    shop: Shop, uses: Mapping[str, list[Use]], supply: pd.DataFrame, lives: Mapping[str, int]
) -> Openings:
    contents = _contents(shop, set(uses))
    there = _there(shop, supply, contents, set(uses))
    out: Openings = {}
    for part, taken in uses.items():
        content = contents.get(part) or max((c.content for c in there[part]), default=0)
        if content and sum(u.quantity for u in taken) <= MOST * content:
            out[part] = (
                open_containers(taken, there[part], content, lives[part]),
                open_containers(taken, there[part], content, NEVER),
            )
    return out


def _contents(shop: Shop, parts: set[str]) -> dict[str, int]:
    """Return what one container holds: by the part's name, or the smallest pack on offer."""
    frame = shop["parts"]
    found: dict[str, int] = {}
    columns = (frame[c].tolist() for c in ("part", "name", "unit"))
    for part, name, written in zip(*columns, strict=True):
        said = _CONTENT.search(name) if part in parts else None
        of = unit_of(said[2]) if said else None
        if said and of and of.dimension is unit_of(written).dimension:
            found[part] = to_base(parse_number(said[1]), of)
    offers = shop["offers"]
    packs_of: dict[str, int] = {}
    for part, pack in zip(offers["part"].tolist(), offers["pack"].tolist(), strict=True):
        if part in parts and pack > 0:
            packs_of[part] = min(pack, packs_of.get(part, pack))
    return packs_of | found


def _there(
    shop: Shop, supply: pd.DataFrame, contents: Mapping[str, int], parts: set[str]
) -> dict[str, list[Container]]:
    """Return the containers on the shelf, in kits and on order, open ones too."""
    since = _open_lots(shop)
    first = supply["from_day"].to_numpy().astype(_DAY).astype(np.int64).tolist()
    stamps = supply["use_by"].to_numpy().astype(_DAY)
    last = np.where(np.isnat(stamps), NEVER, stamps.astype(np.int64)).tolist()
    bins = supply.assign(place=supply["place"].where(supply["kit"] == "", ""))
    where = zip(*(bins[c].tolist() for c in _WHERE), strict=True)
    columns = (supply[c].tolist() for c in ("part", "order", "lot", "held_for", "quantity"))
    out: dict[str, list[Container]] = defaultdict(list)
    for at, part, order, lot, held_for, quantity, start, end in zip(
        where, *columns, first, last, strict=True
    ):
        if part not in parts:
            continue
        opened = None if order else since.get(at)
        content = quantity if opened is not None else contents.get(part, quantity)
        is_open = "open in the kit" if at[-1] else "open on the shelf"
        comes = "order" if order else "shelf" if opened is None else is_open
        whole, rest = divmod(quantity, content or 1)
        for amount in (*[content] * min(whole, MOST), *([rest] if rest else [])):
            out[part].append(Container(amount, start, end, opened, held_for, comes, order or lot))
    return out


def _open_lots(shop: Shop) -> dict[tuple[str, ...], int]:
    """Return the day on which each open lot was opened, by what the supply says of where it is.

    What was fitted is no container any more. Lots that lie in one kit and were kept for others
    before are one there: the day that ends soonest counts.
    """
    kitted = shop["kitted"]
    kitted = kitted[~kitted["fitted"]].assign(kit=str(InKit.PICKED))
    kitted = kitted.assign(held_for=kitted["build"])
    since: dict[tuple[str, ...], int] = {}
    for lots in (shop["stock"].assign(assembly="", stage="", kit=""), kitted.assign(place="")):
        stamps = lots["opened"].to_numpy().astype(_DAY)
        columns = (lots[c].tolist() for c in _WHERE)
        days = zip(np.isnat(stamps).tolist(), stamps.astype(np.int64).tolist(), strict=True)
        for at, (sealed, day) in zip(zip(*columns, strict=True), days, strict=True):
            if not sealed:
                since[at] = min(day, since.get(at, day))
    return since


def _opened(found: Openings) -> pd.DataFrame:
    rows: list[tuple[Any, ...]] = []
    for part, (opened, _) in found.items():
        until = max((u.day for o in opened for u in o.uses), default=0)
        for number, one in enumerate(opened, start=1):
            spoilt = one.left if one.last < until else 0
            stages = "; ".join(dict.fromkeys(f"{u.build} {u.stage}".strip() for u in one.uses))
            days = (_stamp(one.opened), _stamp(one.last))
            of = one.container
            rows.append(
                (part, number, of.comes, of.lot, *days, of.content, one.used, spoilt, stages)
            )
    if not rows:
        return OPENED.empty()
    return OPENED.conform(pd.DataFrame(rows, columns=OPENED.names))


def _stamp(day: int) -> pd.Timestamp | None:
    return None if day >= NEVER else pd.Timestamp(np.datetime64(day, "D"))


def _cautions(shop: Shop, found: Openings, lives: Mapping[str, int]) -> pd.DataFrame:
    rows: list[tuple[str, ...]] = []
    for part, (opened, for_ever) in found.items():
        buys = [o for o in opened if o.container.comes == "buy"]
        extra = len(buys) - sum(o.container.comes == "buy" for o in for_ever)
        if extra > 0:
            frame = shop["parts"]
            row = frame[frame["part"] == part].iloc[0]
            called = f"{row['name'] or part} ({part})"
            rows += _told(called, part, (opened, buys[-extra:]), lives[part], unit_of(row["unit"]))
    if not rows:
        return CAUTIONS.empty()
    return CAUTIONS.conform(pd.DataFrame(rows, columns=CAUTIONS.names))


def _told(
    called: str, part: str, seen: tuple[Sequence[Opened], Sequence[Opened]], life: int, of: Unit
) -> Iterator[tuple[str, ...]]:
    """Say, build by build, which container is opened only because another one is spoilt."""
    opened, extra = seen
    by_build: dict[str, list[Opened]] = defaultdict(list)
    for one in extra:
        by_build[one.uses[0].build].append(one)
    for build, ones in by_build.items():
        first = ones[0]
        before = [o for o in opened if o is not first and o.left and o.last < first.opened]
        spoilt = max(before, key=lambda o: o.last, default=None)
        why = f"it keeps {life} days once open"
        if spoilt is not None:
            at = spoilt.uses[-1]
            why = (
                f"what is opened on {_day(spoilt.opened)} for {at.build} {at.stage} keeps {life} "
                f"days, and {counted(spoilt.left, of)} of it would be left"
            )
        amount = counted(first.container.content, of)
        message = (
            f"{called}: {first.uses[0].stage} needs another container on {_day(first.opened)}: "
            f"{why}; have {len(ones)} more ({amount} each), or bring the stages together"
        )
        yield build, part, str(Level.WARN), message, _SOURCE


def _day(day: int) -> str:
    return str(np.datetime64(day, "D"))

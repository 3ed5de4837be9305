"""Parts whose size is known only once a stage has measured it: when they can be ordered."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from kitting.tables.times import MEASURED_DAYS
from kitting.terms.conditions import split_list
from kitting.terms.findings import Finding
from kitting.terms.words import Level
from kitting.timing.arrivals import through_goods_in
from kitting.timing.calendars import SHOP
from kitting.timing.roads import Roads, carriers_of_offers
from kitting.timing.workdays import add_days, as_days, count, roll

if TYPE_CHECKING:
    from collections.abc import Collection, Iterator, Mapping, Sequence
    from datetime import date

    from kitting.tables.shop import Shop
    from kitting.terms.days import Calendar

_NEVER = np.datetime64("NaT", "D")


@dataclass(frozen=True, slots=True)
class Choice:
    """A joint whose size is chosen by measuring, one row of the sheet ``measured``.

    Parameters
    ----------
    assembly, stage, joint
        Where it is, and the stage that measures.
    parts
        The parts to choose from.
    sizes
        Their sizes in the same order; empty = not said.
    middle, spread
        Mean and standard deviation of the size that is wanted; NaN = not known.
    """

    assembly: str
    stage: str
    joint: str
    parts: tuple[str, ...]
    sizes: tuple[float, ...]
    middle: float
    spread: float


def choices(shop: Shop) -> list[Choice]:
    """Return the rows of the sheet ``measured``, with families told by their parts.

    Sizes count when there is one number for each part.
    """
    frame = shop["measured"]
    if frame.empty:
        return []
    families: dict[str, list[str]] = {}
    parts = shop["parts"]
    for part, family in zip(parts["part"].tolist(), parts["family"].tolist(), strict=True):
        families.setdefault(family.casefold().strip(), []).append(part)
    found = []
    for row in frame.itertuples(index=False):
        listed = split_list(row.parts) or tuple(families.get(row.family.casefold().strip(), ()))
        sizes = _numbers(split_list(row.sizes))
        found.append(
            Choice(
                row.assembly,
                row.stage,
                row.joint,
                tuple(dict.fromkeys(listed)),
                sizes if len(sizes) == len(listed) else (),
                row.middle,
                row.spread,
            )
        )
    return found


def _numbers(texts: Sequence[str]) -> tuple[float, ...]:
    try:
        return tuple(float(t) for t in texts)
    except ValueError:
        return ()


def measured_days(
    shop: Shop,
    required: pd.DataFrame,
    stage_days: pd.DataFrame,
    calendars: Mapping[str, Calendar],
    day: date,
) -> pd.DataFrame:
    """Return when each size that is measured first can be ordered, and whether that is in time.

    The size is ordered on the shop's first working day after the stage that measures is finished,
    and not before ``day``. It may be any of the sizes, so the day by which it can be used is that
    of the slowest, each by its fastest offer; a size of which the shelf holds enough is there.

    Parameters
    ----------
    shop
        Reads ``measured``, ``parts``, ``offers``, ``suppliers``, ``stock`` and ``shop`` (setting
        ``goods_in_days``). For learned lead times, give a shop whose offers carry them.
    required
        Table ``required``.
    stage_days
        Table ``stage_days``.
    calendars
        From ``calendars``.
    day
        The day of the plan.

    Returns
    -------
    DataFrame
        Table ``measured_days``, a row for each required row whose part is one of the sizes.

    Raises
    ------
    UnknownName
        When an offer's supplier is not in ``suppliers``.
    InputError
        When the setting ``goods_in_days`` is not a whole number.
    """
    marked = marks(shop, required)
    if not marked:
        return MEASURED_DAYS.empty()
    keys = zip(*(stage_days[c].tolist() for c in ("build", "assembly", "stage")), strict=True)
    days = as_days(stage_days[["start", "finish"]].to_numpy())
    times = dict(zip(keys, days, strict=True))
    blank = np.array([_NEVER, _NEVER])
    shelf = free_stock(shop["stock"], day)
    fastest = _Fastest(shop, calendars, {p for choice in marked.values() for p in choice.parts})
    at = required[required["required"].isin(list(marked))].set_index("required")
    rows = []
    for number, choice in marked.items():
        row = at.loc[number]
        done = times.get((row["build"], choice.assembly, choice.stage), blank)[1]
        needed = times.get((row["build"], row["assembly"], row["stage"]), blank)[0]
        order = add_days(done, 1, calendars[SHOP], blank_outside=True)[0]
        today = np.datetime64(day, "D")
        if not np.isnat(order) and order < today:
            order = roll(today, calendars[SHOP], blank_outside=True)[0]
        lacking = [p for p in choice.parts if shelf.get(p, 0) < row["quantity"]]
        usable, slowest, nowhere = fastest.slowest_of(lacking, order)
        late = 0
        if not (np.isnat(usable) or np.isnat(needed)) and usable > needed:
            late = int(count(needed, usable, calendars[SHOP])[0])
        there = not lacking or (not np.isnat(usable) and not nowhere)
        rows.append(
            {
                **{c: row[c] for c in ("build", "assembly", "joint", "part", "stage")},
                "required": number,
                "measures": choice.stage,
                "measured": done,
                "order": order,
                "needed": needed,
                "usable": usable if lacking else done,
                "slowest": slowest,
                "in_time": there and late == 0,
                "days_late": late,
                "not_offered": "; ".join(nowhere),
            }
        )
    frame = pd.DataFrame(rows)
    for column in ("measured", "order", "needed", "usable"):
        frame[column] = pd.to_datetime(frame[column]).astype("datetime64[s]")
    return MEASURED_DAYS.conform(frame)


def marks(shop: Shop, required: pd.DataFrame) -> dict[int, Choice]:
    """Return the rows of table ``required`` whose size is measured first, by their number."""
    by_joint: dict[tuple[str, str], list[Choice]] = {}
    for choice in choices(shop):
        by_joint.setdefault((choice.assembly, choice.joint), []).append(choice)
    if not by_joint:
        return {}
    found = {}
    columns = (required[c].tolist() for c in ("required", "assembly", "joint", "part"))
    for number, assembly, joint, part in zip(*columns, strict=True):
        for choice in by_joint.get((assembly, joint), ()):
            if part in choice.parts:
                found[number] = choice
                break
    return found


def free_stock(stock: pd.DataFrame, day: date) -> dict[str, int]:
    """Return what is on the shelf, kept for nobody and not past its last day, by part."""
    fresh = stock["use_by"].isna() | (stock["use_by"] >= pd.Timestamp(day))
    free = stock[fresh & (stock["held_for"] == "") & (stock["owner"] == "")]
    return {str(p): int(q) for p, q in free.groupby("part")["quantity"].sum().items()}


class _Fastest:
    """The fastest offer of each part, by the day on which it is ordered."""

    def __init__(
        self, shop: Shop, calendars: Mapping[str, Calendar], parts: Collection[str]
    ) -> None:
        self.shop, self.calendars = shop, calendars
        self.offers: dict[str, list[tuple[str, int, str]]] = {}
        frame = shop["offers"].dropna(subset="lead_days")
        frame = frame[frame["part"].isin(list(parts))]
        columns = (frame[c].tolist() for c in ("part", "supplier", "lead_days"))
        brings = carriers_of_offers(shop, frame)
        for part, supplier, lead, carrier in zip(*columns, brings, strict=True):
            self.offers.setdefault(part, []).append((supplier, lead, carrier))
        self.roads = Roads(shop, calendars, frame["supplier"])
        self.known: dict[tuple[str, np.datetime64], np.datetime64] = {}

    def slowest_of(
        self, parts: Sequence[str], order: np.datetime64
    ) -> tuple[np.datetime64, str, list[str]]:
        """Return the day by which any of some parts can be used, the slowest, and those unsold."""
        nowhere = [p for p in parts if p not in self.offers]
        if np.isnat(order) or nowhere or not parts:
            return _NEVER, "", nowhere
        days = {p: self.usable(p, order) for p in parts}
        beyond = [p for p, d in days.items() if np.isnat(d)]
        if beyond:
            return _NEVER, beyond[0], []
        slowest = max(days, key=lambda p: days[p])
        return days[slowest], slowest, []

    def usable(self, part: str, order: np.datetime64) -> np.datetime64:
        """Return the first day on which a part that is ordered on a day can be used."""
        key = (part, order)
        if key not in self.known:
            offers = self.offers[part]
            arrives = np.concatenate(
                [self.roads.of(who, carrier).at_door(order, lead) for who, lead, carrier in offers]
            )
            who = pd.Series([supplier for supplier, _, _ in offers], dtype="str")
            usable = through_goods_in(arrives, who, self.shop, self.calendars)
            self.known[key] = min(usable[~np.isnat(usable)], default=_NEVER)
        return self.known[key]


def measured_findings(days: pd.DataFrame) -> Iterator[Finding]:
    """Find stages that would wait for a size, and sizes that nobody offers.

    Parameters
    ----------
    days
        Table ``measured_days``.
    """
    for row in days[~days["in_time"]].itertuples(index=False):
        what = f"build {row.build}: the size for {row.joint}"
        if row.not_offered:
            message = (
                f"{what} may be {row.not_offered}, which nobody offers and of which the shelf "
                "holds too few; add an offer, or take it off the sheet measured"
            )
        elif pd.isna(row.usable) or pd.isna(row.order):
            message = f"{what} has no day, since {row.measures} has none; give the build a start"
        else:
            message = (
                f"{what} is known after {row.measures} on {row.measured:%Y-%m-%d}; ordered "
                f"{row.order:%Y-%m-%d}, {row.slowest} can be used {row.usable:%Y-%m-%d}, and "
                f"{row.stage} starts {row.needed:%Y-%m-%d}: hold an assortment of sizes, measure "
                f"earlier, or start {row.stage} {row.days_late} working days later"
            )
        yield Finding(Level.WARN, message, "measured", column="stage", about=str(row.build))

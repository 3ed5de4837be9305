"""Orders on the way that come too late for the need they could have covered."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pandas as pd

from kitting.netting.net import net
from kitting.netting.stand_ins import ways
from kitting.tables.flow import PICKS, SHORTAGES
from kitting.tables.hazards import refused
from kitting.terms.findings import Finding
from kitting.terms.words import Fits, Level

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator
    from datetime import date

    from kitting.tables.shop import Shop

    Frames = tuple[pd.DataFrame, pd.DataFrame]


def wait(
    netted: Frames, supply: pd.DataFrame, shop: Shop, offer_days: pd.DataFrame, day: date
) -> Frames:
    """Let what is short wait for an order on the way where no offer would bring it sooner.

    Buying it again would bring it no earlier and cost it twice. The picks added here come after
    the day of their need, so that its stage is late. A stand-in, or a set that holds the part,
    counts as an offer of the part.

    Parameters
    ----------
    netted
        Tables ``picks`` and ``shortages`` of what comes in time.
    supply, offer_days
        Tables of those names.
    shop
        Reads ``offers``, ``sets``, ``stand_ins`` and ``builds``, and who brings nothing hazardous.
    day
        The day of the plan; offers that ended before it count for nothing, nor do those by which
        a hazardous part does not come.
    """
    picks, shortages = netted
    taken = picks.groupby("supply")["quantity"].sum()
    left = supply["quantity"] - supply["supply"].map(taken).fillna(0).astype("int64")
    coming = supply.assign(quantity=left)[(supply["order"] != "") & (left > 0)]
    short = shortages[shortages["part"].isin(coming["part"]) & shortages["day"].notna()]
    if short.empty:
        return netted
    soonest = _soonest(shop, short["part"].unique(), offer_days, day)
    return _until(netted, coming, shop, short, short["part"].map(soonest))


def not_sooner(
    netted: Frames, supply: pd.DataFrame, shop: Shop, bought: pd.Series[pd.Timestamp]
) -> Frames:
    """Let what would be bought again wait for an order on the way that is there as soon.

    An offer may be sooner, and still not be the one that was chosen.

    Parameters
    ----------
    netted
        Tables ``picks`` and ``shortages``.
    supply
        The table of that name.
    shop
        Reads ``stand_ins`` and ``builds``.
    bought
        Day on which what was chosen for a shortage can be used, by need.

    Returns
    -------
    DataFrame, DataFrame
        Tables ``picks`` and ``shortages``; the same two when nothing waits.
    """
    picks, shortages = netted
    if bought.empty or shortages.empty:
        return netted
    taken = picks.groupby("supply")["quantity"].sum()
    left = supply["quantity"] - supply["supply"].map(taken).fillna(0).astype("int64")
    coming = supply.assign(quantity=left)[(supply["order"] != "") & (left > 0)]
    day = shortages["need"].map(bought)
    late = (day > shortages["day"]) & shortages["part"].isin(coming["part"])
    late &= shortages["build"] != ""
    if not late.any():
        return netted
    return _until(netted, coming, shop, shortages[late], day[late])


def _until(
    netted: Frames,
    coming: pd.DataFrame,
    shop: Shop,
    short: pd.DataFrame,
    bought: pd.Series[pd.Timestamp],
) -> Frames:
    """Give what is short the orders that come by the day on which it could be bought."""
    picks, shortages = netted
    bought = bought.astype("datetime64[s]")
    late = short.assign(day=short["day"].where(short["day"] >= bought, bought))
    priority = shop["builds"].set_index("build")["priority"]
    late["priority"] = late["build"].map(priority)
    more, rest = net(late, coming, shop["stand_ins"], shop["builds"])
    still = shortages["need"].map(rest.set_index("need")["quantity"])
    waits = shortages["need"].isin(late["need"])
    quantity = shortages["quantity"].where(~waits, still.fillna(0)).astype("int64")
    shortages = shortages.assign(quantity=quantity)[quantity > 0]
    both = pd.concat([picks, more], ignore_index=True) if len(picks) else more
    return PICKS.conform(both.sort_values("need", kind="stable")), SHORTAGES.conform(shortages)


def _soonest(
    shop: Shop, parts: Iterable[str], offer_days: pd.DataFrame, day: date
) -> dict[str, pd.Timestamp]:
    """Return the first day on which an offer would bring each part, itself or by another number.

    A part that nobody offers is left out.
    """
    offers = shop["offers"]
    offers = offers[~(offers["valid_to"] < pd.Timestamp(day)) & ~refused(shop, offers)[0]]
    usable = offers.merge(offer_days, on="offer").groupby("part")["usable"].min().dropna()
    sets = shop["sets"][shop["sets"]["fits"].isin(["", Fits.NEEDED])]
    within = sets.groupby("part")["set"].agg(list).to_dict()
    wanted = list(parts)
    instead = ways(shop["stand_ins"], wanted)
    found = {}
    for part in wanted:
        numbers = [part, *(way.stand_in for way in instead.get(part, ()))]
        numbers += [name for number in tuple(numbers) for name in within.get(number, ())]
        days = [usable[number] for number in numbers if number in usable.index]
        if days:
            found[part] = min(days)
    return found


def come_late(
    needs: pd.DataFrame, shortages: pd.DataFrame, supply: pd.DataFrame, picks: pd.DataFrame
) -> tuple[Finding, ...]:
    """Tell which coming orders hold a part that they bring after the day of its need.

    What is short is bought again, in time; a person decides whether to chase the order, to do
    without the new one or to call the old one off. What nothing brings sooner waits for its order.

    Parameters
    ----------
    needs, shortages, supply, picks
        The tables of those names.
    """
    return (*_waiting(needs, supply, picks), *_doubled(shortages, supply, picks))


def _waiting(needs: pd.DataFrame, supply: pd.DataFrame, picks: pd.DataFrame) -> Iterator[Finding]:
    """Yield the orders for which needs wait beyond their day."""
    orders = supply.loc[supply["order"] != "", ["supply", "order", "from_day"]]
    both = picks[["need", "supply", "part"]].merge(orders, on="supply")
    both = both.merge(needs[["need", "build", "stage", "day"]], on="need")
    for row in _first(both[both["from_day"] > both["day"]]):
        yield _told(row, ", and no offer brings it sooner: chase it, or move the stage")


def _doubled(
    shortages: pd.DataFrame, supply: pd.DataFrame, picks: pd.DataFrame
) -> Iterator[Finding]:
    """Yield the orders that hold what is bought again."""
    taken = picks.groupby("supply")["quantity"].sum()
    left = supply["quantity"] - supply["supply"].map(taken).fillna(0).astype("int64")
    spare = supply[(supply["order"] != "") & (left > 0)]
    both = shortages[["part", "build", "stage", "day"]].merge(
        spare[["part", "order", "from_day", "held_for"]], on="part"
    )
    both = both[both["from_day"] > both["day"]]
    for row in _first(both[(both["held_for"] == "") | (both["held_for"] == both["build"])]):
        yield _told(row, ": chase it, or call it off once a sooner one is sent")


def _first(rows: pd.DataFrame) -> Iterator[Any]:
    """Yield the first need of each part, order and build."""
    first = rows.sort_values("day", kind="stable").drop_duplicates(["part", "order", "build"])
    yield from first.itertuples()


def _told(row: Any, what: str) -> Finding:
    """Say which order comes when, and after what."""
    return Finding(
        Level.WARN,
        f"order {row.order} brings it on {row.from_day:%Y-%m-%d}, after {row.build} {row.stage} "
        f"needs it on {row.day:%Y-%m-%d}{what}",
        sheet="orders",
        about=str(row.part),
        column=str(row.part),
    )

"""What the worth of a change is worked out from, each looked up once for the whole shop."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from kitting.audit.shrink import james_stein
from kitting.audit.tally import hour_rate
from kitting.terms.words import SingleUse

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from kitting.audit.lessons import Event
    from kitting.tables.shop import Shop

    Spot = tuple[str, str, str, str]

_YEAR = 365.25


@dataclass(frozen=True, slots=True)
class Lost:
    """What one event cost: hours and cents; ``past`` = on a finished build."""

    hours: float
    money: int
    past: bool


@dataclass(frozen=True, slots=True)
class Known:
    """What is known about parts, places and events.

    Parameters
    ----------
    lost
        What each event cost, by entry.
    rates
        Events, builds that could forget it, expected rate and its interval, by part.
    loss
        Hours and cents that one event costs, by family.
    names, families, life
        Name, family and days of shelf life of parts; no life = it keeps.
    prices
        Least price and what it is for, by part.
    alike
        Count and disturbances, by assembly and joint.
    never
        Parts that may not be fitted again.
    asked
        Most that a line asks for, by assembly, stage, joint and part.
    used
        What builds really used, by build, stage, joint and part.
    late
        Working days by which orders came late, by build and part.
    years
        Time that the finished builds took, one at least.
    hour, currency
        What one hour costs [cents], and the shop's currency.
    """

    lost: Mapping[int, Lost]
    rates: Mapping[str, tuple[int, int, float, float, float]]
    loss: Mapping[str, tuple[float, float]]
    names: Mapping[str, str]
    families: Mapping[str, str]
    life: Mapping[str, float]
    prices: Mapping[str, tuple[int, int]]
    alike: Mapping[tuple[str, str], tuple[int, int]]
    never: frozenset[str]
    asked: Mapping[Spot, int]
    used: Mapping[Spot, int]
    late: Mapping[tuple[str, str], int]
    years: float
    hour: int
    currency: str


def known(shop: Shop, events: pd.DataFrame, tally: pd.DataFrame, of: Iterable[Event]) -> Known:
    """Gather what the worth of changes is worked out from.

    Parameters
    ----------
    events
        Forgotten parts that count.
    tally
        Table ``tally`` by part.
    of
        The events that the changes are about.
    """
    parts = shop["parts"]
    lives = parts.dropna(subset="shelf_days")
    cells = ["name", "events", "could", "expected", "expected_low", "expected_high"]
    losses = zip(
        events["entry"].tolist(), events["hours_lost"].tolist(), events["money_lost"].tolist(),
        events["finished"].notna().tolist(), strict=True,
    )  # fmt: skip
    places = shop["joints"][["assembly", "joint", "count", "disturbances"]]
    asked: dict[Spot, int] = {}
    for *spot, quantity in shop["lines"][
        ["assembly", "stage", "joint", "part", "quantity"]
    ].itertuples(index=False, name=None):  # fmt: skip
        key = _spot(spot)
        asked[key] = max(asked.get(key, 0), int(quantity))
    return Known(
        lost={entry: Lost(hours, int(money), past) for entry, hours, money, past in losses},
        rates={row[0]: tuple(row[1:]) for row in tally[cells].itertuples(index=False, name=None)},
        loss=_loss_each(events),
        names=dict(zip(parts["part"].tolist(), parts["name"].tolist(), strict=True)),
        families=dict(zip(parts["part"].tolist(), parts["family"].tolist(), strict=True)),
        life={p: float(d) for p, d in zip(lives["part"], lives["shelf_days"], strict=True)},
        prices=_prices(shop),
        alike={
            (assembly, joint): (max(int(count), 1), max(int(times), 1))
            for assembly, joint, count, times in places.itertuples(index=False, name=None)
        },
        never=frozenset(parts.loc[parts["single_use"] == str(SingleUse.NEVER), "part"].tolist()),
        asked=asked,
        used=_used(shop, of),
        late=_late(shop),
        years=_years(shop),
        hour=hour_rate(shop),
        currency=shop.setting("currency"),
    )


def _spot(cells: Iterable[str]) -> Spot:
    one, two, three, four = cells
    return one, two, three, four


def _years(shop: Shop) -> float:
    """Return from the first start to the last finish of finished builds [years], one at least."""
    finished = shop["builds"].dropna(subset="finished")
    if finished.empty:
        return 1.0
    begun = finished["start"].fillna(finished["finished"])
    days = int((finished["finished"].max() - begun.min()).days)
    return max(days / _YEAR, 1.0)


def _prices(shop: Shop) -> dict[str, tuple[int, int]]:
    """Return the least price of each part and what it is for."""
    found: dict[str, tuple[int, int]] = {}
    offers = shop["offers"][["part", "price", "per"]].dropna(subset="price")
    for part, price, per in offers.itertuples(index=False, name=None):
        if per > 0 and (part not in found or price * found[part][1] < found[part][0] * per):
            found[part] = (int(price), int(per))
    return found


def _used(shop: Shop, of: Iterable[Event]) -> dict[Spot, int]:
    """Return what was really used of the parts that events are about, on their builds."""
    pairs = pd.DataFrame({(e.build, e.part) for e in of}, columns=["build", "part"]).astype("str")
    rows = shop["used"]
    rows = rows[rows["build"].isin(pairs["build"]) & rows["part"].isin(pairs["part"])]
    rows = rows.merge(pairs, on=["build", "part"])
    sums = rows.groupby(["build", "stage", "joint", "part"])["quantity"].sum()
    return {_spot(spot): int(quantity) for spot, quantity in sums.items()}


def _late(shop: Shop) -> dict[tuple[str, str], int]:
    """Return by how many working days orders for builds came late, at most."""
    orders = shop["orders"]
    orders = orders[orders["build"] != ""].dropna(subset="promised")
    came = orders.merge(shop["receipts"][["order", "line", "received"]], on=["order", "line"])
    came = came.dropna(subset="received")
    promised, received = (came[c].to_numpy("datetime64[D]") for c in ("promised", "received"))
    found: dict[tuple[str, str], int] = {}
    for build, part, days in zip(
        came["build"].tolist(), came["part"].tolist(),
        np.busday_count(promised, received).tolist(), strict=True,
    ):  # fmt: skip
        found[build, part] = max(found.get((build, part), 0), days)
    return found


def _loss_each(events: pd.DataFrame) -> dict[str, tuple[float, float]]:
    """Return hours and cents that one event costs, by family, drawn towards those of all."""
    found = []
    for column in ("hours_lost", "money_lost"):
        groups = events.groupby("family")[column]
        means, sizes = groups.mean(), groups.size()
        spread = float(((events[column] - groups.transform("mean")) ** 2).sum())
        free = len(events) - len(means)
        within = spread / free / float(sizes.mean()) if free else 0.0
        drawn, _ = james_stein(means.to_numpy(), within)
        found.append(dict(zip(means.index.tolist(), drawn.tolist(), strict=True)))
    return {family: (found[0][family], found[1][family]) for family in found[0]}

"""What is forgotten most: by part, family, joint, role, supplier and so on, and over time."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from kitting.audit.counts import Aspect, Losses, counted_by
from kitting.audit.events import counted
from kitting.audit.past import PastBuilds
from kitting.audit.progress import progress
from kitting.audit.sellers import sellers
from kitting.tables.audit import TREND
from kitting.terms.money import parse_cents
from kitting.terms.words import Cause, Role

if TYPE_CHECKING:
    from collections.abc import Iterator

    from kitting.tables.shop import Shop

    Key = tuple[str, str]

RECENT = 5
ANY = "any part"
ASPECTS = ("part", "family", "kind", "joint", "role", "stage", "supplier", "cause")


def tally(shop: Shop, events: pd.DataFrame | None = None) -> dict[str, pd.DataFrame]:
    """Count the forgotten parts of all builds.

    A rate is the share of finished builds on which a thing was forgotten among those on which it
    could have been: the builds whose bill, by today's sheets and the build's own options, holds
    the part (alone or in a set), a part of the family, the joint, one of its kind, the stage, or a
    part that the supplier sells. A thing that no bill of an assembly holds could have been
    forgotten on every finished build of the assemblies on which it was. A cause, a role, and any
    part at all, could come up on every finished build. Builds that are not finished give events
    and losses, but no rates.

    Beside its own rate with the Wilson interval each thing has the rate to expect of it, drawn
    towards that of its like: a part's towards its family's, others towards all of their sort.

    Parameters
    ----------
    shop
        Reads ``forgotten``, ``builds``, ``parts``, ``orders``, ``offers``, the bill, and the
        setting ``hour_rate``, the cost of one work hour; blank = hours cost nothing.
    events
        Forgotten parts that count, when they are at hand; from ``counted``.

    Returns
    -------
    dict
        ``all``, and one for each of ``ASPECTS``: table ``tally``, most forgotten first, then
        dearest; things without a name (no family, no joint) are left out. ``trend`` and
        ``progress``: tables of those names.

    Raises
    ------
    ValueError
        When a condition or a build's options cannot be read.
    """
    events = counted(shop) if events is None else events
    finished = shop["builds"].dropna(subset="finished")
    past = PastBuilds(shop, finished)
    losses = Losses(
        past.numbers(events["build"].tolist()),
        events["hours_lost"].to_numpy(),
        events["money_lost"].to_numpy(),
        hour_rate(shop),
    )
    trend = _trend(events, finished)
    return {
        **{a.by: counted_by(a, losses, past) for a in _aspects(events, shop)},
        "trend": trend,
        "progress": progress(trend),
    }


def hour_rate(shop: Shop) -> int:
    """Return what one work hour costs [cents] by the setting ``hour_rate``; 0 when not said."""
    try:
        return max(parse_cents(shop.setting("hour_rate")), 0)
    except ValueError:
        return 0


def _aspects(events: pd.DataFrame, shop: Shop) -> Iterator[Aspect]:
    """Yield every way to count."""
    family = dict(shop["parts"][["part", "family"]].to_numpy().tolist())
    kind = _by_name(shop["joints"], "joint", "kind")
    sold: dict[str, set[str]] = {}
    for part, supplier in shop["offers"][["part", "supplier"]].to_numpy().tolist():
        sold.setdefault(part, set()).add(supplier)

    def keys(column: str) -> list[Key]:
        return [("", name) for name in events[column].tolist()]

    def own(column: str) -> list[Key]:
        return list(zip(events["assembly"].tolist(), events[column].tolist(), strict=True))

    parts = keys("part")
    yield Aspect("all", [("", ANY)] * len(events))
    yield Aspect(
        "part",
        parts,
        lambda h: (("", p) for p in h.parts),
        labels=dict(zip(parts, events["label"].tolist(), strict=True)),
        group=lambda key: family.get(key[1], ""),
    )
    yield Aspect("family", keys("family"), lambda h: {("", family.get(p, "")) for p in h.parts})
    yield Aspect(
        "kind",
        [("", kind.get(key, "")) for key in own("joint")],
        lambda h: {("", kind.get(key, "")) for key in h.joints},
    )
    yield Aspect(
        "joint",
        own("joint"),
        lambda h: h.joints,
        labels=_by_name(shop["joints"], "joint", "joins"),
        group=lambda key: kind.get(key, ""),
    )
    yield Aspect("role", keys("role"), known=[str(r) for r in Role])
    yield Aspect(
        "stage", own("stage"), lambda h: h.stages, labels=_by_name(shop["stages"], "stage", "name")
    )
    yield Aspect(
        "supplier",
        [("", name) for name in sellers(events, shop)],
        lambda h: {("", s) for p in h.parts for s in sold.get(p, ())},
    )
    yield Aspect("cause", keys("cause"), known=[str(c) for c in Cause])


def _by_name(frame: pd.DataFrame, name: str, value: str) -> dict[Key, str]:
    columns = (frame[c].tolist() for c in ("assembly", name, value))
    return {(assembly, key): text for assembly, key, text in zip(*columns, strict=True)}


def _trend(events: pd.DataFrame, finished: pd.DataFrame) -> pd.DataFrame:
    """Return the finished builds in order of finish, with what each forgot."""
    builds = finished.sort_values(["finished", "build"], ignore_index=True)
    sums = events.groupby("build").agg(
        events=("entry", "size"), hours_lost=("hours_lost", "sum"), money_lost=("money_lost", "sum")
    )
    own = sums.reindex(builds["build"]).fillna(0).reset_index(drop=True)
    position = np.arange(1, len(builds) + 1)
    return TREND.conform(
        pd.concat([builds[["build", "assembly", "finished"]], own], axis=1).assign(
            position=position,
            so_far=own["events"].cumsum() / position,
            recent=own["events"].rolling(RECENT, min_periods=1).mean(),
        )
    )
